"""Where a recording falls into sections: at rests and changes, and nowhere inside a piece.

Made sessions have seeds that are neither fitted on nor quoted. Scores that we did not write:
chorales by J. S. Bach from music21's corpus.
"""

from dataclasses import replace
from functools import cache
from itertools import pairwise

import pytest

from bench.sorting.sessions import Score
from fixtures.played.practised import make_practised
from fixtures.played.sessions import as_heard, make_session
from fixtures.played.takes import LISTED, make_take
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.sections.section_edges import find_sections
from stackline.shared.notes import Note, Passage, Span
from tests.support.evening import evening, heard, in_a_row

SEED = 47_000


def sections(notes: tuple[Note, ...], talk: tuple[Span, ...] = ()) -> tuple[Passage, ...]:
    """The sections of some notes."""
    end_s = max(one.offset_s for one in notes) + 2.0
    return find_sections(find_attacks(notes), talk, end_s)


@cache
def chorale(name: str) -> tuple[Note, ...]:
    """A chorale at 72 quarters a minute, played as written."""
    from music21 import corpus

    beat_s = 60.0 / 72
    return tuple(
        Note(
            onset_s=round(1.0 + float(one.offset) * beat_s, 4),
            offset_s=round(1.0 + float(one.offset + one.quarterLength) * beat_s - 0.05, 4),
            midi=pitch.midi, velocity=64, confidence=1.0,
        )
        for one in corpus.parse(name).flatten().notes if one.quarterLength
        for pitch in one.pitches
    )  # fmt: skip


def later(notes: tuple[Note, ...], by_s: float, up: int = 0) -> tuple[Note, ...]:
    """Notes moved in time and pitch."""
    return tuple(
        replace(one, onset_s=one.onset_s + by_s, offset_s=one.offset_s + by_s, midi=one.midi + up)
        for one in notes
    )


def test_edges_of_made_sessions_are_found() -> None:
    """Ten sessions: nine of ten edges within two seconds, one false one at most."""
    score = Score()
    for seed in range(SEED, SEED + 10):
        session = make_session(seed)
        notes, talk = as_heard(session)
        places = find_sections(find_attacks(notes), talk, session.take.duration_s)
        score.add(seed, session, [one.start_s for one in places[1:]])
    edges = sum(score.edges.values())
    assert edges > 25
    assert score.missed.total() <= edges / 10
    assert score.false <= 1


def test_an_evening_in_small_has_its_three_sections() -> None:
    """Scales, a target, comping; each section begins before its first note and ends after it."""
    notes = evening()
    found = sections(notes)
    assert len(found) == 3
    for one in found:
        inside = [note for note in notes if one.start_s <= note.onset_s < one.end_s]
        assert 0 < inside[0].onset_s - one.start_s <= 0.51
        assert max(note.offset_s for note in inside) <= one.end_s
    assert sum(
        one.start_s <= note.onset_s < one.end_s for one in found for note in notes
    ) == len(notes)  # fmt: skip


@pytest.mark.parametrize("seed", [SEED, SEED + 1, SEED + 2, SEED + 3])
def test_a_take_alone_is_one_section(seed: int) -> None:
    """Comping, and a target through keys with breaths between."""
    assert len(sections(heard(make_take(seed, LISTED)))) == 1
    assert len(sections(heard(make_practised(seed).take))) == 1


def test_a_piece_begun_again_is_one_section() -> None:
    """Passes of one thing, with some seconds between, go on; after a long rest they do not."""
    take = make_take(SEED + 4, LISTED)
    assert len(sections(in_a_row(take, take, rest_s=2.5))) == 1
    assert len(sections(in_a_row(take, take, rest_s=14.0))) == 2


def test_talk_between_two_pieces_is_an_edge() -> None:
    """A pause that would be none by itself."""
    take = make_take(SEED + 5, LISTED)
    notes = in_a_row(take, make_take(SEED + 6, LISTED), rest_s=7.0)
    gap = max(pairwise(notes), key=lambda pair: pair[1].onset_s - pair[0].onset_s)
    talk = Span(start_s=gap[0].offset_s + 0.5, end_s=gap[1].onset_s - 0.5, kind="talk")
    assert len(sections(notes, (talk,))) == 2


def test_chorales_of_another_pen() -> None:
    """Two chorales with a rest between are two sections; one is one, fermatas and all."""
    one, other = chorale("bach/bwv66.6"), chorale("bach/bwv269")
    assert len(sections(one)) == 1
    assert len(sections(other)) == 1
    end_s = max(note.offset_s for note in one)
    found = sections((*one, *later(other, end_s + 14.0)))
    assert len(found) == 2
    assert end_s < found[1].start_s < end_s + 15.5


@pytest.mark.parametrize(("by_s", "up"), [(100.0, 0), (0.0, 3), (33.3, -2)])
def test_sections_do_not_depend_on_the_clock_or_the_key(by_s: float, up: int) -> None:
    """Moved as a whole, the notes fall into the same sections."""
    notes = evening()
    before, after = sections(notes), sections(later(notes, by_s, up))
    assert [one.start_s + by_s for one in before] == pytest.approx(
        [one.start_s for one in after], abs=0.02
    )


def test_nothing_heard_is_no_section() -> None:
    """Silence, and a single chord."""
    assert find_sections((), (), 10.0) == ()
    assert len(sections(heard(make_take(SEED, LISTED))[:3])) == 1
