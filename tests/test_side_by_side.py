"""Work side by side gives what it gives one after the other, in the same order, and hands on what went wrong."""

from collections.abc import Iterator

import cv2
import pytest

from aligncheck.side_by_side import all_at_once, beside


@pytest.fixture(params=[1, 3])
def threads(request: pytest.FixtureRequest) -> Iterator[int]:
    before = cv2.getNumThreads()
    cv2.setNumThreads(request.param)
    yield request.param
    cv2.setNumThreads(before)


def broken(number: int) -> int:
    if number == 5:
        raise ValueError("five")
    return number


@pytest.mark.usefixtures("threads")
def test_all_at_once_keeps_the_order() -> None:
    assert all_at_once(lambda k: k * k, range(50)) == [k * k for k in range(50)]
    assert all_at_once(broken, []) == []
    with pytest.raises(ValueError, match="five"):
        all_at_once(broken, range(9))


@pytest.mark.usefixtures("threads")
def test_what_runs_beside_is_there_when_asked_for() -> None:
    made = beside(lambda: broken(4))
    failed = beside(lambda: broken(5))
    assert made() == 4
    with pytest.raises(ValueError, match="five"):
        failed()


def test_on_one_thread_nothing_runs_beside() -> None:
    before, done = cv2.getNumThreads(), []
    cv2.setNumThreads(1)
    later = beside(lambda: done.append(1))
    assert done == []
    later()
    cv2.setNumThreads(before)
    assert done == [1]
