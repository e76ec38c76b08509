"""What has changed between two answers about one panel, for whoever has just moved her spokes."""

from typing import Any

from aligncheck.bench.words import say
from aligncheck.words import phrases

Answer = dict[str, Any]


def since(before: Answer, now: Answer) -> dict[str, Any]:
    """The changes in a line or two, and each spoke and ring that was or is off.

    Spokes are compared place by place as they lie in the two photos, so the panel must lie the same way round in both.
    """
    if before["segments"] != now["segments"]:
        return {"lines": [say("cannot_compare")], "rows": []}
    rows = [*_spokes(before, now), *_rings(before, now)]
    lines = []
    for key, wanted in (("mended", "mended"), ("still", "still"), ("worse", "worse")):
        some = [r for r in rows if r["change"] == wanted]
        if some:
            rings = sum(r["ring"] for r in some)
            what = phrases.counts(len(some) - rings, rings)
            lines.append(say(key, what=what))
    return {"lines": lines or [say("nothing_changed")], "rows": rows}


def _spokes(before: Answer, now: Answer) -> list[dict[str, Any]]:
    """Pair each place's spokes: by their angles, for a name changes where a rotation lies between two half hours."""
    half = 180.0 / max(int(now["segments"]), 1)
    left = list(now["spokes"])
    pairs: list[tuple[str, Any, Any]] = []
    for spoke in before["spokes"]:
        same = next((s for s in left if _apart(s["ideal_deg"], spoke["ideal_deg"]) < half), None)
        if same:
            left.remove(same)
        pairs.append(((same or spoke)["place"], spoke, same))
    pairs += [(spoke["place"], None, spoke) for spoke in left]
    return _rows(pairs, "move_mm", ring=False)


def _apart(one_deg: float, other_deg: float) -> float:
    return abs((one_deg - other_deg + 180.0) % 360.0 - 180.0)


def _rings(before: Answer, now: Answer) -> list[dict[str, Any]]:
    later = {ring["number"]: ring for ring in now["rings"]}
    pairs = [(say("ring", number=r["number"]), r, later.get(r["number"])) for r in before["rings"]]
    return _rows(pairs, "drift_mm", ring=True)


def _rows(pairs: list[tuple[str, Any, Any]], size: str, ring: bool) -> list[dict[str, Any]]:
    rows = []
    for name, before, now in pairs:
        was, is_now = (x["verdict"] if x else "unseen" for x in (before, now))
        if "out" not in (was, is_now):
            continue
        change = "still" if was == is_now else "worse" if is_now == "out" else "mended" if is_now == "within" else ""
        rows.append(
            {
                "name": name,
                "ring": ring,
                "change": change,
                "was": f"{phrases.mm(before[size])} mm" if before else say("unseen_now"),
                "now": _now(is_now, phrases.mm(now[size]) if now else ""),
            }
        )
    return rows


def _now(verdict: str, mm: str) -> str:
    key = {"out": "to_go", "within": "fits_now", "unsure": "perhaps_now", "unseen": "unseen_now"}[verdict]
    return say(key, mm=mm)
