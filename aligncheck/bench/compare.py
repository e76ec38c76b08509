"""What has changed between two answers about one panel, for whoever has just moved her spokes."""

from collections.abc import Mapping
from typing import Any

from aligncheck.bench.words import say
from aligncheck.words import phrases

Answer = dict[str, Any]

#: What has become of a mark that was or is off, by its verdict now; one that is off in both photos is "still".
CHANGES = {"out": "worse", "within": "mended", "unsure": "perhaps", "unseen": "lost"}


def lies(result: Mapping[str, Any]) -> Answer:
    """Of a result file what tells how the panel lies in the photo: its marks, and how well its corners are known."""
    return {
        "segments": result["segments"],
        "panel": {k: result["panel"][k] for k in ("width_mm", "height_mm", "corner_u95_mm")},
        "centre": {k: result["centre"][k] for k in ("x_mm", "y_mm", "source")},
        "spokes": [{k: s[k] for k in ("inner_mm", "outer_mm")} for s in result["spokes"]],
        "rings": [{k: r[k] for k in ("centre_mm", "radius_mm")} for r in result["rings"]],
    }


def quarters_since(before: Answer, now: Answer) -> int:
    """Quarter turns clockwise that bring the panel as it lies now onto how it lay before.

    What is drawn by hand is regular to some tenths of a millimetre only, and measured to hundredths: that tells. Where
    it does not, the panel is taken to lie as before.
    """
    from aligncheck.film.register import register

    if not before.get("lies") or not now.get("lies"):
        return 0
    laid = register(now["lies"], before["lies"])
    return laid.quarters if laid.sure else 0


def since(before: Answer, now: Answer) -> dict[str, Any]:
    """The changes in a line or two, and each spoke and ring that was or is off; spokes are called as they lie now."""
    if before["segments"] != now["segments"]:
        return {"lines": [say("cannot_compare")], "rows": []}
    quarters = quarters_since(before, now)
    rows = [*_spokes(before, now, -90.0 * quarters), *_rings(before, now)]
    lines = [say("turned_half" if quarters == 2 else "turned_quarter")] if quarters else []
    for key in ("mended", "still", "worse", "perhaps", "lost"):
        some = [r for r in rows if r["change"] == key]
        if some:
            rings = sum(r["ring"] for r in some)
            what = phrases.counts(len(some) - rings, rings)
            lines.append(say(key, what=what))
    return {"lines": lines if rows else [*lines, say("nothing_changed")], "rows": rows}


def _spokes(before: Answer, now: Answer, turned_deg: float) -> list[dict[str, Any]]:
    """Pair each place's spokes: by their angles, for a name changes where a rotation lies between two half hours.

    What lay at an angle before lies `turned_deg` further clockwise now.
    """
    half = 180.0 / max(int(now["segments"]), 1)
    left = list(now["spokes"])
    pairs: list[tuple[str, Any, Any]] = []
    for spoke in before["spokes"]:
        same = next((s for s in left if _apart(s["ideal_deg"], spoke["ideal_deg"] + turned_deg) < half), None)
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
        change = "still" if was == is_now else CHANGES[is_now]
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
