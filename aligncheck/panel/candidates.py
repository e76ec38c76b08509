"""Outlines refined at full size, with their evidence: made by the plain search, the nested one, or the drawing."""

from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from aligncheck.lens import Lens
from aligncheck.panel.cell import is_cell
from aligncheck.panel.drawing import leads, led_outlines
from aligncheck.panel.drawing_sign import drawing_sign
from aligncheck.panel.evidence import Evidence, evidence_of, with_drawn_sides
from aligncheck.panel.nested import Nested, nested_outlines
from aligncheck.panel.outlines import Outline
from aligncheck.panel.panel import Panel
from aligncheck.panel.sides import SideFit, fit_sides
from aligncheck.panel.small import SmallView
from aligncheck.panel.wheel import Wheel
from aligncheck.photo import Photo

Floats = NDArray[np.float64]
Route = Literal["plain", "nested", "drawing"]

#: The drawing's outline is rough: the search inside starts from it this much larger.
WIDENED = 1.06
#: Without given sides, four tracks that score this are looked at.
LED_LEAST = 5.5
#: How many led outlines are widened and searched; of their finds so many are refined, if their score is so near.
LED, LED_FINDS, LED_WITHIN = 3, 6, 1.6
#: A rough outline's middle may lie this far off the drawing's centre.
LED_OFF_MM = 6.0
#: How many outlines inside another one are refined.
NESTED_FINDS = 3
#: Fast look for nested outlines in a plain case, and the score from which the full one follows. In the small view it
#: would cost half, but see sides of small panels too coarsely.
QUICK_PX, QUICK_LEAST = 650, 4.2


class Search(NamedTuple):
    """One search: the photo, its small view, the size as it stands, and what is known of lens and depth."""

    photo: Photo
    view: SmallView
    width_mm: float
    height_mm: float
    lens: Lens | None = None
    depth_mm: float | None = None

    @property
    def unit(self) -> float:
        """Pixels of the photo in which the side fit's distances count: more than one where it is larger than usual."""
        return max(1.0, max(self.photo.width_px, self.photo.height_px) / 4032)


class Candidate(NamedTuple):
    """A refined outline: its fit, its evidence summed up, and by which route it came."""

    evidence: Evidence
    trust: float
    route: Route
    size_mm: tuple[float, float]

    @property
    def fit(self) -> SideFit:
        """The fitted sides."""
        return self.evidence.fit

    @property
    def corners_px(self) -> Floats:
        """Corners (4, 2) in photo pixels."""
        return self.evidence.fit.corners_px


def refine(search: Search, corners_px: Floats, score: float, route: Route) -> Candidate | None:
    """Fit the sides at full size and measure the evidence; None where they run away, or go on beyond the corners."""
    try:
        # Where the lens is open the fit of a wrong outline may run away: that is seen next.
        with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
            fit = fit_sides(
                search.photo,
                corners_px,
                search.width_mm,
                search.height_mm,
                search.lens,
                search.depth_mm,
                tight=route != "plain",
            )
    except np.linalg.LinAlgError:
        return None
    limit = np.array([search.photo.width_px, search.photo.height_px]) - 1.0
    if not np.isfinite(fit.corners_px).all() or (fit.corners_px < 0).any() or (fit.corners_px > limit).any():
        return None
    if is_cell(search.view, fit.corners_px):
        return None
    evidence = evidence_of(search.photo, search.view, fit, search.width_mm, search.height_mm, score)
    trust = evidence.total(max(search.photo.width_px, search.photo.height_px))
    candidate = Candidate(evidence, trust, route, (search.width_mm, search.height_mm))
    return tested_for_lines(search, candidate) if route != "plain" and candidate.trust > 0 else candidate


def tested_for_lines(search: Search, candidate: Candidate) -> Candidate:
    """The candidate with its sides tested for being drawn lines; costs too much for plain cases."""
    evidence = with_drawn_sides(candidate.evidence, search.photo, search.width_mm, search.height_mm)
    trust = evidence.total(max(search.photo.width_px, search.photo.height_px))
    return candidate._replace(evidence=evidence, trust=trust)


def refine_outline(search: Search, outline: Outline) -> Candidate | None:
    """The plain route."""
    return refine(search, search.view.to_photo(outline.corners), outline.score, "plain")


def looks_nested(search: Search, candidate: Candidate) -> bool:
    """Whether a fast look finds a hint of another outline inside."""
    quick = nested_outlines(
        search.photo.rgb,
        candidate.fit.panel(search.width_mm, search.height_mm),
        depth=0.1,
        turn_deg=2.8,
        turn_step_deg=0.4,
        most_px=QUICK_PX,
        trimmed=0,
        least=QUICK_LEAST,
    )
    return bool(quick)


def nested_in(search: Search, candidate: Candidate) -> list[Candidate]:
    """Outlines inside a candidate's, refined, most trusted first."""
    panel = candidate.fit.panel(search.width_mm, search.height_mm)
    return _refined_finds(search, nested_outlines(search.photo.rgb, panel), "nested", 1.2, NESTED_FINDS)


def led_by_drawing(search: Search, wheels: list[Wheel]) -> list[Candidate]:
    """Outlines about the drawing, refined, most trusted first."""
    if not wheels or not leads(wheels[0]):
        return []
    view, photo = search.view, search.photo
    lens = search.lens or Lens(view.focal_px * view.reduction, (photo.width_px - 1) / 2, (photo.height_px - 1) / 2)
    finds: list[Nested] = []
    for outline in led_outlines(view, wheels[0], search.width_mm, search.height_mm)[:LED]:
        rough = view.to_photo(outline.corners)
        middle = rough.mean(0)
        panel = Panel.from_corners(search.width_mm, search.height_mm, lens, middle + WIDENED * (rough - middle))
        finds += nested_outlines(photo.rgb, panel, given=False, lines_out=False, least=LED_LEAST)
    finds = [f for f in finds if _about_drawing(search, f, lens)]
    return _refined_finds(search, _unlike(finds, 3 * view.reduction), "drawing", LED_WITHIN, LED_FINDS)


def _about_drawing(search: Search, find: Nested, lens: Lens) -> bool:
    """Whether the drawing lies about the middle of an outline, before its sides are refined."""
    panel = Panel.from_corners(search.width_mm, search.height_mm, lens, find.corners_px)
    sign = drawing_sign(search.view, panel)
    return sign.pattern > 0.5 and sign.off_mm < LED_OFF_MM


def _unlike(finds: list[Nested], apart_px: float) -> list[Nested]:
    """Finds by falling score, of nearly equal ones the first."""
    kept: list[Nested] = []
    for find in sorted(finds, key=lambda f: -f.score):
        if all(np.abs(find.corners_px - other.corners_px).max() > apart_px for other in kept):
            kept.append(find)
    return kept


def _refined_finds(search: Search, finds: list[Nested], route: Route, within: float, most: int) -> list[Candidate]:
    """The best finds, at most `most` and those whose score is `within` of the best, refined."""
    close = [f for f in finds[:most] if f.score > finds[0].score - within]
    # Four tracks of the rectified picture score about as four sides of the small view do.
    refined = [refine(search, f.corners_px, f.score, route) for f in close]
    return sorted((c for c in refined if c), key=lambda c: -c.trust)
