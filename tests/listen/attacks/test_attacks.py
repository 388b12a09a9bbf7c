import dataclasses
import itertools

from hypothesis import given
from hypothesis import strategies as st

from stackline.listen.attacks.attacks import HELD_S, NEIGHBOURS_S, ROLL_S, find_attacks
from stackline.shared.notes import Note


def note(onset_s: float, midi: int, *, lasts_s: float = 0.5) -> Note:
    """A note of some length."""
    return Note(onset_s=onset_s, offset_s=onset_s + lasts_s, midi=midi, velocity=64, confidence=0.9)


@st.composite
def any_notes(draw: st.DrawFn) -> list[Note]:
    """Distinct notes in a short time, so that attacks overlap in every way."""
    keys = draw(
        st.lists(st.tuples(st.integers(0, 2000), st.integers(40, 60)), unique=True, max_size=40)
    )
    return [
        note(at / 1000, midi, lasts_s=draw(st.sampled_from([0.05, 0.3, 2.0]))) for at, midi in keys
    ]


@given(any_notes())
def test_every_note_is_struck_in_exactly_one_attack(notes: list[Note]) -> None:
    """The law of the house, for any notes."""
    struck = [one for attack in find_attacks(notes) for one in attack.struck]
    assert sorted(struck, key=lambda one: (one.onset_s, one.midi)) == sorted(
        notes, key=lambda one: (one.onset_s, one.midi)
    )


@given(any_notes())
def test_attacks_keep_their_own_rule(notes: list[Note]) -> None:
    """In order; within a roll; no key twice; held keys were struck before and outlast."""
    attacks = find_attacks(notes)
    onsets = [attack.onset_s for attack in attacks]
    assert onsets == sorted(onsets)
    for attack in attacks:
        keys = [one.midi for one in attack.struck]
        assert keys == sorted(set(keys))
        times = sorted(one.onset_s for one in attack.struck)
        assert attack.onset_s == times[0]
        assert abs(times[-1] - times[0] - attack.spread_s) < 1e-3
        assert attack.spread_s <= ROLL_S + 1e-3
        assert all(b - a <= NEIGHBOURS_S + 1e-9 for a, b in itertools.pairwise(times))
        for held in attack.held:
            assert held.midi not in keys
            assert held.onset_s <= attack.onset_s
            assert held.offset_s >= attack.onset_s + HELD_S


@given(any_notes(), st.integers(1, 10_000))
def test_moving_all_notes_moves_all_attacks(notes: list[Note], by_ms: int) -> None:
    """Nothing depends on where in the recording the notes stand (to rounding of times)."""
    later = [
        dataclasses.replace(
            one, onset_s=one.onset_s + 64 * by_ms, offset_s=one.offset_s + 64 * by_ms
        )
        for one in notes
    ]
    before = [[one.midi for one in attack.struck] for attack in find_attacks(notes)]
    after = [[one.midi for one in attack.struck] for attack in find_attacks(later)]
    assert sum(map(len, before)) == sum(map(len, after))


def test_a_roll_is_one_attack() -> None:
    """Four notes 45 ms apart, as an arpeggio sign is played."""
    (attack,) = find_attacks([note(1 + 0.045 * i, 60 + 4 * i) for i in range(4)])
    assert attack.pitches == (60, 64, 68, 72)
    assert attack.spread_s == 0.135


def test_a_melody_is_not_a_roll() -> None:
    """Eighths at 200 beats a minute are 150 ms apart."""
    assert len(find_attacks([note(0.15 * i, 60 + i) for i in range(6)])) == 6


def test_a_struck_again_key_begins_an_attack() -> None:
    """Even within the time of a roll."""
    attacks = find_attacks([note(1.0, 60, lasts_s=0.05), note(1.02, 64), note(1.05, 60)])
    assert [[one.midi for one in attack.struck] for attack in attacks] == [[60, 64], [60]]


def test_held_notes_are_kept_apart() -> None:
    """A chord held under a melody note is held, what was let go is not."""
    notes = [note(0, 48, lasts_s=2), note(0, 52, lasts_s=1.05), note(1, 72)]
    _, attack = find_attacks(notes)
    assert [one.midi for one in attack.struck] == [72]
    assert [one.midi for one in attack.held] == [48]
