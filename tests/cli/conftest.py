"""A rendered photo that all tests of the command line share, and a way to run the command as a shell would."""

import contextlib
import io
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from aligncheck.cli import run
from tests.render import Drawing, Scene, by_hand, ordinary_scene, photograph


@dataclass(frozen=True)
class Ran:
    status: int
    out: str
    err: str


@pytest.fixture(scope="session")
def scene() -> Scene:
    return ordinary_scene(4, (1600, 1200), most_tilt_deg=12.0)


@pytest.fixture(scope="session")
def photo(tmp_path_factory: pytest.TempPathFactory, scene: Scene) -> Path:
    """A photo of eight spokes and four rings; its truth lies beside it."""
    drawing = by_hand(4, segments=8, rings=4, pitch_mm=25.4, ghosts=0)
    return photograph(drawing, scene, 4).save(tmp_path_factory.mktemp("photos") / "panel.jpg")


@pytest.fixture(scope="session")
def bare(tmp_path_factory: pytest.TempPathFactory, scene: Scene) -> Path:
    """The same panel with nothing drawn on it."""
    return photograph(Drawing(), scene, 4).save(tmp_path_factory.mktemp("photos") / "bare.jpg")


@pytest.fixture
def command() -> Callable[..., Ran]:
    """Run ``aligncheck`` with these words in this process."""

    def call(*words: object) -> Ran:
        out, err = io.StringIO(), io.StringIO()
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            status = run([str(w) for w in words])
        return Ran(status, out.getvalue(), err.getvalue())

    return call
