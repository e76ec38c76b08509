"""A slip in the command itself: one line, exit status 2, and where help is found."""

import pytest

from aligncheck.cli import NOT_DONE, run


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
