"""`aligncheck place`: how to put the centrepiece back where it lay in an earlier photo."""

from typing import Annotated

import typer

from aligncheck.cli.shared import Depth, LayoutFile, LensFile, Out, Panel, Segments, Text


def place(
    photo: Annotated[str, typer.Argument(metavar="PHOTO", help="The piece as it lies now.")],
    like: Annotated[
        list[str], typer.Option(metavar="EARLIER", help="The photo that shows it in its place; again for further ones.")
    ],
    panel: Panel,
    more: Annotated[
        list[str] | None,
        typer.Argument(metavar="[PHOTO]...", help="The same from other sides: sharper."),
    ] = None,
    out: Out = None,
    height: Annotated[Text, typer.Option(metavar="MM", help="Height of the piece's outer edge: sharper.")] = None,
    segments: Segments = None,
    layout: LayoutFile = None,
    lens: LensFile = None,
    depth: Depth = None,
) -> int:
    """Say how to put the centrepiece back where it lay.

    Nudge it, photograph again, ask again, until it lies there.
    """
    from aligncheck.checking import place as measure
    from aligncheck.cli import DONE, options
    from aligncheck.cli.piece import target_of, write_and_tell
    from aligncheck.words.cautions import GLUE
    from aligncheck.words.placing import is_back, placing_lines

    path = options.path(photo)
    if path is None:
        return DONE
    target = target_of(path, options.path(out))
    done = measure(
        path,
        options.paths(like),
        panel,
        options.path(layout),
        more=options.paths(more),
        height_mm=options.length(height, "--height"),
        segments=options.whole(segments, "bad_segments"),
        lens=options.path(lens),
        depth_mm=options.length(depth, "--depth"),
    )
    if done.placement is not None:
        # Where it lies right, glue comes next.
        caution = [GLUE] * is_back(done.placement)
        write_and_tell(done, target, [*placing_lines(done.placement), *caution])
    return DONE
