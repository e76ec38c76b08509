"""README keeps its promises: two commands of one line, every path and every command that it names is there."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PAGES = ["README.md", "DEVELOPERS.md", "samples/README.md"]


def commands() -> dict[str, list[str]]:
    """The marked commands of README, each with its lines, as `.ci/run` reads them."""
    text = (ROOT / "README.md").read_text()
    found = re.findall(r"<!-- command: (\w+) -->\n(.*?)<!-- end -->", text, re.DOTALL)
    return {name: re.findall(r"^    (.*)$", body, re.MULTILINE) for name, body in found}


def test_two_commands_of_one_line() -> None:
    """There are exactly two set-up commands, each one line that sets up by itself."""
    assert list(commands()) == ["sample", "tests"]
    for lines in commands().values():
        assert len(lines) == 1
        assert "python3 -m venv .venv" in lines[0]
        assert "libgl1" in lines[0]


def test_commands_are_valid_shell() -> None:
    """Both lines, and the script that runs them, parse."""
    for (line,) in commands().values():
        subprocess.run(["bash", "-n", "-c", line], check=True)
    subprocess.run(["bash", "-n", str(ROOT / ".ci/run")], check=True)


@pytest.mark.parametrize("page", PAGES)
def test_named_paths_exist(page: str) -> None:
    """Every path in backticks or a link that looks like one of ours exists."""
    text = (ROOT / page).read_text()
    base = (ROOT / page).parent
    named = re.findall(r"\]\(([^)#:]+)\)", text)
    named += re.findall(r"`((?:aligncheck|tests|samples|calibration|\.ci)/[\w./-]+)`", text)
    assert [p for p in named if not ((ROOT / p).exists() or (base / p).exists())] == []


def test_named_options_exist() -> None:
    """Every `aligncheck ... --option` that README shows is known to the command's own help."""
    text = (ROOT / "README.md").read_text()
    shown = re.findall(r"aligncheck ((?:record |lens )?\w+)((?: [^`\n|;]+)?)", text)
    used: dict[str, set[str]] = {}
    for command, rest in shown:
        options = set(re.findall(r"--[a-z-]+", rest))
        if options:
            used.setdefault(command, set()).update(options)
    assert "check" in used
    for command, options in used.items():
        asked = [sys.executable, "-c", "from aligncheck.cli import main; main()", *command.split(), "--help"]
        environment = {"COLUMNS": "200", "NO_COLOR": "1", "TERM": "dumb", "PATH": ""}
        help_text = subprocess.run(asked, capture_output=True, text=True, env=environment, check=True).stdout
        assert [o for o in sorted(options) if o not in help_text] == []


def test_printed_words_are_what_the_sample_prints() -> None:
    """The worked example's words come out of the sample photo: the same moves, to 0.1 mm."""
    from aligncheck.checking import check
    from aligncheck.words import findings

    text = (ROOT / "README.md").read_text()
    block = re.search(r"<!-- printed -->\n(.*?)<!-- end -->", text, re.DOTALL)
    assert block is not None
    shown = re.findall(r"^    (.*)$", block[1], re.MULTILINE)
    printed = findings(check(ROOT / "samples/night-daisy-1-marked.jpg", "12x12in"))
    number = re.compile(r"\d+\.\d+")
    # Two spokes of the sample lie at the tolerance itself: what is said of them may change with every digit.
    sure = [line for line in shown if "move its outer end" in line]
    assert sure
    told = {number.sub("#", line): [float(n) for n in number.findall(line)] for line in printed}
    for line in sure:
        assert told[number.sub("#", line)] == pytest.approx([float(n) for n in number.findall(line)], abs=0.11)


def test_layout_file_of_readme_is_read() -> None:
    """The layout shown can be pasted into a file."""
    from aligncheck.layout.read import parse_layout

    text = (ROOT / "README.md").read_text()
    lines = re.findall(r"^      (\w+ = .*)$", text, re.MULTILINE)
    layout = parse_layout("\n".join(lines))
    assert layout.segments == 12
    assert layout.ring_pitch_mm == pytest.approx(12.7)
