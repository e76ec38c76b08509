"""`aligncheck reach`: how far the centrepiece reaches, and where the first row may start."""

from typing import Annotated

import typer

from aligncheck.cli.shared import Depth, Height, LayoutFile, LensFile, Out, Panel, Segments, Text


def reach(
    photo: Annotated[str, typer.Argument(metavar="PHOTO", help="Photo of the panel with the centrepiece on it.")],
    panel: Panel,
    more: Annotated[
        list[str] | None, typer.Argument(metavar="[PHOTO]...", help="The same from other sides: less in doubt.")
    ] = None,
    out: Out = None,
    height: Height = None,
    before: Annotated[Text, typer.Option(metavar="PHOTO", help="The same panel, marked, with nothing on it.")] = None,
    clearance: Annotated[Text, typer.Option(metavar="MM", help="Kept free before the first row; 2mm.")] = None,
    segments: Segments = None,
    layout: LayoutFile = None,
    lens: LensFile = None,
    depth: Depth = None,
) -> int:
    """Say how far what lies on the panel reaches.

    Also which ring it stays inside, and where the first row may start.
    """
    from aligncheck.checking import reach as measure
    from aligncheck.cli import DONE, options
    from aligncheck.cli.piece import target_of, write_and_tell
    from aligncheck.words.piece import reach_lines

    path = options.path(photo)
    if path is None:
        return DONE
    target = target_of(path, options.path(out))
    done = measure(
        path,
        panel,
        options.path(layout),
        more=options.paths(more),
        before=options.path(before),
        height_mm=options.height(height),
        clearance_mm=options.length(clearance, "--clearance"),
        segments=options.whole(segments, "bad_segments"),
        lens=options.path(lens),
        depth_mm=options.length(depth, "--depth"),
    )
    if done.centrepiece is not None:
        write_and_tell(done, target, reach_lines(done.centrepiece))
    return DONE
