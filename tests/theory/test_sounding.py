"""Which notes make a voicing: pedal, melody over a held chord, bass notes."""

from stackline.shared.notes import Attack
from stackline.theory.sounding import soundings
from tests.support.takes.played import attack, note


def seen(*given: Attack) -> list[tuple[str, tuple[int, ...], set[int]]]:
    """(kind, pitches, held) of each attack."""
    return [(one.kind, one.pitches, set(one.held)) for one in soundings(given)]


def test_a_chord_under_the_pedal_is_what_was_struck() -> None:
    """The ring of the chord before is no part of the next one."""
    ring = [note(p, 0.0, 4.0) for p in (53, 57, 60, 64)]
    found = seen(attack(0, (53, 57, 60, 64)), attack(2, (53, 59, 64, 68), held=ring))
    assert found[1] == ("voicing", (53, 59, 64, 68), set())


def test_a_melody_note_over_a_held_chord_joins_it() -> None:
    """Chord and melody are one voicing, the chord marked held."""
    ring = [note(p, 0.0, 4.0) for p in (53, 57, 60, 64)]
    found = seen(attack(0, (53, 57, 60, 64)), attack(1, (69,), held=ring))
    assert found[1] == ("voicing", (53, 57, 60, 64, 69), {53, 57, 60, 64})


def test_a_voice_that_moves_on_lets_its_old_note_go() -> None:
    """C to B over a held Dm9: the C that rings under the pedal is gone from the voicing."""
    ring = [note(p, 0.0, 4.0) for p in (53, 57, 60, 64)]
    found = seen(attack(0, (53, 57, 60, 64)), attack(1, (59,), held=ring))
    assert found[1] == ("voicing", (53, 57, 59, 64), {53, 57, 64})


def test_a_low_note_under_a_held_chord_is_a_bass_not_a_voicing() -> None:
    """The root touched after the chord is evidence, and no new top line."""
    ring = [note(p, 0.0, 4.0) for p in (53, 57, 60, 64)]
    found = seen(attack(0, (53, 57, 60, 64)), attack(1, (38,), held=ring))
    assert found[1] == ("bass", (38,), set())


def test_shells_that_move_under_the_pedal_stay_shells() -> None:
    """Guide tones that step down are not mixed with the pair before."""
    ring = [note(p, 0.0, 4.0) for p in (53, 59)]
    found = seen(attack(0, (53, 59)), attack(1, (52, 58), held=ring))
    assert found == [("voicing", (53, 59), set()), ("voicing", (52, 58), set())]


def test_one_pitch_class_is_no_voicing() -> None:
    """A lone note, and octaves, are melody or bass by their height."""
    assert [one[0] for one in seen(attack(0, (72,)), attack(1, (36, 48)), attack(2, (60, 72)))] == [
        "melody",
        "bass",
        "melody",
    ]


def test_old_rings_do_not_come_back() -> None:
    """A note that was left out once stays out, however long the pedal holds it."""
    first = [note(p, 0.0, 9.0) for p in (53, 57, 60, 64)]
    second = [note(p, 1.0, 9.0) for p in (52, 55, 59, 62)]
    found = seen(
        attack(0, (53, 57, 60, 64)),
        attack(1, (52, 55, 59, 62), held=first),
        attack(2, (67,), held=first + second),
    )
    assert found[2] == ("voicing", (52, 55, 59, 62, 67), {52, 55, 59, 62})
