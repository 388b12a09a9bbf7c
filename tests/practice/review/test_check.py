"""Checking a take against a target: passes found, voicings compared, faults named."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from bench.practising.check import Tallied, review_truth, score
from fixtures.played.practised import make_practised
from stackline.cli import commands
from stackline.listen.attacks.attacks import find_attacks
from stackline.practice.finding.gestures import gestures
from stackline.practice.review.review_records import PassReview, Review
from stackline.practice.review.reviewing import review, review_gestures, verdict
from stackline.practice.targets.target_file import parse_set
from stackline.practice.targets.target_text import parse_target
from stackline.practice.written.fault_words import in_words
from stackline.practice.written.next_thing import next_thing
from stackline.practice.written.review_text import render, state_words
from stackline.shared.codec.codec_write import to_json
from tests.support.rates import value
from tests.support.takes.practice_scenes import (
    TARGET_TEXT,
    TWO_FIVE,
    gestures_of,
    notes_of,
    played,
    take_of,
)

TARGET = parse_target(TARGET_TEXT, name="study")
II, V, I = TWO_FIVE  # noqa: E741


def reviewed(*rows: tuple[float, tuple[int, ...]], length_s: float = 0.9) -> Review:
    """A review of rows of (onset, pitches) against the study."""
    return review_gestures(gestures_of(rows, length_s=length_s), TARGET, "study")


def only(found: Review) -> PassReview:
    """The one pass of a review."""
    assert len(found.passes) == 1
    return found.passes[0]


def kinds(one: PassReview) -> list[tuple[str, str | None, str | None]]:
    """What a pass was faulted for: kind, degree, what came instead."""
    return [(fault.kind, fault.degree, fault.came) for fault in one.faults]


def test_a_clean_pass_is_clean() -> None:
    """Key, tempo, top line, guide tones, resolutions and statuses of a pass as written."""
    one = only(reviewed(*played(II, V, I)))
    assert (one.key_name, one.clean, one.faults) == ("C", True, ())
    assert one.tempo_bpm == pytest.approx(240)
    assert [v.compared.status for v in one.voicings] == ["exact"] * 3
    assert [str(v.top.played) for v in one.voicings] == ["9", "13", "9"]
    assert [v.top.semitones for v in one.voicings] == [None, 0, -2]
    outcomes = {
        str(x.resolution.degree): (x.resolution.outcome, str(x.meant)) for x in one.landings
    }
    # The b7 falls to the 3, the b9 to the 5, the 13 to the 9 (common practice).
    assert outcomes["b7"] == ("landed", "3")
    assert outcomes["b9"] == ("landed", "5")
    assert outcomes["13"] == ("landed", "9")


@settings(deadline=None)
@given(
    up=st.lists(st.integers(-6, 12), min_size=1, max_size=4),
    pace=st.floats(0.4, 3.0),
)
def test_passes_are_found_in_any_key_order_and_tempo(up: list[int], pace: float) -> None:
    """Every pass of a sequence comes back with its key, and none is made up."""
    rows, at = [], 0.5
    for step in up:
        rows += played(II, V, I, start_s=at, every_s=pace, up=step)
        at += 3 * pace + 1.0
    found = reviewed(*rows, length_s=0.3)
    assert [one.key for one in found.passes] == [step % 12 for step in up]
    assert all(one.clean for one in found.passes)
    assert found.false_starts == ()


def test_a_false_start_is_told_apart() -> None:
    """Two chords, a wait, then the whole: one false start of two chords, one pass."""
    rows = played(II, V) + played(II, V, I, start_s=4.5)
    found = reviewed(*rows)
    assert [(one.key_name, one.reached) for one in found.false_starts] == [("C", 2)]
    assert only(found).clean


def test_a_single_chord_begun_again_is_a_false_start() -> None:
    """The first chord, a long wait, then the whole from the beginning."""
    found = reviewed(*(played(II) + played(II, V, I, start_s=5.0)))
    assert [one.reached for one in found.false_starts] == [1]
    assert only(found).start_s == pytest.approx(5.0)


def test_chords_struck_again_are_no_false_start() -> None:
    """Comping twice on each chord is one pass."""
    found = reviewed(*played(II, II, V, V, I, I, every_s=0.6), length_s=0.5)
    assert only(found).clean
    assert found.false_starts == ()


def test_free_playing_holds_no_pass() -> None:
    """Triads that have nothing to do with the target."""
    found = reviewed(*played((60, 64, 67), (62, 66, 69), (59, 62, 67), (60, 63, 67)))
    assert found.passes == ()
    assert "No whole pass" in next_thing(found)


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        (((53, 57, 61, 64), V, I), ("wrong note", "b7", "7")),
        ((II, (53, 56, 64), I), ("missing guide tone", "3", None)),
        ((II, (53, 59, 64), I), ("missing note", "b9", None)),
        ((II, V, (52, 56, 57, 62)), ("did not resolve", "b9", "b13")),
        ((II, V, (52, 54, 57, 62)), ("did not resolve", "b9", "#11")),
        ((II, tuple(p + 12 for p in V), I), ("other octave", None, None)),
        ((II, (56, 59, 64, 65), I), ("other order", None, None)),
        ((II, V, (52, 55, 57, 62, 65)), ("added note", None, "11")),
    ],
)
def test_each_fault_is_named(
    rows: tuple[tuple[int, ...], ...], expected: tuple[str, str | None, str | None]
) -> None:
    """One planted fault, worked out by hand, is found once and called by its name."""
    assert kinds(only(reviewed(*played(*rows)))) == [expected]


def test_a_late_resolution_is_late_and_not_wrong() -> None:
    """The Ab is still in the tonic; the G comes half a second later, alone."""
    rows = [*played(II, V), (2.5, (52, 56, 57, 62)), (3.0, (55,))]
    one = only(reviewed(*rows))
    assert kinds(one) == [("late resolution", "b9", None)]
    late = next(x for x in one.landings if str(x.resolution.degree) == "b9")
    assert late.resolution.outcome == "late"


def test_a_mistake_put_right_is_still_what_was_played_first() -> None:
    """The first form counts; that it was mended, and when, is said beside it."""
    rows = [(0.5, (53, 57, 61, 64)), (1.1, II), (2.1, V), (3.1, I)]
    one = only(reviewed(*rows, length_s=0.5))
    assert kinds(one) == [("wrong note", "b7", "7")]
    assert one.voicings[0].put_right_s == pytest.approx(0.6)


def test_waiting_before_the_tonic_is_a_hesitation() -> None:
    """Four beats a second; the tonic comes two beats late against the player's own pulse."""
    one = only(reviewed((0.5, II), (1.5, V), (3.0, I)))
    assert [fault.kind for fault in one.faults] == ["hesitation"]
    wait = next(each for each in one.waits if each.chord == 1)
    assert wait.beats == pytest.approx(6.0)
    assert wait.meant_beats == 4
    assert one.clean  # no note was wrong
    assert state_words(one) == "clean, hesitating"


def test_common_tones_kept_down_count_as_played() -> None:
    """F and E stay under the fingers from the ii; only the two moving notes are struck."""
    rows = ((0.5, II, 1.95), (1.5, (56, 59), 0.9), (2.5, I, 0.9))
    notes = [one for at, row, long in rows for one in notes_of([(at, row)], length_s=long)]
    found = review_gestures(gestures(find_attacks(notes)), TARGET, "study")
    assert [v.compared.status for v in only(found).voicings] == ["exact"] * 3


def test_without_stacks_any_voicing_of_the_chord_will_do() -> None:
    """Guide tones and the written b9 are asked for; a note outside the chord is told."""
    target = parse_target("Dm9 | G7(b9) | Cmaj7", name="free")
    fine = played((53, 60, 64), (53, 59, 68), (52, 59, 67))
    assert review_gestures(gestures_of(fine), target, "x").passes[0].clean
    bare = played((53, 60, 64), (53, 59, 69), (52, 59, 67))
    found = review_gestures(gestures_of(bare), target, "x").passes[0]
    assert [(fault.kind, fault.degree, fault.came) for fault in found.faults] == [
        ("wrong note", "b9", "9")
    ]


def test_an_altered_dominant_leaves_the_tensions_free() -> None:
    """G7alt with #9 and b13, or with b9 and b13, are both G7alt (common practice)."""
    target = parse_target("V7alt | Im6/9")
    for five in ((53, 58, 59, 63), (53, 56, 59, 63)):
        found = review_gestures(gestures_of(played(five, (51, 55, 57, 62))), target, "x")
        assert only(found).clean


def test_a_written_top_line_is_asked_for() -> None:
    """Any voicing will do, but the tops are to be 9, 13, 9."""
    text = """format = 1
[[target]]
name = "tops"
chords = "IIm9 | V13(b9) | I6/9"
top = "9 13 9"
"""
    target = parse_set(text, "here")[0]
    assert review_gestures(gestures_of(played(II, V, I)), target, "x").passes[0].clean
    other = review_gestures(gestures_of(played(II, V, (50, 52, 55, 57))), target, "x").passes[0]
    assert kinds(other) == [("top line", "9", "6")]


def test_a_chord_that_never_came_is_left_out() -> None:
    """ii, then straight to the I of a longer row."""
    target = parse_target(
        "IIm9: b3 5 b7 9 > V13(b9): b7 b9 3 13 > I6/9: 3 5 6 9 > VI7(b9): 3 5 b7 b9"
    )
    rows = played(II, V, I, (49, 52, 55, 58))
    whole = review_gestures(gestures_of(rows), target, "x").passes[0]
    assert whole.clean
    gap = [row for i, row in enumerate(rows) if i != 1]
    found = review_gestures(gestures_of(gap), target, "x").passes[0]
    assert [fault.kind for fault in found.faults if fault.kind != "hesitation"] == ["left out"]


def test_a_verdict_follows_the_last_passes() -> None:
    """Solid needs the last three clean, on two days: what holds overnight is learnt."""
    assert verdict([], days=0) == "not played"
    assert verdict([True, True, True], days=2) == "solid"
    assert verdict([False, True, True, True], days=2) == "solid"
    assert verdict([True, True, True], days=1) == "coming"
    assert verdict([True, True], days=2) == "coming"
    assert verdict([True, True, True, False], days=2) == "coming"
    assert verdict([False, False], days=2) == "not yet"


def test_one_thing_is_named_to_work_on() -> None:
    """The same fault in two keys outweighs another in one."""
    rows = []
    for i, (up, voicing) in enumerate([(0, (52, 56, 57, 62)), (3, (52, 56, 57, 62)), (5, I)]):
        rows += played(II, V, voicing, start_s=0.5 + 5 * i, up=up)
    found = reviewed(*rows)
    assert next_thing(found).startswith("The b9 of V13(b9) did not land on the 5")
    assert "in C and Eb (2 of 3 passes)" in next_thing(found)
    # What to do: the two chords with their notes, slower than the 240 that went wrong.
    assert "At the piano: G13(b9) (F Ab B E) to C6/9 (E G A D) in C, at 180" in next_thing(found)


@settings(deadline=None)
@given(st.integers(0, 10_000))
def test_transposing_a_take_moves_only_the_key(seed: int) -> None:
    """A made take up by a semitone has the same faults, a key higher."""
    made = make_practised(seed, keys=2)
    found = review_truth(made)
    rows = [(attack.onset_s, tuple(p + 1 for p in attack.pitches)) for attack in made.take.attacks]
    plain = [(attack.onset_s, attack.pitches) for attack in made.take.attacks]
    here = review_gestures(gestures_of(plain, length_s=0.1), made.target, "x")
    there = review_gestures(gestures_of(rows, length_s=0.1), made.target, "x")
    assert [(one.key + 1) % 12 for one in here.passes] == [one.key for one in there.passes]
    assert [kinds(one) for one in here.passes] == [kinds(one) for one in there.passes]
    assert found.passes


def test_planted_faults_are_found_and_named() -> None:
    """Sixty made takes: passes 0.98, faults 0.95 both ways (what the project promises)."""
    tallied = Tallied()
    for seed in range(60):
        made = make_practised(seed)
        score(made, review_truth(made), tallied)
    rates = tallied.rates()
    assert value(rates, "passes found and keyed") >= 0.98
    assert value(rates, "fault recall") >= 0.95
    assert value(rates, "fault precision") >= 0.95


def test_an_unsure_note_is_shown_as_unsure() -> None:
    """Faults heard with little confidence carry a question mark, not a plain accusation."""
    text = render(review(take_of(played((53, 57, 61, 64), V, I), sure=0.7), TARGET))
    assert "- ? (70% sure) the 7 instead of the b7 in IIm9 (Dm9: C# for C)" in text
    assert "clean, 1 unsure" in text
    assert "1 of 1 pass clean" in text


def test_the_order_of_keys_and_repeats_is_told() -> None:
    """C, twice F, and C again."""
    rows = []
    for i, up in enumerate((0, 5, 5, 0)):
        rows += played(II, V, I, start_s=0.5 + 4 * i, up=up)
    assert "4 of 4 passes clean; keys in order: C, F twice, C" in render(reviewed(*rows))


def test_a_lost_doubling_is_a_doubt_from_an_ear_and_a_fault_from_midi() -> None:
    """The octave above a struck note lies within its partials; known notes leave no doubt."""
    target = parse_target("IIm7: 5 b7 R b3 5 > V7: R 3 5 b7 R > I6: 5 6 R 3 5", name="block")
    one, two, three = ((57, 60, 62, 65, 69), (55, 59, 62, 65, 67), (55, 57, 60, 64))
    rows = played(one, two, three)
    heard = only(review(take_of(rows, sure=0.97), target))
    assert (heard.clean, heard.faults) == (True, ())
    assert [in_words(target, doubt) for doubt in heard.doubts] == ["I6 without its second 5"]
    known = only(review(take_of(rows, sure=1.0), target))
    assert kinds(known) == [("missing note", "5", None)]


def test_the_command_checks_a_take_kept_as_json(tmp_path: Path) -> None:
    """Text, JSON and page from one call; exit code 1 where no pass was found."""
    path = tmp_path / "study.json"
    path.write_text(to_json(take_of(played(II, V, (52, 56, 57, 62), up=3))))
    run = CliRunner().invoke
    shown = run(commands, ["check", str(path), "--changes", TARGET_TEXT, "--every"])
    assert shown.exit_code == 0, shown.output
    assert "the b9 of V13(b9) did not land on the 5: stayed" in shown.output
    assert "Eb6/9" in shown.output
    told = run(commands, ["check", str(path), "--changes", TARGET_TEXT, "--json", "-"])
    data = json.loads(told.output)
    assert data["passes"][0]["key"] == "Eb"
    assert data["passes"][0]["faults"][0]["kind"] == "did not resolve"
    none = run(commands, ["check", str(path), "--changes", "V7: R R' > I: R"])
    assert none.exit_code == 1


@pytest.mark.parametrize(
    "words",
    [
        ["check", "x.json"],
        ["check", "x.json", "--changes", "V7", "--target", "shells"],
        ["check", "nowhere.json", "--changes", "V7"],
        ["check", "x.json", "--target", "no such thing at all"],
    ],
)
def test_bad_input_is_complained_about(words: list[str]) -> None:
    """One sentence for the player, no traceback."""
    from stackline.shared.complaint import Complaint

    result = CliRunner().invoke(commands, words)
    assert isinstance(result.exception, Complaint)
