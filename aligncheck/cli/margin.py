"""`aligncheck margin`: what is clear on each side of the design, and what a frame would hide of it."""

from typing import Annotated

import typer

from aligncheck.cli.shared import Height, LayoutFile, LensFile, Out, Panel, Segments, Text


def margin(
    photo: Annotated[str, typer.Argument(metavar="PHOTO", help="Photo of the panel, at any stage.")],
    panel: Panel,
    rebate: Annotated[Text, typer.Option(metavar="MM", help="How far the frame reaches over each side; 1/4in.")] = None,
    out: Out = None,
    frame_depth: Annotated[Text, typer.Option(metavar="MM", help="Depth of the frame's rebate.")] = None,
    glass: Annotated[bool, typer.Option("--glass", help="Glass goes into the frame.")] = False,
    height: Height = None,
    depth: Annotated[Text, typer.Option(metavar="MM", help="Thickness of the panel; 3mm.")] = None,
    segments: Segments = None,
    layout: LayoutFile = None,
    lens: LensFile = None,
) -> int:
    """Say what is clear on each side of the design.

    Also what the frame would hide, and how far off the middle the design sits.
    """
    from aligncheck.checking import measure_margin
    from aligncheck.cli import DONE, options
    from aligncheck.cli.piece import drawn, target_of
    from aligncheck.margin.frame import USUAL_REBATE_MM, Frame
    from aligncheck.overlay.margin_picture import draw_margin
    from aligncheck.result.write import write_results
    from aligncheck.words.margins import margin_lines, shape_lines, summarise_margin

    path = options.path(photo)
    if path is None:
        return DONE
    width = options.length(rebate, "--rebate") or USUAL_REBATE_MM
    frame = Frame(width, options.length(frame_depth, "--frame-depth"), glass, assumed=rebate is None)
    heights, thick = options.height(height), options.length(depth, "--depth")
    target = target_of(path, options.path(out))
    done = measure_margin(
        path,
        panel,
        options.path(layout),
        rebate_mm=frame.rebate_mm,
        height_mm=heights,
        segments=options.whole(segments, "bad_segments"),
        lens=options.path(lens),
        depth_mm=thick,
    )
    found = done.margin
    if found is None:
        return DONE
    write_results(done, target, draw_margin(done.photo, done.drift, found, summarise_margin(found)))
    stands = heights or (done.centrepiece.height_mm if done.centrepiece else None)
    size = (done.panel.width_mm, done.panel.height_mm)
    shape = shape_lines(done.notes, done.panel.squareness, size)
    for line in [*margin_lines(found, size, frame, thick, stands), *shape, drawn(target)]:
        typer.echo(line)
    return DONE
