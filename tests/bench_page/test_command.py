"""`aligncheck bench`: address and code in the terminal, one line where it cannot start, a clean end."""

import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

COMMAND = [sys.executable, "-c", "from aligncheck.cli import main; main()", "bench"]


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (["--port", "x"], "--port: x is not a port"),
        (["--port", "99999"], "not a port"),
        (["--watch", "nowhere"], "is not a folder"),
        (["--panel", "12x12"], "12 x 12"),
        (["--segments", "1"], "--segments"),
    ],
)
def test_slips_are_one_line(tmp_path: Path, options: list[str], words: str) -> None:
    done = subprocess.run(
        [*COMMAND, "--folder", str(tmp_path), *options], capture_output=True, text=True, cwd=tmp_path, check=False
    )
    assert done.returncode == 2
    assert len(done.stderr.splitlines()) == 1
    assert words.split()[0] in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_a_file_is_told_before_anything_starts(tmp_path: Path) -> None:
    place = tmp_path / "photo.jpg"
    place.write_bytes(b"x")
    done = subprocess.run([*COMMAND, "--folder", str(place)], capture_output=True, text=True, check=False, timeout=60)
    assert (done.returncode, done.stdout, len(done.stderr.splitlines())) == (2, "", 1)
    assert "--folder" in done.stderr and str(place) in done.stderr


def test_taken_port_is_told(tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        done = subprocess.run(
            [*COMMAND, "--folder", str(tmp_path), "--port", str(port)], capture_output=True, text=True, check=False
        )
    assert (done.returncode, len(done.stderr.splitlines())) == (2, 1)
    assert str(port) in done.stderr


def test_starts_and_ends(tmp_path: Path) -> None:
    """The address that is printed answers, with the token; killed hard, no worker stays behind."""
    process = subprocess.Popen(
        [*COMMAND, "--folder", str(tmp_path), "--port", "0", "--lan", "--workers", "1"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
    )  # fmt: skip
    printed = ""
    assert process.stdout is not None
    while "Ctrl-C" not in printed:
        line = process.stdout.readline()
        assert line, process.stderr and process.stderr.read()
        printed += line
    assert "█" in printed
    found = re.search(r"http://([\d.]+):(\d+)/\?token=(\S+)", printed)
    assert found is not None
    # The network's own address may not be reachable from inside a container; the server listens on all.
    address = f"http://127.0.0.1:{found[2]}/?token={found[3]}"
    until = time.monotonic() + 60
    opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
    while True:
        try:
            with opener.open(address, timeout=10) as answer:
                assert b"Photograph the panel" in answer.read()
            break
        except OSError:
            assert time.monotonic() < until
            time.sleep(0.1)
    process.send_signal(signal.SIGINT)
    _, told = process.communicate(timeout=60)
    assert process.returncode in (0, 130)
    assert "Traceback" not in told
    until = time.monotonic() + 20
    while _group_lives(process.pid):
        assert time.monotonic() < until
        time.sleep(0.1)


def _group_lives(group: int) -> bool:
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return False
    return True
