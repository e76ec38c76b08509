"""Progress: shown where someone looks and there is something to wait for, and wiped before anything else."""

import io
import sys

import pytest

from aligncheck.cli.progress import Progress


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def shown(total: int, stream: io.StringIO, monkeypatch: pytest.MonkeyPatch) -> str:
    monkeypatch.setattr(sys, "stderr", stream)
    with Progress(total) as progress:
        for _ in range(total):
            progress.clear()
            stream.write("a line\n")
            progress.step()
    return stream.getvalue()


def test_many_photos_are_counted_and_the_line_is_wiped(monkeypatch: pytest.MonkeyPatch) -> None:
    text = shown(12, Terminal(), monkeypatch)
    assert text.startswith("\r0 of 12 photos\r\x1b[K")
    assert "11 of 12 photos\r\x1b[Ka line\n" in text
    assert text.endswith("12 of 12 photos\r\x1b[K")


def test_nothing_is_shown_for_a_few_or_where_nobody_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    assert shown(2, Terminal(), monkeypatch) == "a line\n" * 2
    assert shown(12, io.StringIO(), monkeypatch) == "a line\n" * 12
