"""`aligncheck check --together`: the photos of a call as one answer."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from aligncheck.cli import DONE, OUT
from aligncheck.joint import Measured, as_joint_result, join

if TYPE_CHECKING:
    from aligncheck.cli.report import Asked
    from aligncheck.result.names import Target

#: The joint answer's name: fixed.
STEM = "together"


def finish_together(measured: Sequence[Measured], where: Mapping[Path, "Target"], asked: "Asked") -> int:
    """Join the measured photos, write the answer beside the first one's results and print it; the exit status."""
    from aligncheck.checking import ideal_layout
    from aligncheck.files import write_all
    from aligncheck.overlay import draw_overlays
    from aligncheck.photo import read_photo
    from aligncheck.result.names import Target
    from aligncheck.result.ours import is_ours
    from aligncheck.result.write import as_jpeg, as_json
    from aligncheck.words import findings, table

    # The photos come back in the order in which they were done.
    order = {path.name: k for k, path in enumerate(where)}
    measured = sorted(measured, key=lambda m: order.get(m.name, 0))
    joint = join(measured, ideal_layout(asked.layout, asked.segments, asked.tolerance_mm))
    path = next(p for p in where if p.name == joint.photo.path.name) if joint.photo.path else next(iter(where))
    target = Target(next(iter(where.values())).folder, STEM)
    # Its pixels were let go while the others were measured.
    joint = replace(joint, photo=read_photo(path))
    pictures = draw_overlays(joint.photo, joint)
    contents = {
        target.result: as_json(as_joint_result(joint)),
        target.flat: as_jpeg(pictures.flat),
        target.overlay: as_jpeg(pictures.photo_overlay),
        target.flat_overlay: as_jpeg(pictures.flat_overlay),
    }
    write_all(contents, is_ours)
    typer.echo(f"{len(joint.together.used)} photos together")
    for line in [*findings(joint), *(table(joint).splitlines() if asked.table else ())]:
        typer.echo(f"  {line}")
    verdicts = [s.verdict for s in joint.drift.spokes] + [r.verdict for r in joint.drift.rings]
    return OUT if "out" in verdicts else DONE
