"""The sRGB curve at points that IEC 61966-2-1 gives, and there and back."""

import numpy as np
import pytest

from aligncheck.geometry.srgb import LUMINANCE, coded, linear


@pytest.mark.parametrize(("code", "light"), [(0.0, 0.0), (0.04045, 0.04045 / 12.92), (0.5, 0.2140411), (1.0, 1.0)])
def test_known_points(code: float, light: float) -> None:
    """Half a code is a fifth of the light; the middle value is from memory, the others are the standard's ends."""
    assert linear(np.array([code]))[0] == pytest.approx(light, abs=1e-6)


def test_there_and_back() -> None:
    codes = np.arange(256) / 255
    np.testing.assert_allclose(coded(linear(codes)), codes, atol=1e-6)
    assert coded(linear(codes.astype(np.float32))).dtype == np.float32


def test_white_has_luminance_one() -> None:
    assert LUMINANCE.sum() == pytest.approx(1.0, abs=1e-12)
