"""`aligncheck bench`: a page for the phone at the bench."""

from typing import Annotated

import typer

from aligncheck.cli.shared import Text, Tolerance


def bench(
    lan: Annotated[bool, typer.Option("--lan", help="Let phones in the same network in, by a code.")] = False,
    folder: Annotated[
        str, typer.Option(metavar="DIR", help="Photos and the records of pieces are kept here.")
    ] = "~/aligncheck-bench",
    watch: Annotated[Text, typer.Option(metavar="DIR", help="Measure every new photo in this folder.")] = None,
    panel: Annotated[Text, typer.Option(metavar="SIZE", help="Width x height to begin with: 12x12in.")] = None,
    segments: Annotated[Text, typer.Option(metavar="N", help="Number of spokes to begin with.")] = None,
    tolerance: Tolerance = None,
    port: Annotated[str, typer.Option(metavar="N", help="Port of the page.")] = "8765",
    workers: Annotated[Text, typer.Option(metavar="N", help="Photos measured at a time; else one a processor.")] = None,
) -> int:
    """Open a page for the phone: photograph, and read what to move.

    Ctrl-C ends it.
    """
    import os
    from dataclasses import replace
    from importlib.util import find_spec

    from aligncheck.cli import DONE, options
    from aligncheck.errors import InputError

    needed = ("starlette", "uvicorn", "jinja2", "python_multipart", "segno")
    if any(find_spec(name) is None for name in needed):
        raise InputError("bench_needs_extra")
    from aligncheck.bench.server import PORTS, serve
    from aligncheck.bench.settings import Settings
    from aligncheck.units import parse_size

    if panel:
        parse_size(panel)
    number = options.whole(port, "bad_port")
    if number is None or not (number == 0 or PORTS[0] <= number <= PORTS[1]):
        raise InputError("bad_port", text=port)
    home, watched = options.path(folder), options.path(watch)
    if watched and not watched.is_dir():
        raise InputError("watch_no_folder", folder=watched)
    from aligncheck.checking import ideal_layout

    ideal = ideal_layout(None, options.whole(segments, "bad_segments"), options.length(tolerance, "--tolerance"))
    settings = Settings(
        folder=home.absolute() if home else home,  # type: ignore[arg-type]
        lan=lan,
        port=number,
        watch=watched,
        panel=panel,
        segments=ideal.segments,
        tolerance_mm=ideal.tolerance_mm if tolerance else None,
    )
    kept = settings.folder.absolute()
    standing = next(place for place in (kept, *kept.parents) if place.exists())
    if not standing.is_dir() or not os.access(standing, os.W_OK | os.X_OK):
        raise InputError("bench_no_folder", folder=settings.folder)
    count = options.whole(workers, "bad_jobs")
    serve(replace(settings, workers=count) if count else settings, typer.echo)
    return DONE
