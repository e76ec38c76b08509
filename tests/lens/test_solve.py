"""The lens from corners alone: claimed uncertainty against real scatter, model choice, straight sides."""

import numpy as np
import pytest

from aligncheck.lens.compare import FULL, PRIOR_K1, PRIOR_K2, compare_models
from aligncheck.lens.corners import Corners
from aligncheck.lens.curl import uncurl
from aligncheck.lens.effect import corner_effect
from aligncheck.lens.solve import solve
from aligncheck.lens.straight import join
from tests.closeness import least_held
from tests.render import Camera, stand

SIZE = (4032, 3024)
SHEET_MM = (297.0, 210.0)
LENS = {"k1": 0.04, "k2": -0.02, "principal_px": (14.0, -9.0)}
NOISE_PX = 0.08


def cameras(number: int = 6, tilt_deg: float = 25.0, **lens: object) -> list[Camera]:
    """The phone around the sheet."""
    return [
        stand(
            SIZE, SHEET_MM, tilt_deg=tilt_deg, azimuth_deg=360.0 * k / number, roll_deg=(k * 29) % 80 - 40, fill=0.8,
            **{**LENS, **lens},
        )
        for k in range(number)
    ]  # fmt: skip


def corners(camera: Camera, rng: np.random.Generator, rise_mm: float = 0.0, power: int = 2) -> Corners:
    """A board of 10 x 7 squares of 20 mm in the middle of a sheet whose ends rise by `rise_mm`."""
    points = np.stack(np.meshgrid(np.arange(1, 10), np.arange(1, 7)), -1).reshape(-1, 2).astype(float)
    mm = (points - (5, 3.5)) * 20.0
    solid = np.column_stack([mm, rise_mm * np.abs(mm[:, 0] / 80.0) ** power])
    return Corners(points, camera.project(solid) + rng.normal(0, NOISE_PX, (len(points), 2)))


def sides(camera: Camera, rng: np.random.Generator, bow_mm: float = 0.0) -> list[np.ndarray]:
    """The sheet's four sides as seen, each bowed at will."""
    w, h = SHEET_MM[0] / 2, SHEET_MM[1] / 2
    t = np.linspace(-1, 1, 60)
    found = []
    for a, b in (((-w, -h), (w, -h)), ((w, -h), (w, h)), ((w, h), (-w, h)), ((-w, h), (-w, -h))):
        along = np.subtract(b, a) / np.linalg.norm(np.subtract(b, a))
        line = (np.add(a, b) + np.outer(t, np.subtract(b, a))) / 2
        line = line + np.outer(rng.normal(0, 1) * bow_mm * (1.5 * t**2 - 0.5), (-along[1], along[0]))
        found.append(camera.project_plane(line) + rng.normal(0, 0.05, (60, 2)))
    return found


def truth(camera: Camera) -> np.ndarray:
    return np.array([camera.f_px, camera.cx, camera.cy, camera.k1, camera.k2])


def test_claimed_uncertainty_is_the_real_scatter() -> None:
    """Over 60 calibrations each of the five numbers lies in its interval as often as a 95 % interval does."""
    rng = np.random.default_rng(3)
    views = cameras()
    held = np.zeros(5, int)
    z = []
    for _ in range(60):
        found = solve([corners(c, rng) for c in views], SIZE, FULL, 3000.0)
        sd = np.sqrt(np.diag(np.linalg.inv(found.information)))
        z.append((found.unstretched[:5] - truth(views[0])) / sd)
        held += np.abs(z[-1]) < 1.96
    assert (held >= least_held(60)).all()
    # And is not claimed much too wide: the scatter is that of a normal law with variance one.
    assert np.std(z) > 0.75


def test_a_distorted_print_is_part_of_the_uncertainty() -> None:
    """Sheets stretched one way by 0.1 % shift the lens within what it claims."""
    rng = np.random.default_rng(4)
    views = cameras()
    z = []
    for _ in range(30):
        stretch = (1.0, 1.0 + rng.normal(0, 0.001))
        seen = [corners(c, rng) for c in views]
        found = solve([Corners(s.points * stretch, s.pixels) for s in seen], SIZE, FULL, 3000.0)
        sd = np.sqrt(np.diag(np.linalg.inv(found.information)))
        z.append((found.unstretched[:5] - truth(views[0])) / sd)
    assert np.sqrt(np.mean(np.square(z), axis=0)).max() < 1.5


def test_a_square_board_may_lie_either_way() -> None:
    """As high as wide, it tells no view which way it was printed: the stretch is then each view's own."""
    rng = np.random.default_rng(13)
    views = cameras(tilt_deg=35.0)
    z = []
    for _ in range(20):
        sheet = np.array([1.0, 1.0 + rng.normal(0, 0.001)])
        seen = []
        for c in views:
            points = np.stack(np.meshgrid(np.arange(1, 7), np.arange(1, 7)), -1).reshape(-1, 2).astype(float)
            # The finder starts at any of the corners: seen so, the sheet's stretch runs across or down.
            mm = (points - 3.5) * 25.0 * (sheet if rng.random() < 0.5 else sheet[::-1])
            pixels = c.project_plane(mm) + rng.normal(0, NOISE_PX / 4, points.shape)
            seen.append(Corners(points, pixels, square=True))
        found = solve(seen, SIZE, FULL, 3000.0)
        z.append((found.unstretched[:5] - truth(views[0])) / np.sqrt(np.diag(np.linalg.inv(found.information))))
    assert np.sqrt(np.mean(np.square(z), axis=0)).max() < 1.6


def test_a_blurred_view_counts_less() -> None:
    """One of six views ten times as rough: the lens is nearly as sure as without it, and right."""
    rng = np.random.default_rng(14)
    views = cameras()
    z, wider = [], []
    for _ in range(20):
        seen = [corners(c, rng) for c in views]
        rough = seen[2].pixels + rng.normal(0, 10 * NOISE_PX, seen[2].pixels.shape)
        five = solve(seen[:2] + seen[3:], SIZE, FULL, 3000.0)
        six = solve([*seen[:2], Corners(seen[2].points, rough), *seen[3:]], SIZE, FULL, 3000.0)
        without, sd = (np.sqrt(np.diag(np.linalg.inv(f.information))) for f in (five, six))
        wider.append(sd / without)
        z.append((six.unstretched[:5] - truth(views[0])) / sd)
    assert np.sqrt(np.mean(np.square(z), axis=0)).max() < 1.5
    # All views alike would make it some four times less sure.
    assert np.median(wider) < 2


def test_a_bend_too_small_to_be_chosen_is_not_lost() -> None:
    """A k2 that the boards hardly show: the bend at the corner is right within its interval, which the boards set."""
    rng = np.random.default_rng(11)
    views = cameras(k1=0.02, k2=0.008, principal_px=(0.0, 0.0))
    z, halves = [], []
    for _ in range(12):
        lines = [s for c in views for s in sides(c, rng, bow_mm=0.01)]
        lens = compare_models([corners(c, rng) for c in views], lines, SIZE, 3000.0).lens
        effect = corner_effect(lens.values, lens.covariance, SIZE)
        halves.append(effect.bend_u95_px)
        z.append((effect.bend_px - corner_bend(truth(views[0]))) / (effect.bend_u95_px / 1.96))
    assert np.sqrt(np.mean(np.square(z))) < 1.5
    # What lenses in general do would leave a hundred pixels open.
    assert np.median(halves) < 3


@pytest.mark.parametrize(("rise_mm", "power"), [(0.0, 2), (2.0, 2), (2.0, 4)])
def test_a_sheet_that_curls(rise_mm: float, power: int) -> None:
    """Sheets that rise by 2 mm to their ends, a little otherwise in each photo: told apart from the lens, honestly."""
    rng = np.random.default_rng(12)
    views = cameras()
    z, z_flat, found, halves = [], [], [], []
    for _ in range(10):
        seen = [corners(c, rng, rise_mm * rng.uniform(0.7, 1.3), power) for c in views]
        flat = solve(seen, SIZE, FULL, 3000.0)
        curled = uncurl(seen, flat)
        lens = solve(uncurl(curled, solve(curled, SIZE, FULL, 3000.0)), SIZE, FULL, 3000.0)
        sd = np.sqrt(np.diag(np.linalg.inv(lens.information)))
        halves.append(1.96 * sd[0] / lens.values[0])
        z.append((lens.unstretched[:5] - truth(views[0])) / sd)
        z_flat.append((flat.unstretched[:5] - truth(views[0])) / np.sqrt(np.diag(np.linalg.inv(flat.information))))
        found.append(float(np.median([c.rise for c in curled])) * 8 * 20.0)
    assert np.sqrt(np.mean(np.square(z), axis=0)).max() < 1.5
    assert np.median(halves) < 0.003
    # A plane through the sheet belongs to its place, so that what is left of the rise is a part of it.
    assert all(0.4 * rise_mm <= f <= 1.2 * rise_mm + 0.05 for f in found)
    # Taken as flat, its bend would be wrong by several times its claim.
    assert (np.sqrt(np.mean(np.square(z_flat), axis=0)).max() > 4) == (rise_mm > 0)


@pytest.mark.parametrize(
    ("lens", "terms"),
    [
        ({"k1": 0.0, "k2": 0.0, "principal_px": (0.0, 0.0)}, ("focal",)),
        ({"k1": 0.06, "k2": 0.0, "principal_px": (0.0, 0.0)}, ("focal", "k1")),
        ({"k1": 0.06, "k2": -0.2, "principal_px": (14.0, -9.0)}, FULL),
    ],
)
def test_no_more_terms_than_the_photos_support(lens: dict[str, object], terms: tuple[str, ...]) -> None:
    """A lens without bend gets no bend terms, a centred one no centre, a full one all of them."""
    rng = np.random.default_rng(5)
    views = cameras(**lens)
    chosen = compare_models([corners(c, rng) for c in views], [], SIZE, 3000.0)
    assert chosen.best.terms == terms
    assert chosen.left_out_px == 0.0
    # What the model leaves out is still not claimed to be known, and known better than before.
    sd = np.sqrt(np.diag(chosen.lens.covariance))
    assert (sd > 0).all() and (sd[3:] < (PRIOR_K1, PRIOR_K2)).all()
    assert (np.abs(chosen.lens.values - truth(views[0])) < 3 * sd).all()


def test_straight_sides_tell_the_bend_where_no_corner_is() -> None:
    """With the sheet's sides the bend at the picture's corner is known several times better, and honestly."""
    rng = np.random.default_rng(6)
    views = cameras()
    true = corner_bend(truth(views[0]))
    ratios, z = [], []
    for _ in range(8):
        seen = [corners(c, rng) for c in views]
        lines = [s for c in views for s in sides(c, rng, bow_mm=0.01)]
        boards = solve(seen, SIZE, FULL, 3000.0)
        joined = join(boards.values[:5], range(5), boards.information, lines)
        alone = corner_effect(boards.values[:5], np.linalg.inv(boards.information), SIZE).bend_u95_px
        both = corner_effect(joined.values, joined.covariance, SIZE).bend_u95_px
        ratios.append(alone / both)
        z.append((corner_bend(joined.values) - true) / (both / 1.96))
    assert np.median(ratios) > 3
    assert np.sqrt(np.mean(np.square(z))) < 1.6


def test_curled_sheets_do_no_harm() -> None:
    """Sides that bow by half a millimetre count for little by themselves: the answer stays within its interval."""
    rng = np.random.default_rng(7)
    views = cameras()
    z = []
    for _ in range(8):
        boards = solve([corners(c, rng) for c in views], SIZE, FULL, 3000.0)
        lines = [s for c in views for s in sides(c, rng, bow_mm=0.5)]
        joined = join(boards.values[:5], range(5), boards.information, lines)
        assert joined.bow_px is not None and joined.bow_px > 1.0
        z.append((joined.values - truth(views[0])) / np.sqrt(np.diag(joined.covariance)))
    assert np.sqrt(np.mean(np.square(z))) < 1.6


def test_a_shadow_taken_for_a_side_does_little_harm() -> None:
    """Two of the 24 sides are crooked shadows, bowed by ten pixels: the bend is as right and as sure as without."""
    rng = np.random.default_rng(8)
    views = cameras()
    true = corner_bend(truth(views[0]))
    z = []
    for _ in range(6):
        boards = solve([corners(c, rng) for c in views], SIZE, FULL, 3000.0)
        lines = [s for c in views for s in sides(c, rng, bow_mm=0.01)]
        clean = join(boards.values[:5], range(5), boards.information, lines)
        for k in (3, 12):
            lines[k] = lines[k] + np.outer(10 * np.linspace(-1, 1, 60) ** 2, (0.7, 0.7))
        joined = join(boards.values[:5], range(5), boards.information, lines)
        both = corner_effect(joined.values, joined.covariance, SIZE).bend_u95_px
        z.append((corner_bend(joined.values) - true) / (both / 1.96))
        assert both < 1.3 * corner_effect(clean.values, clean.covariance, SIZE).bend_u95_px
    assert np.sqrt(np.mean(np.square(z))) < 2.0


def corner_bend(values: np.ndarray) -> float:
    return corner_effect(values, np.zeros((5, 5)), SIZE).bend_px
