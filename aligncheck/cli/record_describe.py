"""`aligncheck record describe`: what the painter notes of a piece as a whole."""

from pathlib import Path
from typing import Annotated

import typer

Text = str | None
Lines = list[str] | None


def describe(
    folder: Annotated[str, typer.Argument(metavar="FOLDER", help="The record of one piece.")],
    name: Annotated[Text, typer.Option(metavar="TEXT", help="What the piece is called.")] = None,
    about: Annotated[Text, typer.Option(metavar="TEXT", help="A sentence or two for page and handout.")] = None,
    colour: Annotated[Lines, typer.Option(metavar="TEXT", help="A colour; give it once for each.")] = None,
    tool: Annotated[Lines, typer.Option(metavar="TEXT", help="A tool; give it once for each.")] = None,
    row: Annotated[Lines, typer.Option(metavar="TEXT", help="A row, from the middle outward.")] = None,
    caution: Annotated[Lines, typer.Option(metavar="TEXT", help="What a class must take care of.")] = None,
) -> int:
    """Note colours, tools, rows and cautions for page and handout.

    What is given replaces what was noted.
    """
    from aligncheck.cli import DONE
    from aligncheck.errors import InputError
    from aligncheck.record.describe import describe_piece

    lists = {"colours": colour, "tools": tool, "rows": row, "cautions": caution}
    given = {"name": name, "about": about, **{k: tuple(v) if v else None for k, v in lists.items()}}
    changes = {k: v for k, v in given.items() if v is not None}
    if not changes:
        raise InputError("nothing_noted")
    describe_piece(Path(folder).expanduser(), changes)
    typer.echo(f"Noted in {folder}.")
    return DONE
