"""Which notes `reach` and `place` tell beside their answer."""

from aligncheck.cli.piece import _remarks
from aligncheck.notes import Note


def test_the_height_is_asked_for_once() -> None:
    height, decides = Note("centrepiece_height"), Note("placement_height")
    assert _remarks([height, Note("advice_dark")]) == [height.text]
    assert _remarks([height, decides]) == [decides.text]
