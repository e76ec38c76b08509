"""The command as a process among others: interrupted, piped, on an old terminal."""

import os
import signal
import subprocess
import sys
import time
from functools import partial
from pathlib import Path

WORDS = [sys.executable, "-c", "from aligncheck.cli import main; main()", "check"]


def test_ctrl_c_ends_all_processes_with_one_line(tmp_path: Path, photo: Path) -> None:
    copies = []
    # Many, so that on a busy machine they are not all done before the first result is noticed.
    for k in range(24):
        copies.append(tmp_path / f"{k}.jpg")
        copies[-1].write_bytes(photo.read_bytes())
    began = subprocess.Popen(
        [*WORDS, *map(str, copies), "--panel", "12x12in", "--out", str(tmp_path / "out"), "--jobs", "2"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        # What a shell starts in the background ignores Ctrl-C, and so would its children.
        preexec_fn=partial(signal.signal, signal.SIGINT, signal.default_int_handler),
    )
    # The first results are there: both workers are at work.
    for _ in range(600):
        if (tmp_path / "out").exists() and list((tmp_path / "out").glob("*.json")):
            break
        time.sleep(0.1)
    os.killpg(began.pid, signal.SIGINT)
    _, err = began.communicate(timeout=60)
    assert began.returncode == 130
    assert err == "Stopped.\n"
    # Nothing half-written, and whatever is there is whole: four files a photo.
    names = sorted(p.name for p in (tmp_path / "out").iterdir())
    assert not [n for n in names if n.endswith(".part")]
    assert len(names) == 4 * len([n for n in names if n.endswith(".json")])
    assert _gone(began.pid), "a process was left behind"


def _gone(group: int) -> bool:
    """Whether no process of the group is left; the helpers of Python's pools go a moment after it."""
    for _ in range(100):
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.1)
    return False


def test_an_old_terminal_shows_a_question_mark_at_most(tmp_path: Path, photo: Path) -> None:
    env = {**os.environ, "PYTHONIOENCODING": "ascii", "LC_ALL": "C"}
    ran = subprocess.run(
        [*WORDS, str(photo), "--panel", "12x12in", "--out", str(tmp_path)],
        capture_output=True,
        text=True,
        env=env,
        check=False,
    )
    assert ran.returncode in (0, 1), ran.stderr
    assert ran.stderr == ""


def test_a_reader_that_leaves_early_is_no_error(tmp_path: Path, photo: Path) -> None:
    words = " ".join(f"'{w}'" for w in [*WORDS, str(photo), "--panel", "12x12in", "--out", str(tmp_path), "--table"])
    ran = subprocess.run(["bash", "-c", f"{words} | head -1"], capture_output=True, text=True, check=False)
    assert len(ran.stdout.splitlines()) == 1
    assert ran.stderr == ""
