"""What the hands did: which attacks are one movement, which keys were struck, which held."""

import pytest

from stackline.listen.attacks.attacks import find_attacks
from stackline.practice.finding.gestures import Gesture, gestures
from tests.support.takes.practice_scenes import notes_of


def found(*rows: tuple[float, tuple[int, ...], float]) -> tuple[Gesture, ...]:
    """Gestures of rows of (onset, pitches, length)."""
    notes = [one for at, pitches, long in rows for one in notes_of([(at, pitches)], length_s=long)]
    return gestures(find_attacks(tuple(notes)))


@pytest.mark.parametrize(("apart_s", "count"), [(0.08, 1), (0.115, 1), (0.14, 2), (0.5, 2)])
def test_a_left_hand_a_little_ahead_is_no_second_chord(apart_s: float, count: int) -> None:
    """D A, then F C E: one gesture up to 120 ms, two beyond."""
    assert len(found((0.5, (38, 45), 1.0), (0.5 + apart_s, (53, 60, 64), 1.0))) == count


def test_a_key_struck_again_is_a_new_gesture_however_soon() -> None:
    """The same key cannot be struck twice in one movement."""
    assert len(found((0.5, (53, 60), 0.07), (0.6, (53, 64), 0.5))) == 2


def test_what_was_struck_and_what_still_sounds() -> None:
    """F stays down while A C E are struck; both are told, low to high, each once."""
    first, second = found((0.5, (53,), 2.0), (1.5, (64, 57, 60), 0.5))
    assert (first.struck, first.held) == ((53,), ())
    assert (second.struck, second.held) == ((57, 60, 64), (53,))
    assert second.struck_classes == {9, 0, 4}
    assert second.held_classes == {5}
    assert sorted(second.notes) == [53, 57, 60, 64]
    assert second.notes[57].onset_s == pytest.approx(1.5)
    assert second.notes[53].onset_s == pytest.approx(0.5)


def test_a_joined_gesture_lasts_from_its_first_key_to_its_last() -> None:
    """Two hands, 80 ms apart: one onset, all keys, the later end; nothing struck counts as held."""
    (one,) = found((0.5, (38, 45), 2.0), (0.58, (53, 60, 64), 1.0))
    assert one.onset_s == pytest.approx(0.5)
    assert one.offset_s == pytest.approx(2.5)
    assert one.struck == (38, 45, 53, 60, 64)
    assert one.held == ()
    assert len(one.attacks) == 2


def test_nothing_is_no_gesture() -> None:
    """No attacks, no gestures."""
    assert gestures(()) == ()
