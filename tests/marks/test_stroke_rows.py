import numpy as np
import pytest

from aligncheck.marks.kernel import learn_kernels
from aligncheck.marks.profile import Profile, profile_of
from aligncheck.marks.rows import centroids, row_offsets_mm


@pytest.mark.parametrize(("width", "blur"), [(1.0, 0.15), (0.6, 0.2), (2.2, 0.3)])
def test_profile_is_measured_back(width, blur):
    offsets = np.linspace(-3, 3, 241)
    found = profile_of(30 * Profile(width, blur).height(offsets), offsets)
    # Height and slope are means over a tenth of the width: a twentieth off where the blur is a third of the width.
    assert found.width_mm == pytest.approx(width, rel=0.05)
    assert found.blur_mm == pytest.approx(blur, rel=0.08)


@pytest.mark.parametrize("shift", [-0.3, 0.05, 0.2])
def test_centroid_moves_as_the_stroke_does(shift):
    profile = Profile(1.0, 0.15)
    offsets = row_offsets_mm(1.0, 0.14)
    rows = 80 + 3 * offsets + 100 * profile.height(offsets - shift)[None, None]
    read = centroids(rows, offsets, profile, 0.55)
    # The gain holds exactly for small shifts; paths are followed until these are small.
    assert read.offset_mm[0, 0] == pytest.approx(shift, abs=0.02 + 0.15 * shift**2)
    assert read.chalk[0, 0] / read.unit == pytest.approx(100, rel=0.15)


def grainy_rows(count: int, shifts: np.ndarray, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Rows of partial coverage: chalk dots inside a stroke's width, seen with some blur."""
    offsets = np.linspace(-2, 2, 41)
    fine = np.linspace(-2, 2, 401)
    drawn = (np.abs(fine - shifts[:, None]) < 0.5) & (rng.uniform(size=(count, 41)).repeat(10, 1)[:, :401] < 0.6)
    soft = np.exp(-0.5 * ((offsets[:, None] - fine) / 0.12) ** 2)
    rows = drawn @ (soft / soft.sum(1, keepdims=True)).T
    return rows + rng.normal(scale=0.02, size=rows.shape), offsets


def test_learned_kernel_beats_the_centroid_without_bias():
    rng = np.random.default_rng(5)
    rows, offsets = grainy_rows(3000, np.zeros(3000), rng)
    amplitude = rows[:, np.abs(offsets) < 0.5].mean(1) / 0.6
    kernels = learn_kernels(rows[:1500], amplitude[:1500], offsets, 1.0)
    places = kernels.offsets(rows[1500:], amplitude[1500:])
    read = centroids(rows[None, 1500:], offsets, Profile(1.0, 0.12), 0.55).offset_mm[0]
    assert places.std() < 0.9 * np.nanstd(read)
    assert abs(places.mean()) < 4 * places.std() / np.sqrt(1500)
    moved, _ = grainy_rows(3000, np.full(3000, 0.06), rng)
    assert kernels.offsets(moved, amplitude).mean() == pytest.approx(0.06, abs=0.012)


def test_too_few_rows_teach_no_kernel():
    assert learn_kernels(np.ones((20, 41)), np.ones(20), np.linspace(-2, 2, 41), 1.0) is None
