"""Jobs and places as the templates show them: words and numbers ready to be set."""

from datetime import datetime
from math import isfinite
from typing import Any

from aligncheck.bench import dials
from aligncheck.bench.desk import Desk
from aligncheck.bench.jobs import Job
from aligncheck.bench.places import Place
from aligncheck.bench.words import BY_HAND, TEXT, refused, say
from aligncheck.errors import AligncheckError
from aligncheck.sentences import phrase
from aligncheck.units import parse_size
from aligncheck.words import phrases

#: At most so many that are too close to call are shown; the rest is counted.
MOST_CLOSE = 3
BEADS = 12
#: Slips in what was said of the panel: the form is shown again, the photo is there.
SLIPS = {"bad_size", "odd_size", "bad_segments", "bad_tolerance", "bad_length", "size_mismatch"}


def size_words(panel: str) -> str:
    """A panel's size in cm, as the head of the page has it."""
    try:
        width, height = parse_size(panel)
    except AligncheckError:
        return panel
    return f"{width / 10:.1f}".removesuffix(".0") + " × " + f"{height / 10:.1f}".removesuffix(".0") + " cm"


def time_words(job: Job) -> str:
    """When the photo was taken; where it does not say, when it was sent."""
    moment = None
    if job.taken:
        try:
            moment = datetime.fromisoformat(job.taken)
        except ValueError:
            moment = None
    return (moment or datetime.fromtimestamp(job.sent)).strftime("%H:%M")


def headline(job: Job) -> tuple[str, str, str]:
    """Kind (it chooses the outline), headline and the line below it."""
    if job.answer:
        return job.answer["kind"], job.answer["headline"], job.answer["second"]
    if job.state == "refused" and job.refusal:
        told = refused(job.refusal["code"], job.refusal["values"], len(cut_corners(job)["off"]))
        return "refused", TEXT["not_measured"], told[0]
    if job.state == "failed" and job.refusal:
        return "refused", TEXT["no_answer"], refused(job.refusal["code"], job.refusal["values"])[0]
    if job.state == "stopped":
        return "refused", TEXT["stopped"], TEXT["stopped_second"]
    return "measuring", TEXT["measuring"], ""


def waiting(desk: Desk, job: Job) -> dict[str, Any]:
    """How far a job is, honestly: steps done, beads filled, seconds left by what others took."""
    left = desk.seconds_left(job)
    ahead = desk.pool.ahead(job.id) if job.state == "waiting" else 0
    before = max(0, ahead - desk.settings.workers + 1)
    steps = ["panel", "marks", "plan"]
    done = {"": 0, "photo": 0, "panel": 1, "marks": 2}.get(job.step, 0)
    total = desk.jobs.average_s()
    share = 0.0 if job.state == "waiting" else min(0.95, 1 - left / total) if total else 0.0
    return {
        "second": _left_words(left, before),
        # The twelfth bead is filled by the answer alone.
        "filled": min(BEADS - 1, max(round(share * BEADS), 3 * done)) if job.state == "measuring" else 0,
        "steps": [
            {
                "words": TEXT[f"step_{name}" if k < done else f"step_{name}_open"],
                "state": "done" if k < done else "now" if k == done and job.state == "measuring" else "later",
            }
            for k, name in enumerate(steps)
        ],
    }


def _left_words(left_s: float, before: int) -> str:
    seconds = round(left_s)
    if before:
        return say("queue_one" if before == 1 else "queue", count=before, seconds=max(seconds, 2))
    if left_s < 0.5:
        return TEXT["moment"]
    return TEXT["second"] if seconds <= 1 else say("seconds", seconds=seconds)


def state(desk: Desk, job: Job) -> dict[str, Any]:
    """A job for the page's script and for other programs: nothing of the photo's own data but size and outline."""
    kind, first, second = headline(job)
    told: dict[str, Any] = {
        "id": job.id,
        "state": job.state,
        "version": job.version,
        "kind": kind,
        "headline": first,
        "second": second,
        "size_px": job.size_px,
        "corners_px": job.found_px,
        "pictures": job.pictures,
        "kept": job.kept.get("state"),
        "url": f"/photos/{job.id}",
    }
    if job.is_open:
        told |= waiting(desk, job)
    return told


def moves(answer: dict[str, Any]) -> list[dict[str, Any]]:
    """The rows of what to move."""
    return [_row(row) for row in answer["moves"]]


def _row(row: dict[str, Any]) -> dict[str, Any]:
    if row["what"] == "ring":
        return {
            "title": say("ring", number=row["number"]),
            "second": say("ring_way", way=row["way"]),
            "mm": phrases.mm(row["drift_mm"]),
            "u95": phrases.plus_minus(row["drift_u95_mm"]),
            "dial": dials.ring_dial(row["drift_mm"]),
            "anchor": f"ring-{row['number']}",
        }
    return {
        "title": row["place"][0].upper() + row["place"][1:] if row["place"].startswith("the ") else row["place"],
        "second": say("outer_end", way=row["way"]),
        "mm": phrases.mm(row["move_mm"]),
        "u95": phrases.plus_minus(row["move_u95_mm"]),
        "dial": dials.spoke_dial(row["ideal_deg"], row["move_mm"]),
        "anchor": f"spoke-{row['index']}",
    }


def close(answer: dict[str, Any]) -> list[dict[str, Any]]:
    """The first of what is too close to call, each with its whisker."""
    found = []
    for row in answer["unsure"][:MOST_CLOSE]:
        ring = row["what"] == "ring"
        value, u95 = (row["drift_mm"], row["drift_u95_mm"]) if ring else (row["move_mm"], row["move_u95_mm"])
        found.append(
            {
                "title": say("ring", number=row["number"]) if ring else row["place"],
                "mm": phrases.mm(value),
                "u95": phrases.plus_minus(u95),
                "whisker": dials.whisker(value, u95, answer["tolerance_mm"]),
            }
        )
    return found


def figures(answer: dict[str, Any]) -> list[dict[str, Any]]:
    """Every spoke and ring with what is known of it."""
    rows = []
    for k, spoke in enumerate(answer["spokes"]):
        named = say("of_spoke_other" if spoke["place"].startswith("the ") else "of_spoke", place=spoke["place"])
        lines = [(TEXT["figure_move"], _with_way(spoke["move_mm"], spoke["move_u95_mm"], spoke["way"]))]
        lines.append((TEXT["figure_miss"], _with_way(spoke["miss_mm"], spoke["miss_u95_mm"])))
        lines.append((TEXT["figure_long"], f"{spoke['long_mm']:.1f} mm"))
        rows.append(_figure(f"spoke-{k}", spoke["place"], named, spoke, spoke["move_mm"], lines))
    for ring in answer["rings"]:
        named = say("ring", number=ring["number"])
        lines = [(TEXT["figure_ring"], _with_way(ring["drift_mm"], ring["drift_u95_mm"], ring["way"]))]
        lines.append((TEXT["figure_radius"], f"{ring['radius_mm']:.1f} mm"))
        rows.append(_figure(f"ring-{ring['number']}", named, named, ring, ring["drift_mm"], lines))
    return rows


def _figure(
    anchor: str, short: str, title: str, of: dict[str, Any], value_mm: float, lines: list[tuple[str, str]]
) -> dict[str, Any]:
    verdict = TEXT[f"verdict_{of['verdict']}"]
    u95 = phrases.plus_minus(of.get("move_u95_mm", of.get("drift_u95_mm", 0.0)))
    mm = f"{phrases.mm(value_mm)} ± {u95}"
    return {"anchor": anchor, "short": short, "title": title[0].upper() + title[1:], "verdict": verdict,
            "kind": of["verdict"], "mm": mm, "lines": lines}  # fmt: skip


def _with_way(value_mm: float, u95_mm: float, way: str = "") -> str:
    words = f"{phrases.mm(value_mm)} mm {way}".strip() if phrases.mm(value_mm) != "0.0" else "0.0 mm"
    return f"{words}, ± {phrases.plus_minus(u95_mm)} mm"


def arrows_words(answer: dict[str, Any]) -> str:
    """How the picture's arrows are to be read."""
    if not answer["moves"]:
        plain = "dots_plain" if answer["stage"] == "painted" else "no_arrows"
        return TEXT["dots_marked" if answer["kind"] == "dots" else plain]
    if answer["times"] == 1:
        return TEXT["times_one"]
    return say("times_cut" if answer["cut"] else "times", times=answer["times"])


def close_words(answer: dict[str, Any]) -> str:
    """What stands below the whiskers."""
    more = len(answer["unsure"]) - MOST_CLOSE
    parts = [say("close_grey", tolerance=phrases.mm(answer["tolerance_mm"]))]
    parts += [say("close_more", count=more)] if more > 0 else []
    return " ".join([*parts, TEXT["close_photo"]])


def refusal(job: Job) -> dict[str, Any]:
    """Why a job was not measured and what to do."""
    code = str((job.refusal or {}).get("code"))
    values = (job.refusal or {}).get("values") or {}
    reason, todo = refused(code, values, len(cut_corners(job)["off"]))
    if job.state == "stopped":
        reason, todo = TEXT["stopped_second"], ()
    helps = code in BY_HAND and "preview" in job.pictures
    again = job.state in ("failed", "stopped")
    return {
        "reason": reason,
        "todo": todo,
        "cut": cut_corners(job),
        "by_hand": helps,
        "again": again,
        "mend": code in SLIPS,
    }


def cut_corners(job: Job) -> dict[str, list[tuple[float, float]]]:
    """Corners of a panel that is cut off: ``seen`` in the picture, and at its edge where others lie beyond it, ``off``.

    They come from a worker that has opened a stranger's picture, so they are looked at before they are believed.
    """
    found: dict[str, list[tuple[float, float]]] = {"seen": [], "off": []}
    corners = ((job.refusal or {}).get("values") or {}).get("corners_px")
    if not job.size_px or not isinstance(corners, list) or len(corners) != 4:
        return found
    width, height = job.size_px
    # So much room do the words "cut off" need, as shares of the picture's width.
    across, down = 0.12 * width, 0.05 * width
    for corner in corners:
        try:
            x, y = (float(v) for v in corner)
        except (TypeError, ValueError):
            return {"seen": [], "off": []}
        if 0 <= x < width and 0 <= y < height:
            found["seen"].append((round(x, 1), round(y, 1)))
        elif isfinite(x + y):
            at = (min(max(x, across), width - across), min(max(y, down), height - down))
            found["off"].append((round(at[0], 1), round(at[1], 1)))
    return found


def kept_words(job: Job) -> str | None:
    """What became of keeping it."""
    state_ = job.kept.get("state")
    if state_ == "keeping":
        return TEXT["keeping"]
    if state_ == "kept":
        return say("kept" if job.kept.get("new") else "kept_before", number=job.kept["number"], title=job.kept["title"])
    if state_ == "failed":
        code, values = str(job.kept.get("code")), job.kept.get("values") or {}
        # Folders of this computer are nothing for a phone to show.
        return say("keep_failed", reason=phrase(code, {**values, "folder": "the record"}))
    return None


def place_row(desk: Desk, place: Place) -> dict[str, Any]:
    """A place on the overview: its last photo and what came of it."""
    jobs = [job for job in map(desk.jobs.get, place.jobs) if job]
    last = jobs[-1] if jobs else None
    kind, first, second = headline(last) if last else ("none", "", "")
    return {
        "name": place.name,
        "number": place.number,
        "kind": kind,
        "headline": first,
        "second": second,
        "time": time_words(last) if last else "",
        "job": last.id if last else None,
        "picture": bool(last and last.pictures),
        "count": len(jobs),
    }
