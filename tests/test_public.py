"""The public names: all there, typed, and free to import."""

import ast
import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

import aligncheck


def python(code: str) -> str:
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.strip()


def test_every_public_name_is_there() -> None:
    assert sorted(aligncheck._HOME) == sorted(aligncheck.__all__)
    for name in aligncheck.__all__:
        assert getattr(aligncheck, name).__doc__, name
    assert callable(aligncheck.check)
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        _ = aligncheck.nothing


def test_names_for_checkers_are_the_names_at_run_time() -> None:
    source = Path(aligncheck.__file__).read_text()
    blocks = [n for n in ast.parse(source).body if isinstance(n, ast.If) and ast.unparse(n.test) == "TYPE_CHECKING"]
    imported = {name.name for n in ast.walk(blocks[0]) if isinstance(n, ast.ImportFrom) for name in n.names}
    assert imported == set(aligncheck.__all__)
    assert (Path(aligncheck.__file__).parent / "py.typed").exists()


def test_import_loads_nothing_heavy() -> None:
    heavy = (
        "{m.split('.')[0] for m in sys.modules} & {'numpy', 'cv2', 'scipy', 'PIL', 'skimage', 'typer', 'pillow_heif'}"
    )
    assert python(f"import sys, aligncheck; print({heavy} or 'none')") == "none"
    light = heavy.replace(", 'typer'", "")
    assert python(f"import sys, aligncheck.cli.app; print({light} or 'none')") == "none"


def test_help_takes_under_0_4_seconds() -> None:
    """Processor time, best of three: the machine may be busy with something else."""
    words = [sys.executable, "-c", "from aligncheck.cli import main; main(['--help'])"]

    def once() -> float:
        before = os.times()
        began = time.perf_counter()
        out = subprocess.run(words, capture_output=True, text=True, check=True).stdout
        wall, after = time.perf_counter() - began, os.times()
        assert "check" in out
        return min(wall, after.children_user + after.children_system - before.children_user - before.children_system)

    assert min(once() for _ in range(3)) < 0.4


def test_every_command_has_help_that_tells_its_options() -> None:
    from aligncheck.cli.app import COMMANDS

    for name in COMMANDS:
        out = python(f"from aligncheck.cli import main; main([{name!r}, '--help'])")
        assert len(out.splitlines()) > 5, name


def test_a_command_is_read_without_the_others() -> None:
    loaded = "sorted(m for m in sys.modules if m in ('aligncheck.cli.check', 'aligncheck.cli.sheet'))"
    run = "import sys; from aligncheck.cli import run; run(['{}', '--help']); print({})"
    assert python(run.format("check", loaded)).endswith("['aligncheck.cli.check']")
    assert python(run.format("nothing", loaded)).endswith("['aligncheck.cli.check', 'aligncheck.cli.sheet']")


def test_it_ends_without_a_last_search_for_dead_objects() -> None:
    at_exit = "import atexit, gc; atexit.register(lambda: print(gc.get_freeze_count() > 1000))"
    assert python(f"{at_exit}; from aligncheck.cli import main; main(['--version'])").endswith("True")


def test_the_version_is_printed() -> None:
    assert python("from aligncheck.cli import main; main(['--version'])") == f"aligncheck {aligncheck.__version__}"


def test_every_refusal_and_note_is_a_sentence() -> None:
    """Cause and next step: every sentence ends as one, and every code that is raised has one."""
    import re

    from aligncheck.sentences import NOTES, REFUSALS

    for code, sentence in {**REFUSALS, **NOTES}.items():
        assert sentence[-1].isalnum() or sentence.endswith((".", "}")), code
        assert "\n" not in sentence
        assert not set(re.findall(r"[{}]", re.sub(r"\{\w+(:[.\w]+)?\}", "", sentence))), code
    source = Path(aligncheck.__file__).parent
    raised = {
        code
        for file in source.rglob("*.py")
        for code in re.findall(r'(?:Error|Note)\(\s*"([a-z0-9_]+)"', file.read_text())
    }
    assert not raised - set(REFUSALS) - set(NOTES)
