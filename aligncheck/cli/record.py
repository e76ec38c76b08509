"""`aligncheck record`: keep every stage of a piece, look back, and make a page, a handout and a film of it."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from aligncheck.cli.record_describe import describe
from aligncheck.cli.shared import Corners, Depth, Height, LensFile, Segments, Text, Tolerance

if TYPE_CHECKING:
    from aligncheck.record import Stage

app = typer.Typer(no_args_is_help=False, help="Keep every stage of a piece: photos, figures and pictures.")
Folder = Annotated[str, typer.Argument(metavar="FOLDER", help="The record of one piece.")]
Which = Annotated[str, typer.Argument(metavar="STAGE", help="Its number in the list, its name or its title.")]


@app.command("new")
def new(
    folder: Annotated[str, typer.Argument(metavar="FOLDER", help="A new folder.")],
    panel: Annotated[str, typer.Option(metavar="SIZE", help="Width x height: 12x12in, 30x40cm.")],
    name: Annotated[Text, typer.Option(metavar="TEXT", help="What the piece is called; else as the folder.")] = None,
    about: Annotated[str, typer.Option(metavar="TEXT", help="A sentence or two for page and handout.")] = "",
    segments: Segments = None,
    tolerance: Tolerance = None,
    layout: Annotated[Text, typer.Option(metavar="FILE", help="Layout file; a copy goes into the record.")] = None,
) -> int:
    """Begin the record of a piece."""
    from aligncheck.cli import DONE, options
    from aligncheck.record import new_record

    home = Path(folder).expanduser()
    record = new_record(
        home,
        panel,
        name=name,
        about=about,
        segments=options.whole(segments, "bad_segments"),
        tolerance_mm=options.length(tolerance, "--tolerance"),
        layout=options.path(layout),
    )
    typer.echo(
        f"Record of {record.piece.name} begun in {home}. Add its first photo with: aligncheck record add {home} PHOTO"
    )
    return DONE


@app.command("add")
def add(
    folder: Folder,
    photos: Annotated[list[str], typer.Argument(metavar="PHOTO...", help="Photos of this piece.")],
    title: Annotated[Text, typer.Option(metavar="TEXT", help="What this stage is called.")] = None,
    note: Annotated[str, typer.Option(metavar="TEXT", help="Anything worth keeping with it.")] = "",
    taken: Annotated[Text, typer.Option(metavar="DATE", help="When, if the photo does not know: 2026-05-12.")] = None,
    lens: LensFile = None,
    corners: Corners = None,
    depth: Depth = None,
    height: Height = None,
) -> int:
    """Check photos and keep them, also those that cannot be measured. A photo that is there already is kept once."""
    from aligncheck.cli import options
    from aligncheck.cli.record_add import add_all

    return add_all(
        Path(folder).expanduser(),
        [Path(p).expanduser() for p in photos],
        title=title,
        note=note,
        taken=taken,
        lens=options.path(lens),
        corners_px=options.corners(corners),
        depth_mm=options.length(depth, "--depth"),
        height_mm=options.height(height),
    )


@app.command("list")
def list_stages(folder: Folder) -> int:
    """List the stages, oldest first."""
    from aligncheck.cli import DONE, say
    from aligncheck.record import open_record

    record = open_record(Path(folder).expanduser())
    typer.echo(f"{record.piece.name}, {record.piece.panel}, {_stages(len(record.stages))}")
    for number, stage in enumerate(record.stages, 1):
        typer.echo(_line(number, stage))
    for name in record.damaged:
        say(f"{name}: cannot be read. Run: aligncheck record verify {folder} --repair")
    return DONE


@app.command("show")
def show(
    folder: Folder,
    stage: Annotated[Text, typer.Argument(metavar="STAGE", help="Number, name or title; else the latest.")] = None,
    since: Annotated[Text, typer.Option(metavar="STAGE", help="Compare with this; else the one before.")] = None,
) -> int:
    """Tell what a stage showed and what has changed since another."""
    from aligncheck.cli import DONE
    from aligncheck.record import find_stage, open_record
    from aligncheck.record.progress import progress

    record = open_record(Path(folder).expanduser())
    one = find_stage(record, stage or str(len(record.stages)))
    number = record.stages.index(one)
    typer.echo(_line(number + 1, one))
    for text in one.words or (one.second,):
        typer.echo(f"  {text}")
    if one.note:
        typer.echo(f"  Note: {one.note}")
    earlier = (
        find_stage(record, since) if since else next((s for s in record.stages[:number][::-1] if s.measured), None)
    )
    if earlier and earlier.measured and one.measured:
        typer.echo(f"  {progress(record, earlier, one)}")
    for text in one.placed:
        typer.echo(f"  Centrepiece: {text}")
    typer.echo(f"  {record.path(one, one.photo)}")
    return DONE


@app.command("note")
def note(
    folder: Folder,
    stage: Which,
    title: Annotated[Text, typer.Option(metavar="TEXT", help="What this stage is called.")] = None,
    text: Annotated[Text, typer.Option("--note", metavar="TEXT", help="Anything worth keeping with it.")] = None,
) -> int:
    """Change a stage's title or note; its files keep their names."""
    from dataclasses import replace

    from aligncheck.cli import DONE
    from aligncheck.record import find_stage, open_record
    from aligncheck.record.store import change

    home = Path(folder).expanduser()
    one = find_stage(open_record(home), stage)
    change(home, replace(one, title=(title or one.title).strip(), note=one.note if text is None else text.strip()))
    typer.echo(f"Stage {one.name} changed.")
    return DONE


app.command("describe")(describe)


@app.command("remove")
def remove(folder: Folder, stage: Which) -> int:
    """Take a stage out of the record. Its folder goes into "removed"; nothing is deleted."""
    from aligncheck.cli import DONE
    from aligncheck.record import find_stage, open_record
    from aligncheck.record.remove import remove_stage

    home = Path(folder).expanduser()
    one = find_stage(open_record(home), stage)
    kept = remove_stage(home, one)
    typer.echo(f"Stage {one.name} removed." + (f" Its files lie in {kept}." if kept else ""))
    return DONE


@app.command("verify")
def verify(
    folder: Folder,
    repair: Annotated[bool, typer.Option("--repair", help="Make the index anew, mend stage files.")] = False,
) -> int:
    """Name the files that are damaged or missing."""
    from aligncheck.cli import DONE, NOT_DONE
    from aligncheck.record.verify import verify as look_through

    whole, found = look_through(Path(folder).expanduser(), repair)
    for finding in found:
        typer.echo(finding.text)
    bad = [f for f in found if not f.harmless]
    typer.echo(f"{_stages(whole)} whole." + (f" {len(bad)} to see to." if bad else " Nothing is damaged or missing."))
    return NOT_DONE if bad else DONE


@app.command("export")
def export(
    folder: Folder,
    out: Annotated[Text, typer.Option(metavar="DIR", help="Else 'export' in the record.")] = None,
    film_edge: Annotated[Text, typer.Option(metavar="PX", help="Size of the film; 0: no film.")] = None,
) -> int:
    """Write the page, the handout and the film. They hold no place, serial number or other data of the photos."""
    from aligncheck.cli import options
    from aligncheck.cli.record_export import export_all

    target = options.path(out) or Path(folder).expanduser() / "export"
    return export_all(Path(folder).expanduser(), target, options.whole(film_edge, "bad_edge"))


def _line(number: int, stage: "Stage") -> str:
    """One stage in one line."""
    date = datetime.fromisoformat(stage.moment).strftime("%Y-%m-%d")
    gone = "" if stage.present else "  (its folder is missing)"
    return f"{number:3d}  {date}  {stage.title}: {stage.headline}{gone}"


def _stages(number: int) -> str:
    return f"{number} stage" if number == 1 else f"{number} stages"
