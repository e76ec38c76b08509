"""Usual tools and the dots they make, as suggestions: paint, pressure and panel decide, so try one beside the work."""

from dataclasses import dataclass

#: Crochet hooks by the diameter of their shaft, mm: Craft Yarn Council, Standards & Guidelines (2018), hook sizes.
#: The Council itself says: letters differ between makers, go by the millimetres.
HOOKS: tuple[tuple[float, str], ...] = (
    (2.25, "B-1"), (2.75, "C-2"), (3.25, "D-3"), (3.5, "E-4"), (3.75, "F-5"), (4.0, "G-6"), (4.5, "7"), (5.0, "H-8"),
    (5.5, "I-9"), (6.0, "J-10"), (6.5, "K-10 1/2"), (8.0, "L-11"), (9.0, "M/N-13"), (10.0, "N/P-15"),
)  # fmt: skip
#: Ball ends of dotting tools and flat ends of rods, mm: common practice, no published standard.
BALLS_MM: tuple[float, ...] = (0.5, 0.8, 1.0, 1.2, 1.5, 1.8, 2.0, 2.5, 3.0)
RODS_MM: tuple[float, ...] = (3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0)

#: How far a tool may be from the size asked for, as a share of it: a dot a tenth larger is seen at once.
NEAR = 0.1


@dataclass(frozen=True)
class Tool:
    """A tool by name, and its end in mm."""

    name: str
    size_mm: float


ALL: tuple[Tool, ...] = (
    *(Tool(f"crochet hook {letter}", size) for size, letter in HOOKS),
    *(Tool("ball end", size) for size in BALLS_MM),
    *(Tool("rod", size) for size in RODS_MM),
)


def tools_near(size_mm: float) -> tuple[Tool, ...]:
    """The tool of each kind whose end comes nearest to `size_mm`, within a tenth of it; nearest first."""
    nearest: dict[str, Tool] = {}
    for tool in ALL:
        kind = tool.name.split()[0]
        if abs(tool.size_mm - size_mm) <= NEAR * size_mm + 1e-9 and (
            kind not in nearest or abs(tool.size_mm - size_mm) < abs(nearest[kind].size_mm - size_mm)
        ):
            nearest[kind] = tool
    return tuple(sorted(nearest.values(), key=lambda tool: abs(tool.size_mm - size_mm)))
