"""The side's curve: ends stay, slopes are those of the curve."""

import numpy as np

from aligncheck.rows.shapes import TERMS, bow_slopes, bow_terms, stations


def test_bows_vanish_at_both_ends() -> None:
    """A bow moves neither tip nor base."""
    assert np.allclose(bow_terms(np.array([0.0, 1.0])), 0)


def test_slopes_are_the_derivatives_of_the_terms() -> None:
    """Against central differences."""
    t = np.linspace(0.05, 0.95, 19)
    numeric = (bow_terms(t + 1e-6) - bow_terms(t - 1e-6)) / 2e-6
    assert bow_terms(t).shape == (19, TERMS)
    assert np.allclose(bow_slopes(t), numeric, atol=1e-4)


def test_stations_are_denser_at_the_tip() -> None:
    """Where a round end turns fast."""
    gaps = np.diff(stations(20))
    assert (np.diff(gaps) > 0).all()
