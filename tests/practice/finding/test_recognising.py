"""What a section is practice of: the target that is played, and nothing in foreign music.

Foreign music that we did not write: changes of real tunes, dressed, and chorales by J. S. Bach
from music21's corpus. Seeds and tunes are not those that figures are quoted for.
"""

from dataclasses import replace
from functools import cache

import pytest

from fixtures.played.foreign import tune
from fixtures.played.practised import PractisedTake, make_practised
from fixtures.played.sessions import heard
from fixtures.played.takes import LISTED, make_take
from stackline.pipeline import read_notes
from stackline.practice.finding.recognising import SURE, recognise, with_recognised
from stackline.practice.targets.target_file import built_in
from stackline.practice.written.session_page import render as render_page
from stackline.practice.written.session_text import render
from stackline.shared.notes import BeatGrid, CutFrom, Note
from stackline.shared.take import Recognised, Section, Session, Take


def _take(notes: tuple[Note, ...]) -> Take:
    return read_notes(notes, beats=BeatGrid(), line="none")


@cache
def practised(seed: int) -> tuple[PractisedTake, tuple[Recognised, ...]]:
    """A made practice take, and what is recognised in it."""
    made = make_practised(seed, keys=5)
    return made, recognise(_take(heard(made.take)), built_in())


@pytest.mark.parametrize("seed", [48_000, 48_001, 48_002, 48_003, 48_004])
def test_the_target_that_is_played_is_the_first(seed: int) -> None:
    """Faults in it and all; its passes and keys are those that were played."""
    made, found = practised(seed)
    assert found
    assert found[0].target == made.target.name
    whole = [one for one in made.passes if one.finished]
    assert found[0].passes == pytest.approx(len(whole), abs=1)
    assert set(found[0].keys) <= {one.key for one in whole}
    assert found[0].start_s == pytest.approx(made.passes[0].start_s, abs=0.3) or (
        not made.passes[0].finished
    )


def test_most_practice_is_kept_without_asking() -> None:
    """Of five takes three at least are sure."""
    sure = [practised(seed)[1][0].confidence >= SURE for seed in range(48_000, 48_005)]
    assert sum(sure) >= 3


@pytest.mark.parametrize(("number", "way"), [(1, "rootless"), (11, "block"), (21, "rooted")])
def test_real_tunes_are_practice_of_nothing(number: int, way: str) -> None:
    """Many a ii-V-I is in them."""
    found = recognise(_take(heard(tune(number, way, 48_000))), built_in())
    assert not [one for one in found if one.confidence >= SURE]


def test_a_chorale_and_free_comping_are_practice_of_nothing() -> None:
    """Nothing is even asked."""
    from music21 import corpus

    beat_s = 0.8
    chorale = tuple(
        Note(
            onset_s=float(one.offset) * beat_s,
            offset_s=float(one.offset + one.quarterLength) * beat_s,
            midi=pitch.midi, velocity=64, confidence=1.0,
        )
        for one in corpus.parse("bach/bwv66.6").flatten().notes if one.quarterLength
        for pitch in one.pitches
    )  # fmt: skip
    assert recognise(_take(chorale), built_in()) == ()
    free = recognise(_take(heard(make_take(48_010, LISTED))), built_in())
    assert not [one for one in free if one.confidence >= SURE]


def _session() -> Session:
    """Two sections of one recording, the second of a target."""
    made, _ = practised(48_000)
    takes = [_take(heard(make_take(48_010, LISTED))), _take(heard(made.take))]
    sections, at_s = [], 2.0
    for number, take in enumerate(takes, start=1):
        end_s = at_s + take.source.duration_s
        cut = CutFrom(
            name="<evening>.m4a", sha256="ab", number=number, start_s=at_s, end_s=end_s
        )  # fmt: skip
        source = replace(take.source, name=f"<evening>-{number}.m4a", cut_from=cut)
        sections.append(Section(take=replace(take, source=source)))
        at_s = end_s + 10.0
    source = replace(takes[0].source, name="<evening>.m4a", sha256="ab", duration_s=at_s)
    return with_recognised(Session(source=source, sections=tuple(sections)), built_in())


def test_text_and_page_say_what_was_played_where() -> None:
    """Both clocks, the target's name; names from outside cannot become markup."""
    session = _session()
    target = practised(48_000)[0].target.name
    text = render(session)
    assert "2 sections in" in text
    assert target in text
    assert "by its own clock" in text
    page = render_page(session, {2: "evening 2.html"})
    assert "<evening>" not in page
    assert 'href="evening%202.html"' in page
    assert "&lt;evening&gt;-1.m4a" in page
    assert page.count("<rect") == 2


def test_a_session_in_which_nothing_is_heard_says_so() -> None:
    """No table, no picture."""
    empty = replace(_session(), sections=())
    assert "nothing was heard" in render(empty)
    assert "Nothing was heard" in render_page(empty)
