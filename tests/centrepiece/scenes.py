"""Rendered panels with a flower on them, their drift from truth: what the tests of reach and placement measure."""

from dataclasses import replace
from functools import cache

import numpy as np

from aligncheck.drift import Drift, measure_drift
from aligncheck.photo import Photo
from tests.render import Piece, Scene, by_hand, flower, ordinary_scene, photograph
from tests.render.rendered import Rendered
from tests.truth import true_marks

SIZE = (1600, 1200)


def scene(seed: int, **view: float) -> Scene:
    """A bench, seen with `view` where the seed's own view is not wanted."""
    one = ordinary_scene(seed, SIZE, most_tilt_deg=18.0)
    return one.seen(SIZE, **view) if view else one


@cache
def taken(seed: int, pieces: tuple[Piece, ...], view: tuple[tuple[str, float], ...] = ()) -> Rendered:
    """A hand-drawn layout of twelve spokes and eight rings with `pieces` on it."""
    drawing = replace(by_hand(3, segments=12, rings=8, pitch_mm=12.7), pieces=pieces)
    return photograph(drawing, scene(seed, **dict(view)), seed)


def photo_and_drift(rendered: Rendered) -> tuple[Photo, Drift]:
    """The picture, and the drift of the true marks through the true map."""
    return Photo(rendered.pixels), measure_drift(true_marks(rendered.truth))


def petals(centre=(1.5, -2.0), reach_mm=38.0, turn_deg=10.0, height_mm=3.0, colour="#f4f1ea", count=8) -> Piece:
    return replace(flower(centre, reach_mm, count, turn_deg, height_mm), colour=colour)


def reach_of(outline_mm, centre_mm) -> float:
    """Greatest distance of an outline from a point."""
    return float(np.hypot(*(np.asarray(outline_mm) - centre_mm).T).max())
