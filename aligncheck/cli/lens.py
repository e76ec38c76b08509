"""`aligncheck lens`: print the board, fit a lens profile from photos of it."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from aligncheck.lens.fit import LensFit

app = typer.Typer(no_args_is_help=False, help="Calibrate the phone's lens once: print, photograph, fit.")
Text = str | None


@app.command("board")
def board(
    paper: Annotated[str, typer.Option(metavar="NAME", help="a4, a3 or letter.")] = "a4",
    ruler: Annotated[
        Text, typer.Option(metavar="MM", help="What the 100 mm ruler of an earlier print measured: 99.4mm.")
    ] = None,
    out: Annotated[Text, typer.Option(metavar="FILE", help="The PDF, or a folder for it; else here.")] = None,
) -> int:
    """Write the board to print, a true-scale PDF."""
    from aligncheck.cli import DONE, options
    from aligncheck.files import write_all
    from aligncheck.paper import lens_board_pdf
    from aligncheck.paper.page import is_our_pdf

    measured = options.length(ruler, "--ruler")
    content = lens_board_pdf(paper, measured) if measured else lens_board_pdf(paper)
    target = options.file(out, f"lens-board-{paper.lower()}.pdf")
    write_all({target: content}, is_our_pdf)
    typer.echo(f"Board written to {target}. Print it at 100 % and check that its rulers measure 100 mm.")
    return DONE


@app.command("fit")
def fit(
    photos: Annotated[list[str], typer.Argument(metavar="PHOTO...", help="8 to 12 photos of the board.")],
    out: Annotated[
        Text, typer.Option(metavar="FILE", help="The profile, or a folder for it; else among yours.")
    ] = None,
    squares: Annotated[
        Text, typer.Option(metavar="NxM", help="Squares of a plain chessboard: 10x7; else found by itself.")
    ] = None,
    ruler: Annotated[
        Text, typer.Option(metavar="MM", help="What the sheet's rulers measure, across x up: 99.4x99.8mm.")
    ] = None,
) -> int:
    """Fit the lens from photos of the board and write its profile."""
    from aligncheck.cli import DONE, options
    from aligncheck.files import write_all
    from aligncheck.lens.find import user_folder
    from aligncheck.lens.fit import fit_lens
    from aligncheck.lens.profile import profile_json
    from aligncheck.result.ours import is_ours

    paths = [Path(p).expanduser() for p in dict.fromkeys(photos)]
    asked = _squares(squares), _rulers(ruler)
    with _bar(len(paths)) as step:
        found = fit_lens(paths, *asked, progress=step)
    target = options.file(out, _file_name(found), user_folder())
    write_all({target: profile_json(found.profile).encode()}, is_ours)
    for name, error in found.rejected:
        sentence = str(error)
        typer.echo(sentence if name in sentence else f"{name}: {sentence}", err=True)
    for line in _lines(found, target):
        typer.echo(line)
    return DONE


@contextmanager
def _bar(total: int) -> Iterator[Callable[[], None]]:
    """A progress bar on standard error where someone is looking; yields what to call after every photo."""
    if not sys.stderr.isatty():
        yield lambda: None
        return
    with typer.progressbar(length=total, label="Reading boards", file=sys.stderr) as bar:
        yield lambda: bar.update(1)


def _squares(text: str | None) -> tuple[int, int] | None:
    """Squares across and down of a chessboard."""
    from aligncheck.errors import InputError

    if text is None:
        return None
    parts = text.lower().replace("×", "x").split("x")
    if len(parts) != 2 or not all(p.strip().isdecimal() and 4 <= int(p) <= 99 for p in parts):
        raise InputError("bad_squares", text=text)
    return int(parts[0]), int(parts[1])


def _rulers(text: str | None) -> tuple[float, float] | None:
    """The two rulers' lengths in mm; one length stands for both, one unit too."""
    from aligncheck.cli import options

    if text is None:
        return None
    parts = text.lower().replace("×", "x").split("x")
    if len(parts) != 2:
        parts = [text, text]
    unit = parts[1].lstrip("0123456789.,- ")
    first = parts[0] if parts[0].strip("0123456789.,- ") else parts[0] + unit
    across, up = options.length(first, "--ruler"), options.length(parts[1], "--ruler")
    return (across, up) if across and up else None


def _file_name(found: "LensFit") -> str:
    """Maker, model and zoom, as far as the photos say them, in signs that every file system takes."""
    camera = found.profile.camera
    words = [camera.make, camera.model, f"{camera.f35_mm:g}mm" if camera.f35_mm else None]
    name = "-".join(w for w in words if w) or "lens"
    return "".join(c if c.isalnum() or c in "-." else "-" for c in name)[:80].strip("-.") + ".json"


def _lines(found: "LensFit", target: Path) -> list[str]:
    """What was found, shortest first."""
    profile, effect = found.profile, found.effect
    u95 = [1.96 * v**0.5 for v in profile.covariance.diagonal()]
    free = found.comparison.best.solution.free
    lines = [
        f"Lens profile from {len(found.used)} photos written to {target}.",
        f"Focal length {profile.focal_px:.1f} ± {u95[0]:.1f} px; principal point {profile.cx_px:.1f} ± {u95[1]:.1f}, "
        f"{profile.cy_px:.1f} ± {u95[2]:.1f} px.",
        f"Bend k1 {profile.k1:.5f} ± {u95[3]:.5f}, k2 {profile.k2:.5f} ± {u95[4]:.5f}: {effect.bend_px:.1f} ± "
        f"{effect.bend_u95_px:.2f} px at the picture's corner, ± {effect.bend_u95_mm:.3f} mm on a 12-inch panel.",
        f"Board corners fit to {found.rms_px:.3f} px (rms). Terms that the photos support: {', '.join(free)}.",
    ]
    return lines + [note.text for note in found.notes]
