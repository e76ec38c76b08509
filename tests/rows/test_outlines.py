"""How far places are from traced petals."""

from types import SimpleNamespace

import numpy as np

from aligncheck.rows.outlines import to_outlines_mm


def test_distance_to_the_nearest_side_between_its_points() -> None:
    """A corner, a place beside a long side, and one beyond its end."""
    petal = SimpleNamespace(outline_mm=np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 4.0]]))
    rows = SimpleNamespace(petals=(petal,))
    points = np.array([[5.0, 2.0], [-3.0, 4.0], [11.5, 1.0], [10.0, 4.0]])
    np.testing.assert_allclose(to_outlines_mm(rows, points), [2.0, 5.0, 1.5, 0.0])  # type: ignore[arg-type]
