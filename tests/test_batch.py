"""Many photos on any executor: order, refusals, dead workers, clusters."""

import os
import signal
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from functools import partial
from multiprocessing import get_context
from pathlib import Path

import pytest

from aligncheck.batch import check_many, run_many
from aligncheck.errors import PhotoError


def size_of(path: Path) -> int:
    """The work of these tests: small, picklable, and it can refuse, fail or die."""
    if path.name == "refused":
        raise PhotoError("file_empty", file=path.name)
    if path.name == "failed":
        raise ZeroDivisionError("by zero")
    if path.name == "killed":
        os.kill(os.getpid(), signal.SIGKILL)
    return len(path.name)


def codes(outcomes: object) -> list[object]:
    return [o.value if o.error is None else o.error.code for o in outcomes]


def test_outcomes_come_in_the_order_of_the_photos_refusals_among_them() -> None:
    names = ["aaaa", "refused", "b", "failed", "cc"]
    expected = [4, "file_empty", 1, "unexpected", 2]
    assert codes(run_many(size_of, names)) == expected
    with ThreadPoolExecutor(3) as pool:
        assert codes(run_many(size_of, names, pool)) == expected
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        outcomes = list(run_many(size_of, names, pool))
    assert codes(outcomes) == expected
    # The sentence survives the way from one process to another.
    assert str(outcomes[1].error).startswith("refused is empty")
    assert "ZeroDivisionError: by zero" in str(outcomes[3].error)
    assert [o.photo.name for o in outcomes] == names


def test_a_worker_that_dies_is_told_and_the_rest_does_not_hang() -> None:
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        found = codes(run_many(size_of, ["a", "killed", "bb"], pool))
    assert found[0] in (1, "worker_died")
    assert found[1:] == ["worker_died", "worker_died"]


def test_whoever_stops_listening_stops_what_has_not_begun() -> None:
    import threading

    begun, go = [], threading.Event()

    def slow(path: Path) -> str:
        begun.append(path.name)
        if path.name != "0":
            go.wait(5)
        return path.name

    with ThreadPoolExecutor(1) as pool:
        outcomes = run_many(slow, [str(k) for k in range(50)], pool)
        assert next(outcomes).value == "0"
        outcomes.close()
        go.set()
    assert len(begun) <= 3


def test_check_many_tells_refusals_as_check_does(tmp_path: Path) -> None:
    (tmp_path / "empty.jpg").touch()
    found = list(check_many([tmp_path / "empty.jpg", tmp_path / "none.jpg"], "12x12in"))
    assert codes(found) == ["file_empty", "file_missing"]
    assert codes(check_many([tmp_path / "empty.jpg"], "12")) == ["bad_size"]


@pytest.mark.filterwarnings("ignore")
def test_a_clusters_executor_serves_as_well(tmp_path: Path) -> None:
    """Dask's local cluster, by its own concurrent.futures interface; needs the extra ``cluster``."""
    distributed = pytest.importorskip("distributed", reason="the extra 'cluster' (Dask) is not installed")
    (tmp_path / "empty.jpg").touch()
    with (
        distributed.LocalCluster(n_workers=1, threads_per_worker=1, dashboard_address=None, silence_logs=50) as cluster,
        distributed.Client(cluster) as client,
    ):
        executor = client.get_executor()
        assert codes(run_many(partial(len_of), ["aaa", "b"], executor)) == [3, 1]
        assert codes(check_many([tmp_path / "empty.jpg"], "12x12in", executor=executor)) == ["file_empty"]


def len_of(path: Path) -> int:
    return len(path.name)
