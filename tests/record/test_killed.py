"""Killed at any moment, nothing that was reported stored is lost and no half entry is seen."""

import os
from pathlib import Path

import pytest

from tests.record.killing import kill_adds


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork and signal 9")
@pytest.mark.filterwarnings("ignore:.*multi-threaded.*fork:DeprecationWarning")
def test_adds_killed_at_random_moments_lose_nothing(tmp_path: Path) -> None:
    tally = kill_adds(tmp_path / "piece", kills=25, seed=1)
    assert tally.kills == 25
    assert tally.reported > 0, "the test kills too early to see anything stored"
