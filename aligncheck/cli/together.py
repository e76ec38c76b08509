"""`aligncheck check --together`: the photos of a call as one answer."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from aligncheck.cli import DONE, OUT
from aligncheck.joint import JointCheck, Measured, as_joint_result, join
from aligncheck.notes import Note

if TYPE_CHECKING:
    from aligncheck.cli.report import Asked
    from aligncheck.result.names import Target
    from aligncheck.result.rows import Row

#: The joint answer's name: fixed.
STEM = "together"


def finish_together(
    measured: Mapping[Path, Measured], failed: Sequence[Note], where: Mapping[Path, "Target"], asked: "Asked"
) -> tuple[int, list["Row"]]:
    """Join the measured photos, write the answer beside the first one's results and print it.

    Returns the exit status and the answer's rows for the table. Photos that cannot be joined are said so in one line;
    what was measured of each stays.
    """
    from aligncheck.checking import ideal_layout
    from aligncheck.cli import say
    from aligncheck.cli.piece import drawn
    from aligncheck.errors import AligncheckError
    from aligncheck.result.names import Target
    from aligncheck.result.rows import refused_row, rows_of
    from aligncheck.words import findings, table

    target = Target(next(iter(where.values())).folder, STEM)
    # The photos come back in the order in which they were done.
    paths = [path for path in where if path in measured]
    try:
        joint = join(
            [measured[p] for p in paths],
            ideal_layout(asked.layout, asked.segments, asked.tolerance_mm),
            tuple(failed),
        )
        _write(joint, paths[joint.together.used[0]], target)
    except AligncheckError as error:
        return say(str(error)), [refused_row(Path(STEM), str(error))]
    typer.echo(f"{len(joint.together.used)} photos together")
    # What could not be measured was told when it happened.
    told = replace(joint, notes=tuple(n for n in joint.notes if n not in failed))
    for line in [*findings(told), drawn(target), *(table(joint).splitlines() if asked.table else ())]:
        typer.echo(f"  {line}")
    verdicts = [s.verdict for s in joint.drift.spokes] + [r.verdict for r in joint.drift.rings]
    return OUT if "out" in verdicts else DONE, [row | {"photo": STEM} for row in rows_of(joint)]


def _write(joint: JointCheck, first: Path, target: "Target") -> None:
    """The answer and its pictures, drawn on the `first` photo that takes part."""
    from aligncheck.files import write_all
    from aligncheck.overlay import draw_overlays
    from aligncheck.photo import read_photo
    from aligncheck.result.ours import is_ours
    from aligncheck.result.write import as_jpeg, as_json

    # Its pixels were let go while the others were measured.
    joint = replace(joint, photo=read_photo(first))
    pictures = draw_overlays(joint.photo, joint)
    contents = {
        target.result: as_json(as_joint_result(joint)),
        target.flat: as_jpeg(pictures.flat),
        target.overlay: as_jpeg(pictures.photo_overlay),
        target.flat_overlay: as_jpeg(pictures.flat_overlay),
    }
    write_all(contents, is_ours)
