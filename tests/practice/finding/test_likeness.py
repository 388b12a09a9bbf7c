"""How like a chord a gesture is: the right voicing most, the wrong one less, in its own key."""

import numpy as np
import pytest

from stackline.listen.attacks.attacks import find_attacks
from stackline.practice.finding.gestures import gestures
from stackline.practice.finding.likeness import KEYS, likeness
from stackline.practice.targets.target_text import parse_target
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, gestures_of, notes_of, played

STUDY = parse_target(TARGET_TEXT)
SYMBOLS = parse_target("Dm7 | G7 | Cmaj7")


def like(pitches: tuple[int, ...], text: str, chord: int = 0) -> np.ndarray:
    """Likeness of one gesture to one chord of a target, by key."""
    return likeness(gestures_of([(0.5, pitches)]), parse_target(text))[0, :, chord]


def test_the_voicing_as_written_is_wholly_like_its_chord_in_its_key_alone() -> None:
    """Each chord of the study, in C and moved to each other key."""
    for up in range(KEYS):
        found = likeness(gestures_of(played(*TWO_FIVE, up=up)), STUDY)
        for i in range(3):
            assert found[i, up, i] == pytest.approx(1.0)
            others = np.delete(found[i, :, i], up)
            assert others.max() < 0.9


def test_every_wrong_note_costs() -> None:
    """F A C E, then with a C# for the C, then with an Ab for the A as well."""
    right, one, two = ((53, 57, 60, 64), (53, 57, 61, 64), (53, 56, 61, 64))
    values = [like(row, TARGET_TEXT)[0] for row in (right, one, two)]
    assert values[0] > values[1] > values[2] > 0


def test_a_missing_note_costs_less_than_one_that_is_wrong() -> None:
    """F A E for F A C E is nearer than F A Db E."""
    assert like((53, 57, 64), TARGET_TEXT)[0] > like((53, 57, 61, 64), TARGET_TEXT)[0]


def test_a_stack_turned_over_is_a_little_less_like() -> None:
    """C E F A: the notes of F A C E, with others at top and bottom."""
    turned, meant = like((48, 52, 53, 57), TARGET_TEXT)[0], like((53, 57, 60, 64), TARGET_TEXT)[0]
    assert 0.8 < turned < meant


def test_nothing_in_common_is_no_likeness() -> None:
    """F# G# C# D# against F A C E."""
    assert like((54, 56, 61, 63), TARGET_TEXT)[0] == 0.0


def test_keys_kept_down_count_where_they_are_meant() -> None:
    """F and E stay under the fingers; Ab and B are struck: G13(b9) is complete."""
    held = [*notes_of([(0.5, (53, 64))], length_s=2.0), *notes_of([(1.5, (56, 59))])]
    apart = gestures(find_attacks(tuple(held)))[1]
    alone = gestures_of([(1.5, (56, 59))])[0]
    full, bare = likeness((apart, alone), STUDY)[:, 0, 1]
    assert full > 0.85
    assert bare < full


@pytest.mark.parametrize(
    "ways",
    [
        ((53, 57, 60, 64), (53, 59, 64, 69), (52, 55, 59, 62)),  # rootless, 13 with a 9
        ((53, 60, 64), (53, 56, 59, 64), (52, 57, 62, 67)),  # b9 and 13; fourths on the I
        ((50, 60, 65), (43, 53, 59), (48, 52, 59)),  # shells
        ((50, 60), (55, 59), (48, 52)),  # two notes
        ((50, 55, 60, 65), (53, 58, 59, 63), (48, 52, 55, 57)),  # fourths; altered; C6
    ],
)
def test_any_way_to_play_a_symbol_is_like_it(ways: tuple[tuple[int, ...], ...]) -> None:
    """Dm7 G7 Cmaj7 in C: every voicing of the trade is nearly wholly like its symbol."""
    found = likeness(gestures_of(played(*ways)), SYMBOLS)
    for i in range(3):
        assert found[i, 0, i] >= 0.75


@pytest.mark.parametrize(
    ("right", "wrong", "chord"),
    [
        ((53, 57, 60, 64), (54, 57, 60, 64), 0),  # F# in a D minor chord
        ((53, 59, 64, 69), (53, 60, 64, 69), 1),  # C for the B of G7
        ((53, 59, 64, 69), (54, 59, 64, 69), 1),  # F# for the F of G7
        ((52, 55, 59, 62), (51, 55, 59, 62), 2),  # Eb for the E of C
        ((52, 55, 59, 62), (52, 55, 58, 62), 2),  # Bb for the B of Cmaj7
        ((53, 59, 64, 69), (59, 62, 69), 1),  # no F at all
    ],
)
def test_what_contradicts_a_symbol_is_half_like_it_at_most(
    right: tuple[int, ...], wrong: tuple[int, ...], chord: int
) -> None:
    """One note against the symbol weighs a third and more; the plain voicing is like it."""
    text = "Dm7 | G7 | Cmaj7"
    assert like(right, text, chord)[0] > 0.9
    assert 0.3 < like(wrong, text, chord)[0] < 0.65


def test_of_two_readings_the_plainer_one_wins() -> None:
    """F Ab B E is G13(b9); as Db7 it would be a #9 over a 5: less like."""
    found = like((53, 56, 59, 64), "G7 | Cmaj7")
    assert found[0] == pytest.approx(found.max(), abs=0.05)
    assert like((43, 53, 59, 62), "G7 | Cmaj7").argmax() == 0  # with its root there is no doubt


def test_one_note_alone_says_little() -> None:
    """A lone E is not a Cmaj7."""
    assert like((64,), "Dm7 | G7 | Cmaj7", 2)[0] < 0.5
