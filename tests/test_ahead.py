"""Work begun ahead: its outcome is waited for, whether that is a value or an error."""

from threading import Event, get_ident

import pytest

from aligncheck.side_by_side import Ahead


def test_the_value_is_waited_for() -> None:
    go = Event()

    def work() -> int:
        go.wait(10)
        return get_ident()

    ahead = Ahead(work)
    assert ahead.is_alive()
    go.set()
    assert ahead.outcome() not in (get_ident(), None)


def test_what_it_raises_is_raised_where_it_is_waited_for() -> None:
    def work() -> None:
        raise ValueError("no such photo")

    ahead = Ahead(work)
    with pytest.raises(ValueError, match="no such photo"):
        ahead.outcome()
