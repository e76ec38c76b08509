"""What `aligncheck dots` says: the counts that close a ring, or the dots of a walk, and tools that make such dots."""

from aligncheck.paper.dot_count import ClosedRing, DotCount, Walk
from aligncheck.paper.tools import tools_near

EXACT = "{count} dots of {size} mm close a ring of {radius} mm radius exactly, {gap}."
BETWEEN = "{exact} dots of {size} mm, {gap}, would close a ring of {radius} mm radius. These close it:"
ONE = "{count} dots, {gap}, one every {step}°."
FITTING = "{count} dots, {gap}, one every {step}°; or of {fitting} mm, {wish}."
TOUCHING, APART = "touching", "{gap} mm apart"
WALK = "{count} dots from {first} to {last} mm fill {length} mm, {gap}; each is {percent} % of the one before."
DOT = "{number}: {size} mm, its middle at {middle} mm{tools}"
TOOLS = "Tools of about {size} mm: {tools}."
NO_TOOL = "No usual tool is within a tenth of {size} mm."
#: A tool's size is not the dot's.
TRY = "Paint, pressure and panel decide how large a dot becomes: try the tool beside the work first."


def tell(found: DotCount | Walk) -> list[str]:
    """The answer in lines, the sentence that matters first."""
    return _ring_lines(found) if isinstance(found, DotCount) else _walk_lines(found)


def _ring_lines(found: DotCount) -> list[str]:
    size, radius = f"{found.size_mm:g}", f"{found.radius_mm:g}"
    if len(found.closed) == 1 and abs(found.closed[0].count - found.exact) < 1e-6:
        one = found.closed[0]
        lines = [EXACT.format(count=one.count, size=size, radius=radius, gap=_gap(one.gap_mm))]
    else:
        wish = TOUCHING if not found.gap_mm else APART.format(gap=f"{found.gap_mm:g}")
        lines = [BETWEEN.format(exact=f"{found.exact:.2f}", size=size, gap=wish, radius=radius)]
        lines += [_one(ring, wish) for ring in found.closed]
    return [*lines, _tools_line(found.size_mm), TRY]


def _one(ring: ClosedRing, wish: str) -> str:
    """A count with its gap, and the dots that would close it at the gap asked for."""
    words = FITTING if ring.fitting_mm > 0 else ONE
    step, fitting = f"{360 / ring.count:.2f}", f"{ring.fitting_mm:.2f}"
    return words.format(count=ring.count, gap=_gap(ring.gap_mm), step=step, fitting=fitting, wish=wish)


def _gap(gap_mm: float) -> str:
    """The gap to a hundredth: a painter cannot keep it, but many small errors would not close the ring."""
    return TOUCHING if gap_mm < 0.005 else APART.format(gap=f"{gap_mm:.2f}")


def _walk_lines(walk: Walk) -> list[str]:
    end = walk.middles_mm[-1] + walk.sizes_mm[-1] / 2
    first, last = f"{walk.sizes_mm[0]:g}", f"{walk.sizes_mm[-1]:g}"
    lines = [
        WALK.format(
            count=len(walk.sizes_mm), first=first, last=last, length=f"{end:g}", gap=_gap(walk.gap_mm),
            percent=f"{100 * walk.share:.0f}",
        )
    ]  # fmt: skip
    for number, (size, middle) in enumerate(zip(walk.sizes_mm, walk.middles_mm, strict=True), 1):
        names = ", ".join(tool.name for tool in tools_near(size)[:1])
        lines.append(
            DOT.format(number=number, size=f"{size:.2f}", middle=f"{middle:.1f}", tools=f" ({names})" if names else "")
        )
    return [*lines, TRY]


def _tools_line(size_mm: float) -> str:
    """The nearest tool of each kind with its own size."""
    tools = tools_near(size_mm)
    if not tools:
        return NO_TOOL.format(size=f"{size_mm:g}")
    return TOOLS.format(size=f"{size_mm:g}", tools=", ".join(f"{t.name} ({t.size_mm:g} mm)" for t in tools))
