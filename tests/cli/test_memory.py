"""How the process keeps its memory: where the C library cannot be told, nothing happens."""

import ctypes
from types import SimpleNamespace

import pytest

from aligncheck.cli.memory import (
    KEPT,
    LARGE,
    M_ARENA_MAX,
    M_MMAP_THRESHOLD,
    M_TRIM_THRESHOLD,
    STORES,
    reuse_freed_memory,
)


def test_every_limit_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    told = {}
    library = SimpleNamespace(mallopt=lambda name, value: told.update({name: value}))
    monkeypatch.setattr(ctypes, "CDLL", lambda _: library)
    reuse_freed_memory()
    assert told == {M_MMAP_THRESHOLD: LARGE, M_TRIM_THRESHOLD: KEPT, M_ARENA_MAX: STORES}


@pytest.mark.parametrize("trouble", [OSError, AttributeError, TypeError])
def test_another_c_library_is_left_alone(monkeypatch: pytest.MonkeyPatch, trouble: type[Exception]) -> None:
    def none_such(_: None) -> None:
        raise trouble

    monkeypatch.setattr(ctypes, "CDLL", none_such)
    reuse_freed_memory()
