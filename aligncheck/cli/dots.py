"""`aligncheck dots`: how many dots close a ring, and walked dots over a length."""

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from aligncheck.paper.dot_count import DotCount, Walk

Text = str | None


def dots(
    radius: Annotated[Text, typer.Option(metavar="MM", help="Radius of the ring through the dots' middles.")] = None,
    size: Annotated[Text, typer.Option(metavar="MM", help="Diameter of a dot.")] = None,
    gap: Annotated[Text, typer.Option(metavar="MM", help="Wish for the gap between edges; 0: they touch.")] = None,
    segments: Annotated[Text, typer.Option(metavar="N", help="The same number of dots in each of N segments.")] = None,
    first: Annotated[Text, typer.Option("--from", metavar="MM", help="Walked dots: the first one's diameter.")] = None,
    last: Annotated[Text, typer.Option("--to", metavar="MM", help="Walked dots: the last one's diameter.")] = None,
    length: Annotated[
        Text, typer.Option(metavar="MM", help="Walked dots: length from outer edge to outer edge.")
    ] = None,
    count: Annotated[Text, typer.Option(metavar="N", help="Walked dots: so many; else what fits the gap.")] = None,
) -> int:
    """Say how many dots close a ring, or how dots walk to another size.

    A ring: --radius 60mm --size 4mm --gap 1mm. Walked dots: --from 6mm --to 2mm --length 50mm.
    """
    from aligncheck.cli import DONE
    from aligncheck.errors import InputError
    from aligncheck.paper import dot_words

    ring, walk = (radius, size), (first, last, length)
    found: DotCount | Walk
    if None not in ring and not any(walk):
        found = _ring(radius or "", size or "", gap, segments)
    elif None not in walk and not any(ring):
        found = _walk((first or "", last or "", length or ""), gap, count)
    else:
        raise InputError("dots_what")
    for line in dot_words.tell(found):
        typer.echo(line)
    return DONE


def _ring(radius: str, size: str, gap: str | None, segments: str | None) -> "DotCount":
    """Dots round a ring."""
    from aligncheck.cli import options
    from aligncheck.errors import InputError
    from aligncheck.layout.read import SEGMENTS_RANGE
    from aligncheck.paper.dot_count import dots_on_ring

    number = options.whole(segments, "bad_segments")
    if number is not None and not SEGMENTS_RANGE[0] <= number <= SEGMENTS_RANGE[1]:
        raise InputError("bad_segments", text=segments)
    return dots_on_ring(_length(radius, "--radius"), _length(size, "--size"), _gap(gap), number or 1)


def _walk(ends: tuple[str, str, str], gap: str | None, count: str | None) -> "Walk":
    """Dots over a length."""
    from aligncheck.cli import options
    from aligncheck.errors import InputError
    from aligncheck.paper.dot_count import walked_dots

    number = options.whole(count, "dots_bad_count")
    if number is not None and number < 2:
        raise InputError("dots_bad_count", text=count)
    first, last, length = (_length(*one) for one in zip(ends, ("--from", "--to", "--length"), strict=True))
    return walked_dots(first, last, length, _gap(gap), number or 0)


def _length(text: str, option: str) -> float:
    from aligncheck.cli import options

    return options.length(text, option) or 0.0


def _gap(text: str | None) -> float:
    """The gap in mm; none given is none wished."""
    from aligncheck.errors import InputError
    from aligncheck.units import parse_length

    value = parse_length(text, "--gap") if text is not None else 0.0
    if value < 0:
        raise InputError("dots_bad_gap", text=text)
    return value
