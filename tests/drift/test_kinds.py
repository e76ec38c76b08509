"""How sure a figure is depends on what kind of panel it is: boards are cut true, canvases are off by tenths."""

from dataclasses import replace

import numpy as np
import pytest

from aligncheck.drift import measure_drift
from aligncheck.drift.sources import Number, gather
from aligncheck.panel import find_panel
from aligncheck.panel.kind import makes_of
from aligncheck.panel.square import out_of_square
from aligncheck.photo import Photo
from tests.together.hands import SIZE_MM, drawn, exact_panel


@pytest.mark.parametrize("depth", [3.0, 38.0, None])
def test_shares_are_of_a_whole(depth: float | None) -> None:
    """All makes together are all panels, and so are the kinds where no side told."""
    assert sum(make.share for make in makes_of(depth)) == pytest.approx(1.0)
    assert sum(kind.share for kind in replace(exact_panel(), depth_mm=depth).possible_kinds) == pytest.approx(1.0)


def test_canvases_are_less_sure_than_boards() -> None:
    """Told that it is a canvas, directions are less sure than told that it is a board; told nothing lies between."""
    marks = drawn(2)
    sure = replace(marks.panel, covariance=1e-4 * np.eye(10))
    claims = []
    for depth in (3.0, None, 38.0):
        drift = measure_drift(replace(marks, panel=replace(sure, depth_mm=depth)))
        claims.append(float(np.median([s.angle_u95_deg for s in drift.spokes])))
    assert claims[0] * 1.1 < claims[1] < claims[2] / 1.1


@pytest.mark.parametrize("depth", [3.0, 38.0, None])
def test_intervals_hold_for_the_kind_that_they_are_for(depth: float | None) -> None:
    """Panels drawn from a kind's own shares: its interval of a corner's distance from a neighbour holds 95 %."""
    panel = replace(exact_panel(), depth_mm=depth)
    rng = np.random.default_rng(5)
    along = np.array([0, -1, 0, 0, 0, 1, 0, 0.0])
    kinds = panel.possible_kinds
    spreads = [out_of_square(*SIZE_MM, kind.out_of_square_mm) for kind in kinds]
    sources = gather(replace(panel, covariance=1e-6 * np.eye(10)), [])
    u95 = sources.u95(Number(0.0, np.concatenate([along, np.zeros(len(sources.covariances[0]) - 8)])))
    which = rng.choice(len(spreads), size=4000, p=[kind.share for kind in kinds])
    draws = [rng.multivariate_normal(np.zeros(8), s, 4000, method="eigh") @ along for s in spreads]
    values = np.choose(which, draws)
    assert (np.abs(values) <= u95).mean() == pytest.approx(0.95, abs=0.012)


def test_the_given_thickness_stays_with_the_panel() -> None:
    """What the painter said of the thickness reaches the figures."""
    blank = Photo(np.full((900, 1200, 3), 90, np.uint8))
    corners = [(300, 150), (900, 150), (900, 750), (300, 750)]
    found = find_panel(blank, 300, 300, corners_px=corners, exact_corners=True, depth_mm=38.0)
    assert found.depth_mm == 38.0
    assert [kind.out_of_square_mm for kind in found.possible_kinds] == [makes_of(38.0)[0].out_of_square_mm]
