"""Outlines refined at full size, with their evidence: made by the plain search, the nested one, or the drawing."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from aligncheck.lens import Lens
from aligncheck.panel.drawing import leads, led_outlines
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
#: How many led outlines are widened and searched, and how many of their finds are refined.
LED, LED_FINDS = 3, 4
#: Fast look for nested outlines in a plain case, and the score from which the full one follows.
QUICK_PX, QUICK_LEAST = 432, 3.6


@dataclass(frozen=True)
class Search:
    """One search: the photo, its small view, the size as it stands, and what is known of lens and depth."""

    photo: Photo
    view: SmallView
    width_mm: float
    height_mm: float
    lens: Lens | None = None
    depth_mm: float | None = None


@dataclass(frozen=True)
class Candidate:
    """A refined outline: its fit, its evidence summed up, and by which route it came."""

    evidence: Evidence
    trust: float
    route: Route

    @property
    def fit(self) -> SideFit:
        """The fitted sides."""
        return self.evidence.fit

    @property
    def corners_px(self) -> Floats:
        """Corners (4, 2) in photo pixels."""
        return self.evidence.fit.corners_px


def refine(search: Search, corners_px: Floats, score: float, route: Route) -> Candidate | None:
    """Fit the sides at full size and measure the evidence; None where the sides run away."""
    fit = fit_sides(
        search.photo,
        corners_px,
        search.width_mm,
        search.height_mm,
        search.lens,
        search.depth_mm,
        tight=route != "plain",
    )
    limit = np.array([search.photo.width_px, search.photo.height_px]) - 1.0
    if not np.isfinite(fit.corners_px).all() or (fit.corners_px < 0).any() or (fit.corners_px > limit).any():
        return None
    evidence = evidence_of(search.photo, search.view, fit, search.width_mm, search.height_mm, score)
    candidate = Candidate(evidence, evidence.total(max(search.photo.width_px, search.photo.height_px)), route)
    return tested_for_lines(search, candidate) if route != "plain" and candidate.trust > 0 else candidate


def tested_for_lines(search: Search, candidate: Candidate) -> Candidate:
    """The candidate with its sides tested for being drawn lines; costs too much for plain cases."""
    evidence = with_drawn_sides(candidate.evidence, search.photo, search.width_mm, search.height_mm)
    return Candidate(evidence, evidence.total(max(search.photo.width_px, search.photo.height_px)), candidate.route)


def refine_outline(search: Search, outline: Outline) -> Candidate | None:
    """The plain route."""
    return refine(search, search.view.to_photo(outline.corners), outline.score, "plain")


def looks_nested(search: Search, candidate: Candidate) -> bool:
    """Whether a fast look finds a hint of another outline inside."""
    panel = candidate.fit.panel(search.width_mm, search.height_mm)
    quick = nested_outlines(
        search.photo.rgb,
        panel,
        depth=0.1,
        turn_deg=2.8,
        turn_step_deg=0.4,
        most_px=QUICK_PX,
        least=QUICK_LEAST,
    )
    return bool(quick)


def nested_in(search: Search, candidate: Candidate) -> list[Candidate]:
    """Outlines inside a candidate's, refined, most trusted first."""
    panel = candidate.fit.panel(search.width_mm, search.height_mm)
    return _refined_finds(search, nested_outlines(search.photo.rgb, panel), "nested", 1.2)


def led_by_drawing(search: Search, wheels: list[Wheel]) -> list[Candidate]:
    """Outlines about the drawing, refined, most trusted first."""
    if not wheels or not leads(wheels[0]):
        return []
    view, photo = search.view, search.photo
    lens = search.lens or Lens(view.focal_px * view.reduction, (photo.width_px - 1) / 2, (photo.height_px - 1) / 2)
    found: list[Candidate] = []
    for outline in led_outlines(view, wheels[0], search.width_mm, search.height_mm)[:LED]:
        rough = view.to_photo(outline.corners)
        middle = rough.mean(0)
        panel = Panel.from_corners(search.width_mm, search.height_mm, lens, middle + WIDENED * (rough - middle))
        tracks = nested_outlines(photo.rgb, panel, given=False, lines_out=False, least=LED_LEAST)
        found += _refined_finds(search, tracks, "drawing", 1.5)
    return sorted(found, key=lambda c: -c.trust)


def _refined_finds(search: Search, finds: list[Nested], route: Route, within: float) -> list[Candidate]:
    """The best finds, and those whose score is `within` of it, refined."""
    close = [f for f in finds[:LED_FINDS] if f.score > finds[0].score - within]
    refined = []
    for find in close:
        # Four tracks of the rectified picture score about as four sides of the small view do.
        candidate = refine(search, find.corners_px, find.score, route)
        if candidate:
            refined.append(candidate)
    return sorted(refined, key=lambda c: -c.trust)
