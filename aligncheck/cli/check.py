"""`aligncheck check`: photos in; findings, figures and pictures out."""

from typing import Annotated

import typer

from aligncheck.cli.shared import Corners, Depth, Height, LayoutFile, LensFile, Out, Panel, Segments, Text, Tolerance


def check(
    photos: Annotated[list[str], typer.Argument(metavar="PHOTO...", help="Photos of panels of one size.")],
    panel: Panel,
    out: Out = None,
    segments: Segments = None,
    layout: LayoutFile = None,
    tolerance: Tolerance = None,
    lens: LensFile = None,
    corners: Corners = None,
    exact_corners: Annotated[bool, typer.Option("--exact-corners", help="Take --corners as they are.")] = False,
    depth: Depth = None,
    height: Height = None,
    stage: Annotated[
        Text, typer.Option(metavar="STAGE", help="marked, arranged, rows or painted; else the photo tells.")
    ] = None,
    paints: Annotated[
        Text, typer.Option(metavar="FILE", help='Your paints (TOML): name = "#rrggbb", to name the dots\' colours.')
    ] = None,
    together: Annotated[
        bool, typer.Option("--together", help="The photos show one panel: one answer from all of them.")
    ] = False,
    table: Annotated[bool, typer.Option("--table", help="Print every figure too.")] = False,
    csv: Annotated[Text, typer.Option(metavar="FILE", help="One table of all photos.")] = None,
    jobs: Annotated[str, typer.Option(metavar="N", help="Photos at a time; 0: one a processor.")] = "0",
) -> int:
    """Say which spoke or ring to move, by how many mm and which way.

    How sure each figure is stands beside it, and what to move is drawn on the photo.

    Exit status: 0 nothing is out, 1 something is out, 2 a photo was not measured (one line says why).
    """
    from aligncheck.cli import options
    from aligncheck.cli.report import Asked
    from aligncheck.cli.run_photos import run_checks

    asked = Asked(
        panel=panel,
        layout=options.path(layout),
        segments=options.whole(segments, "bad_segments"),
        tolerance_mm=options.length(tolerance, "--tolerance"),
        lens=options.path(lens),
        corners_px=options.corners(corners),
        exact_corners=exact_corners,
        depth_mm=options.length(depth, "--depth"),
        height_mm=options.height(height),
        stage=stage,
        paints=options.path(paints),
        table=table,
        together=together,
    )
    return run_checks(
        photos, asked, out=options.path(out), csv=options.path(csv), jobs=options.whole(jobs, "bad_jobs") or 0
    )
