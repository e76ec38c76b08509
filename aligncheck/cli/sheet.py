"""`aligncheck sheet`: true-scale paper to print, of a layout, a start circle or a check's corrections."""

import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from aligncheck.paper.template import Template

Text = str | None


def sheet(
    kind: Annotated[
        str, typer.Argument(metavar="[layout|start|corrections]", help="What the sheet shows.", show_default=False)
    ] = "layout",
    panel: Annotated[Text, typer.Option(metavar="SIZE", help="Layout: the panel's size, such as 12x12in.")] = None,
    segments: Annotated[Text, typer.Option(metavar="N", help="Number of spokes.")] = None,
    pitch: Annotated[Text, typer.Option(metavar="MM", help="Layout: from ring to ring, such as 1/2in.")] = None,
    rings: Annotated[Text, typer.Option(metavar="N", help="Layout: number of rings; else as many as fit.")] = None,
    rotation: Annotated[
        Text, typer.Option(metavar="DEG", help="First spoke, degrees clockwise from 12 o'clock; 0.")
    ] = None,
    layout: Annotated[Text, typer.Option(metavar="FILE", help="Layout file (TOML) instead of these.")] = None,
    radius: Annotated[Text, typer.Option(metavar="MM", help="Start: radius where the first row starts.")] = None,
    check: Annotated[
        Text, typer.Option(metavar="FILE", help="Corrections, or start: the result file of a check.")
    ] = None,
    pencil: Annotated[
        str, typer.Option(metavar="MM", help="Width of the line that pencil or chalk draws along the paper.")
    ] = "0.7mm",
    paper: Annotated[
        str, typer.Option(metavar="NAME", help="a4, a3, letter, or one: a single page as large as needed.")
    ] = "a4",
    ruler: Annotated[
        Text, typer.Option(metavar="MM", help="What the 100 mm ruler of an earlier print measured: 99.4mm.")
    ] = None,
    out: Annotated[Text, typer.Option(metavar="FILE", help="The PDF, or a folder for it; else here.")] = None,
) -> int:
    """Write a true-scale PDF to print.

    It shows a layout, the circle where the first row starts, or a check's corrections.

    Examples: sheet layout --panel 12x12in --segments 12 --pitch 1/2in; sheet start --radius 43mm;
    sheet corrections --check aligncheck/photo.json.
    """
    from aligncheck.cli import DONE, options
    from aligncheck.errors import InputError
    from aligncheck.files import write_all
    from aligncheck.paper.page import is_our_pdf
    from aligncheck.paper.template import template_pdf

    line = _pencil(pencil)
    if kind == "layout":
        template = _layout(panel, layout, segments, pitch, rings, rotation)
    elif kind == "start":
        template = _start(radius, check, segments, rotation, line)
    elif kind == "corrections":
        template = _corrections(check, line)
    else:
        raise InputError("bad_kind", text=kind)
    content = template_pdf(template, paper, options.length(ruler, "--ruler") or 100.0)
    target = options.file(out, f"{kind}-sheet.pdf")
    write_all({target: content}, is_our_pdf)
    typer.echo(f"Sheet written to {target}. Print it at 100 % and check that its ruler measures 100 mm.")
    return DONE


def _layout(*texts: str | None) -> "Template":
    """The ideal layout of a panel."""
    from dataclasses import replace

    from aligncheck.cli import options
    from aligncheck.errors import InputError
    from aligncheck.layout import Layout, read_layout
    from aligncheck.layout.read import SEGMENTS_RANGE
    from aligncheck.paper.layout_sheet import layout_template
    from aligncheck.units import parse_size

    panel, file, segments, pitch, rings, rotation = texts
    if panel is None:
        raise InputError("sheet_no_panel")
    size = parse_size(panel)
    ideal = read_layout(file) if file else Layout()
    if (number := options.whole(segments, "bad_segments")) is not None:
        if not SEGMENTS_RANGE[0] <= number <= SEGMENTS_RANGE[1]:
            raise InputError("bad_segments", text=segments)
        ideal = replace(ideal, segments=number)
    if (step := options.length(pitch, "--pitch")) is not None:
        ideal = replace(ideal, ring_pitch_mm=step, ring_radii_mm=None)
    if rotation is not None:
        ideal = replace(ideal, rotation_deg=_degrees(rotation))
    count = options.whole(rings, "bad_rings")
    if count is not None and not (1 <= count <= 100 and ideal.ring_pitch_mm):
        raise InputError("bad_rings", text=rings)
    return layout_template(ideal, *size, rings=count)


def _start(
    radius: str | None, check: str | None, segments: str | None, rotation: str | None, line: float
) -> "Template":
    """The start circle, from its radius or from the result of a photo with the piece in place."""
    from aligncheck.cli import options
    from aligncheck.errors import InputError
    from aligncheck.paper.start_sheet import start_template

    result = _result(check) if check else {}
    found = (result.get("centrepiece") or {}).get("start_radius_mm")
    length = options.length(radius, "--radius") or found
    if not isinstance(length, int | float):
        raise InputError("start_unknown")
    number = options.whole(segments, "bad_segments") or result.get("segments")
    turn = _degrees(rotation) if rotation is not None else result.get("rotation_deg") or 0.0
    return start_template(round(float(length), 1), line, number, turn)


def _corrections(check: str | None, line: float) -> "Template":
    """What a check calls out."""
    from aligncheck.errors import InputError
    from aligncheck.paper.corrections_sheet import corrections_template

    if check is None:
        raise InputError("sheet_no_result")
    return corrections_template(_result(check), line)


def _result(text: str) -> dict[str, Any]:
    """A result file that this program wrote."""
    from aligncheck.cli import options
    from aligncheck.errors import InputError
    from aligncheck.result.ours import is_our_result

    path = options.path(text) or Path(text)
    try:
        content = path.read_bytes()
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError("result_unreadable", file=path.name, reason=reason) from None
    if not is_our_result(path):
        raise InputError("result_not_one", file=path.name)
    return dict(json.loads(content))


def _degrees(text: str) -> float:
    """Degrees clockwise from 12 o'clock."""
    from aligncheck.errors import InputError

    try:
        value = float(text.strip().rstrip("°"))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError("bad_rotation", text=text)
    return value % 360.0


def _pencil(text: str) -> float:
    """The width of the pencil's line, zero allowed."""
    from aligncheck.paper.start_sheet import require_pencil
    from aligncheck.units import parse_length

    width = parse_length(text, "--pencil")
    require_pencil(width)
    return width
