"""A slip in the command itself: one line, exit status 2, and where help is found."""

import pytest

from aligncheck.cli import DONE, NOT_DONE, run


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ([], "Missing command. Help: aligncheck --help"),
        (["record", "add"], "Missing argument 'FOLDER'. Help: aligncheck record add --help"),
        (["chek"], "No such command 'chek'. Did you mean 'check'? Help: aligncheck --help"),
        (["check", "panel.jpg"], "Missing option '--panel'. Help: aligncheck check --help"),
    ],
)
def test_help_is_named(words: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(words) == NOT_DONE
    out, err = capsys.readouterr()
    assert (out, err) == ("", said + "\n")


@pytest.mark.parametrize("words", [[], ["record"], ["lens"]])
def test_a_list_of_commands_says_what_each_is_for_in_a_line_not_cut_short(
    words: list[str], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    assert run([*words, "--help"]) == DONE
    commands = capsys.readouterr().out.split("Commands:")[1].splitlines()[1:]
    assert len(commands) > 1
    for line in commands:
        # A command's name stands two in, a line that had to be broken further.
        assert line[2] != " " and len(line.split(maxsplit=1)) == 2 and not line.endswith("...")
