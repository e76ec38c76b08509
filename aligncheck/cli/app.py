"""The app that joins the commands; each stands in a file of its own and loads what is heavy only when it runs."""

import typer

from aligncheck.cli import bench, check, dots, lens, margin, place, reach, record, sheet

# Plain help and plain errors: the rich ones cost a tenth of a second and draw boxes round one sentence.
app = typer.Typer(
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    no_args_is_help=False,
    help="Photograph a marked panel; know which spoke or ring is off, by how many mm, which way, and how sure that is.",
)


def _version(asked: bool) -> None:
    if asked:
        from aligncheck import __version__

        typer.echo(f"aligncheck {__version__}")
        raise typer.Exit


@app.callback()
def every_command(
    version: bool = typer.Option(False, "--version", callback=_version, is_eager=True, help="Print the version."),
) -> None:
    """Photograph a marked panel; know which spoke or ring is off, by how many mm, which way, and how sure that is."""


app.command("check")(check.check)
app.command("dots")(dots.dots)
app.command("sheet")(sheet.sheet)
app.command("reach")(reach.reach)
app.command("place")(place.place)
app.command("margin")(margin.margin)
app.command("bench")(bench.bench)
app.add_typer(lens.app, name="lens")
app.add_typer(record.app, name="record")
