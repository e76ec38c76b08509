"""How many letters of a text fit."""

from aligncheck.fitting import letters_that_fit


def test_as_many_letters_as_fit() -> None:
    """One more would be too wide; asked a dozen times, not once a letter."""
    asked = []

    def fits(text: str) -> bool:
        asked.append(text)
        return len(text) <= 20

    assert letters_that_fit("x" * 5000, fits) == 20
    assert letters_that_fit("ab", lambda text: text == "") == 0
    assert len(asked) < 20
