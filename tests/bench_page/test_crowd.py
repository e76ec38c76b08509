"""The short versions of the long runs in tests/bench: a small class, and some hundred malformed requests."""

from pathlib import Path

import pytest

from tests.bench.bench_crowd import crowd
from tests.bench.bench_fuzz import pelt
from tests.bench_page.running import running


def test_small_class(tmp_path: Path) -> None:
    """Each of six phones gets its own answer, none is lost."""
    with running(tmp_path, workers=2) as bench:
        came = crowd(bench, 6, 1600)
        assert (came.lost, came.mixed_up) == (0, 0)
        assert 0 < came.most_bytes < 2e9


@pytest.mark.parametrize("lan", [False, True])
def test_malformed_requests(tmp_path: Path, lan: bool) -> None:
    """No 5xx, nothing of this computer in an answer, and the page still serves whoever may come in."""
    with running(tmp_path, lan=lan) as bench:
        statuses = pelt(bench, 150)
    assert statuses["none"] < 40
    assert statuses["403" if lan else "404"] > 10
