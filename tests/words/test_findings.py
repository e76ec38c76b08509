"""What is said for every verdict."""

import re
from types import SimpleNamespace

import numpy as np
import pytest

from aligncheck.notes import Note
from aligncheck.words import findings, refused, summarise, table
from aligncheck.words.phrases import listed, plus_minus, spokes_at
from tests.overlay.made import MadeCheck, even_spokes, level_panel, made_drift

PANEL = level_panel()


def check(moves, rings=(), u95_mm=0.3, **more):
    notes = more.pop("notes", ())
    return MadeCheck(made_drift(PANEL, even_spokes(len(moves), moves), rings, u95_mm=u95_mm, **more), notes)


def ring(radius, ideal):
    return ((0.0, 0.0), radius, ideal)


def test_moves_are_told_worst_first():
    """The act, then one line each with mm and direction; what the second line of a picture says is not said twice."""
    made = check([0, 0, 0, 0, 2.1, 0, 0, -4.04, 0, 0, 0, 0], [ring(12.7, 12.7)])
    assert summarise(made).second == "First 7 o'clock: outer end 4.0 mm anticlockwise"
    assert findings(made) == [
        "Move 2 spokes",
        "Spoke at 7 o'clock: move its outer end 4.0 mm anticlockwise, ± 0.3 mm.",
        "Spoke at 4 o'clock: move its outer end 2.1 mm clockwise, ± 0.3 mm.",
        "10 spokes and 1 ring fit within 1.0 mm.",
    ]


def test_rings_are_drawn_anew():
    """A ring too large is drawn further in, and it leads where it is the worst."""
    made = check([0] * 12, [ring(14.6, 12.7), ring(24.0, 25.4), ring(38.1, 38.1)])
    assert summarise(made).second == "First ring 1: 1.9 mm further in"
    assert findings(made) == [
        "Move 2 rings",
        "Ring 1: draw it 1.9 mm further in, ± 0.3 mm.",
        "Ring 2: draw it 1.4 mm further out, ± 0.3 mm.",
        "12 spokes and 1 ring fit within 1.0 mm.",
    ]


def test_spokes_and_rings_together():
    """Both are counted in the headline."""
    summary = summarise(check([0, 0, 3, 0, 0, 0], [ring(14.6, 12.7)]))
    assert (summary.kind, summary.headline) == ("move", "Move 1 spoke and 1 ring")


def test_everything_fits():
    """Nothing more to say than what was compared."""
    made = check([0] * 12, [ring(12.7 * k, 12.7 * k) for k in range(1, 4)])
    assert summarise(made).kind == "fits"
    assert findings(made) == ["Everything fits", "12 spokes and 3 rings within 1.0 mm of the plan"]


def test_too_close_to_call_is_never_a_fit():
    """What is not sure is said to be so, with its interval, and what may help."""
    made = check([0, 1.1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0.9])
    assert summarise(made).kind == "unsure"
    assert summarise(made).second == "The other 10 fit within 1.0 mm. Photograph again"
    assert findings(made) == [
        "2 spokes too close to call",
        "Spoke at 1 o'clock: too close to call, perhaps 1.1 mm clockwise, ± 0.3 mm.",
        "Spoke at 11 o'clock: too close to call, perhaps 0.9 mm clockwise, ± 0.3 mm.",
        "Another photo, closer and squarer, may tell.",
        "10 spokes fit within 1.0 mm.",
    ]


def test_nothing_sure_at_all():
    """With every spoke in doubt there are no others to speak of."""
    assert summarise(check([1.1, -1.1, 1.1, -1.1])).second == "Photograph again"


def test_a_refusal_keeps_its_reason():
    """The headline is fixed, the reason below it."""
    summary = refused("No panel found.")
    assert (summary.kind, summary.headline, summary.second) == ("refused", "Not measured", "No panel found.")


def test_what_does_not_share_the_centre_is_told():
    """A centre mark far from the panel's middle, and a ring drawn about another point, each with its way."""
    away = np.array([-3.0, 1.2])
    ends = [((away + a).tolist(), (away + b).tolist()) for a, b in even_spokes(12, [0] * 12)]
    rings = [((-1.0, 1.2), 12.7, 12.7), ((-3.0, 1.2), 25.4, 25.4)]
    assert findings(MadeCheck(made_drift(PANEL, ends, rings, centre_mm=away)))[2:] == [
        "The centre lies 3.0 mm left and 1.2 mm down of the panel's middle, ± 0.2 mm.",
        "Ring 1 has its own centre, 2.0 mm right of the layout's, ± 0.1 mm.",
    ]


def test_places_without_a_spoke_are_named():
    """A partly measured panel says what was not seen."""
    ends = [e for k, e in enumerate(even_spokes(12, [0] * 12)) if k not in (1, 2)]
    places = [k for k in range(12) if k not in (1, 2)]
    made = MadeCheck(made_drift(PANEL, ends, segments=12, places=places))
    assert findings(made)[-1] == "Not seen: the spokes at 1 and 2 o'clock."


def test_notes_are_said_once_and_last():
    """The same remark from two stages is one line."""
    note = Note("centre_hidden")
    assert findings(check([0] * 12, notes=(note, note)))[-1] == note.text
    assert findings(check([0] * 12, notes=(note, note))).count(note.text) == 1


@pytest.mark.parametrize("moves", [[0] * 12, [3, 0, -2, 0, 1.1, 0], [1.1] * 3 + [-1.1] * 3, [2.5] + [0] * 40])
def test_no_jargon(moves):
    """No degrees, pixels or scores in what is said; lengths have one decimal."""
    text = " ".join(findings(check(moves, [ring(14.6, 12.7)])))
    assert not re.search(r"°|degree|pixel|px|%|deviation|residual|rectif|confiden|sigma", text)
    assert all(re.fullmatch(r"\d+\.\d", n) for n in re.findall(r"(\d[\d.]*) mm", text))


def test_the_table_holds_every_figure():
    """Every spoke and ring has its row, degrees too, and the signs say the way."""
    made = check([0, 3.0, 0, 0, 0, 0], [ring(12.7, 12.7), ring(26.0, 25.4)])
    text = table(made)
    rows = text.splitlines()
    assert len({len(row.split("±")) for row in rows[1:7]}) == 1
    assert "+3.00 ± 0.30" in rows[2]
    assert rows[2].startswith("2 o'clock")
    assert rows[2].endswith("move")
    assert "+0.60 ± 0.30" in text
    assert "tolerance: 1.00 mm" in text


def test_words_for_lists():
    """Commas, one "and"; the hour is said once."""
    assert listed(["a"]) == "a"
    assert listed(["a", "b", "c"]) == "a, b and c"
    assert spokes_at(["3 o'clock"]) == "the spoke at 3 o'clock"
    assert spokes_at(["3 o'clock", "half past 3"]) == "the spokes at 3 and half past 3"
    assert spokes_at(["4 o'clock", "the second spoke after 4"]) == "the spoke at 4 o'clock and the second spoke after 4"


def test_nothing_is_known_exactly():
    """A tiny interval is not shown as zero."""
    assert plus_minus(0.01) == "0.1"
    assert plus_minus(0.26) == "0.3"


def test_a_short_petal_stands_in_the_headline_beside_a_spoke():
    """What is off at a later stage is not hidden behind a spoke that is off too."""
    made = check([0, 0, 0, 0, 2.1, 0, 0, 0, 0, 0, 0, 0])
    petal = SimpleNamespace(row=1, ideal_deg=315.0, inward_mm=6.4, inward_u95_mm=0.9)
    both = SimpleNamespace(drift=made.drift, notes=(), rows=SimpleNamespace(short=(petal,)))
    said = summarise(both)
    assert said.headline == "Move 1 spoke, lengthen 1 petal"
    assert said.second == "First 4 o'clock: outer end 2.1 mm clockwise"
    alone = SimpleNamespace(drift=check([0] * 12).drift, notes=(), rows=SimpleNamespace(short=(petal,)))
    assert summarise(alone).headline == "Lengthen 1 petal"
