"""Takes with a pulse and passages out of time, made by hand and read by the theory room.

An invented study: rootless ii-V-I progressions, Cm9 F13 Bbmaj9 and a whole step lower. In
time it is at 80 beats a minute with a chord on one and one after two of each bar; out of time a
chord comes whenever the next of `WAITS_S` is over, and rings as long.
"""

from collections.abc import Iterator, Sequence
from itertools import count, cycle, pairwise

from hypothesis import strategies as st

from stackline.shared.notes import Beat, BeatGrid, Note, Passage
from stackline.shared.take import Take
from tests.support.takes.played_takes import BEAT_S, take_of

CHORDS = (
    (51, 55, 58, 62), (51, 55, 57, 62), (50, 53, 57, 60),
    (49, 53, 56, 60), (49, 53, 55, 60), (48, 51, 55, 58),
)  # fmt: skip
WAITS_S = (1.7, 2.6, 1.2, 3.1)
EDGE_S = 0.02  # of a passage, round its attacks

Part = tuple[str, int]  # "time" and how many beats; "free" and how many attacks


def mixed_take(*parts: Part, first: int = 1, per_bar: int = 4, off: float = 0.5) -> Take:
    """A take of parts in turn in time and out of time.

    first: the number of the first beat. off: where off-beats fall, in beats.
    """
    chords, waits, numbers = cycle(CHORDS), cycle(WAITS_S), count(first - 1)
    now, notes, beats, passages = 0.5, [], [], []
    for kind, length in parts:
        if kind == "free":
            onsets = list(_onsets(now, length, waits))
            passages.append(Passage(start_s=onsets[0] - EDGE_S, end_s=onsets[-2] + EDGE_S))
            for onset, following in pairwise(onsets):
                notes += _struck(next(chords), onset, following - onset - 0.1)
            now = onsets[-1]
            continue
        for _ in range(length):
            number = next(numbers) % per_bar + 1
            beats.append(Beat(time_s=now, number=number))
            if number == 1:
                notes += _struck(next(chords), now, BEAT_S)
            elif number == 2:
                notes += _struck(next(chords), now + BEAT_S * off, 1.4 * BEAT_S)
            now += BEAT_S
    grid = BeatGrid(
        beats=tuple(beats), tempo_bpm=60 / BEAT_S, beats_per_bar=per_bar, source="heard",
        confidence=0.9, out_of_time=tuple(passages),
    )  # fmt: skip
    return take_of(notes, grid, name="study.wav")


def _onsets(now: float, length: int, waits: Iterator[float]) -> Iterator[float]:
    """When the attacks of a passage come, and when its last one is over."""
    for _ in range(length):
        yield now
        now += next(waits)
    yield now


def _struck(pitches: Sequence[int], onset_s: float, length_s: float) -> list[Note]:
    return [
        Note(onset_s=onset_s + 0.002 * i, offset_s=onset_s + length_s, midi=midi, velocity=70,
             confidence=0.95)
        for i, midi in enumerate(pitches)
    ]  # fmt: skip


MIXED = {
    "introduction": lambda: mixed_take(("free", 3), ("time", 16)),
    "middle": lambda: mixed_take(("time", 16), ("free", 4), ("time", 16)),
    "ending": lambda: mixed_take(("time", 16), ("free", 3)),
    "broken bar": lambda: mixed_take(("time", 10), ("free", 2), ("time", 14)),
    "everywhere": lambda: mixed_take(("free", 2), ("time", 9), ("free", 1), ("time", 8),
                                     ("free", 3), first=3, per_bar=3),
}  # fmt: skip


@st.composite
def mixed_takes(draw: st.DrawFn) -> Take:
    """Stretches and passages of any length, in turn, in any meter, from any beat of the bar."""
    per_bar = draw(st.sampled_from([3, 4, 5]))
    pair = st.tuples(st.integers(4, 11), st.integers(1, 4))
    lengths = draw(st.lists(pair, min_size=1, max_size=3))
    parts: list[Part] = [one for beats, attacks in lengths
                         for one in (("time", beats), ("free", attacks))]  # fmt: skip
    if draw(st.booleans()):
        parts.insert(0, ("free", draw(st.integers(1, 3))))
    if draw(st.booleans()):
        parts.pop()
    return mixed_take(*parts, first=draw(st.integers(1, per_bar)), per_bar=per_bar)
