"""Tracking on hand-made activations, where the notes are known by construction."""

import itertools
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stackline.listen.general.chunks import MARGIN_S, with_margins
from stackline.listen.general.tracking import Around, Strikes, Tracking, candidates, track
from stackline.shared.notes import Note
from stackline.shared.sound import Activations
from stackline.shared.units import LOWEST_MIDI, N_KEYS

RATE = Fraction(22_050, 256)


def activations(
    n_frames: int, struck: Sequence[tuple[float, int, float]] | None = None, *, ring: int = 40
) -> Activations:
    """Strikes (frame, key, height): a triangle of onset, `ring` frames of sounding."""
    onset = np.full((n_frames, N_KEYS), 0.02, np.float32)
    frame = np.zeros((n_frames, N_KEYS), np.float32)
    for at, key, height in struck or []:
        for row in range(max(0, int(at) - 3), min(n_frames, int(at) + 5)):
            value = height * max(0.0, 1.0 - abs(row - at) / 3.0)
            onset[row, key] = max(onset[row, key], value)
        frame[int(at) : int(at) + ring, key] = 0.8
    return Activations(onset=onset, frame=frame, frame_rate_hz=RATE)


def cut(whole: Activations, places: list[int]) -> list[Activations]:
    """The same activations in consecutive chunks."""
    bounds = [0, *sorted(places), len(whole.onset)]
    return [
        Activations(
            onset=whole.onset[a:b],
            frame=whole.frame[a:b],
            frame_rate_hz=whole.frame_rate_hz,
            first_frame=a,
        )
        for a, b in itertools.pairwise(bounds)
    ]


def frames_at(note: Note) -> float:
    """A note's onset in frames."""
    return note.onset_s * float(RATE)


def test_a_strike_is_a_note() -> None:
    """Time, key, end and confidence of one clear strike."""
    (note,) = track([activations(300, [(100, 39, 0.9)], ring=50)], Tracking())
    assert note.midi == LOWEST_MIDI + 39
    assert frames_at(note) == pytest.approx(100, abs=0.1)
    assert note.offset_s * float(RATE) == pytest.approx(150, abs=1)
    assert note.confidence == pytest.approx(0.9, abs=0.01)


@pytest.mark.parametrize("part", [0.0, 0.2, 0.4, 0.6, 0.8])
def test_a_strike_between_frames_is_placed_between_them(part: float) -> None:
    """To a quarter of a frame, 3 ms, where whole frames would be half a frame off."""
    (note,) = track([activations(300, [(100 + part, 39, 0.9)])], Tracking())
    assert frames_at(note) == pytest.approx(100 + part, abs=0.25)


def test_an_ear_s_own_nudge_is_taken() -> None:
    """An ear that hears finer than its frames says so."""
    plain = activations(300, [(100, 39, 0.9)])
    nudge = np.full(plain.onset.shape, 0.004, np.float32)
    nudged = Activations(onset=plain.onset, frame=plain.frame, frame_rate_hz=RATE, nudge_s=nudge)
    (note,) = track([nudged], Tracking())
    assert note.onset_s == pytest.approx(100 / float(RATE) + 0.004, abs=1e-4)


@pytest.mark.parametrize("at", [0, 1, 298, 299])
def test_strikes_at_the_very_ends_are_heard(at: int) -> None:
    """The first and the last frame count like any other."""
    (note,) = track([activations(300, [(at, 39, 0.9)])], Tracking())
    assert frames_at(note) == pytest.approx(at, abs=0.6)
    assert note.offset_s >= note.onset_s


def test_a_key_struck_again_ends_its_first_note() -> None:
    """Both are notes, and no key sounds twice at once."""
    first, second = track([activations(300, [(100, 39, 0.9), (130, 39, 0.7)])], Tracking())
    assert first.offset_s == second.onset_s


def test_strikes_too_close_are_one_the_likelier() -> None:
    """Five frames apart is 58 ms: nobody repeats a key that fast."""
    struck = [(100, 39, 0.6), (105, 39, 0.9)]
    (note,) = track([activations(300, struck)], Tracking(peak_s=0.02))
    assert frames_at(note) == pytest.approx(105, abs=0.5)


def test_faint_strikes_count_inside_an_attack_only() -> None:
    """The lower floor holds where other keys are struck at the same time."""
    settings = Tracking(floor=0.5, floor_in_attack=0.2, keep=0.0)
    struck = [(100, 39, 0.9), (101, 43, 0.3), (200, 43, 0.3)]
    keys = [
        (note.midi - LOWEST_MIDI, round(frames_at(note)))
        for note in track([activations(300, struck)], settings)
    ]
    assert keys == [(39, 100), (43, 101)]


def test_the_judge_decides() -> None:
    """Whatever is given a chance below `keep` is no note."""

    def no_octaves(around: Around) -> np.ndarray:
        return np.where(around.keys == 51, 0.1, 0.8)

    notes = track([activations(300, [(100, 39, 0.9), (100, 51, 0.9)])], Tracking(judge=no_octaves))
    assert [note.midi for note in notes] == [LOWEST_MIDI + 39]
    assert notes[0].confidence == 0.8


def look_around(around: Around) -> np.ndarray:
    """A judge whose chance depends on everything within its margin."""
    reach = int(MARGIN_S * around.frames_per_s)
    sums = [around.onset[row - reach : row + reach + 1].sum() for row in around.rows]
    return 0.5 + 0.5 * (np.array(sums) % 1.0)


@given(
    places=st.lists(st.integers(1, 899), unique=True, max_size=5),
    seed=st.integers(0, 50),
)
@settings(deadline=None, max_examples=40)
def test_chunks_give_what_the_whole_gives(places: list[int], seed: int) -> None:
    """Wherever a recording is cut, notes and confidences are the same."""
    rng = np.random.default_rng(seed)
    struck = [
        (float(rng.uniform(0, 895)), int(rng.integers(88)), float(rng.uniform(0.3, 1)))
        for _ in range(40)
    ]
    whole = activations(900, struck)
    rules = Tracking(judge=look_around, floor_in_attack=0.15)
    assert track(cut(whole, places), rules) == track([whole], rules)


@given(st.lists(st.integers(1, 499), unique=True, max_size=6))
def test_own_rows_are_all_rows_in_order(places: list[int]) -> None:
    """Margins are only looked at: each row is decided in one window."""
    whole = activations(500)
    own = [
        row + window.first_frame
        for window, core in with_margins(cut(whole, places))
        for row in range(core.start, core.stop)
    ]
    assert own == list(range(500))


def test_a_gap_between_chunks_is_a_fault() -> None:
    """Lost frames would move every later note."""
    first, _, last = cut(activations(300), [100, 200])
    with pytest.raises(ValueError, match="must follow each other: 200 after 100"):
        track([first, last], Tracking())


def test_nothing_gives_nothing() -> None:
    """No chunks, or no strikes: no notes, no candidates."""
    assert track([], Tracking()) == ()
    assert track([activations(300)], Tracking()) == ()
    assert sum(len(one.rows) for one in candidates([activations(300)], Tracking())) == 0


def test_a_review_sees_all_strikes_of_the_take_and_what_the_judge_saw() -> None:
    """It may drop one for another's sake, however far apart, and raise one that was faint."""
    seen: list[Strikes] = []

    def judge(around: Around) -> np.ndarray:
        chance = around.onset[around.rows, around.keys]
        return np.column_stack((chance, around.keys, around.rows + around.first_frame))

    def second_only(strikes: Strikes) -> np.ndarray:
        seen.append(strikes)
        return np.where(strikes.key == 51, 0.9, 0.1)

    struck = [(100, 39, 0.9), (500, 51, 0.3), (500, 40, 0.9)]
    rules = Tracking(judge=judge, review=second_only, review_from=0.25)
    (note,) = track(cut(activations(700, struck), [250]), rules)
    assert note.midi == LOWEST_MIDI + 51
    assert note.confidence == pytest.approx(0.9)
    assert seen[0].seen.tolist() == [[39, 100], [40, 500], [51, 500]]
