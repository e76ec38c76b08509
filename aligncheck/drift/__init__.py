"""Marks against the layout: differences with their 95 % uncertainty, verdicts, and the moves that mend them."""

from aligncheck.drift.compare import measure_drift
from aligncheck.drift.drift import Drift, RingDrift, SpokeDrift, StrokeFigures, Verdict

__all__ = ["Drift", "RingDrift", "SpokeDrift", "StrokeFigures", "Verdict", "measure_drift"]
