"""The app that joins the commands; each stands in a file of its own and loads what is heavy only when it runs."""

from collections.abc import Sequence
from importlib import import_module

import typer

#: Each in a file of its name; one with further commands below it holds an app of its own.
COMMANDS = ("check", "dots", "sheet", "reach", "place", "margin", "bench", "lens", "record")


def app_for(words: Sequence[str]) -> typer.Typer:
    """The command that the first of the `words` names; all of them where it names none, as for help.

    Reading the options of all commands takes a hundredth of the time of a check.
    """
    # Plain help and plain errors: the rich ones cost a tenth of a second and draw boxes round one sentence.
    app = typer.Typer(
        add_completion=False,
        rich_markup_mode=None,
        pretty_exceptions_enable=False,
        no_args_is_help=False,
        help=every_command.__doc__,
    )
    app.callback()(every_command)
    for name in words[:1] if words and words[0] in COMMANDS else COMMANDS:
        file = import_module(f"aligncheck.cli.{name}")
        if hasattr(file, "app"):
            app.add_typer(file.app, name=name)
        else:
            app.command(name)(getattr(file, name))
    return app


def _version(asked: bool) -> None:
    if asked:
        from aligncheck import __version__

        typer.echo(f"aligncheck {__version__}")
        raise typer.Exit


def every_command(
    version: bool = typer.Option(False, "--version", callback=_version, is_eager=True, help="Print the version."),
) -> None:
    """Photograph a marked panel; know which spoke or ring is off, by how many mm, which way, and how sure that is."""
