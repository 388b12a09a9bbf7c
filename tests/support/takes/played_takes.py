"""Takes as they come from playing: random notes over a pulse, read by the theory room."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from hypothesis import strategies as st

from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.attacks.grid import with_positions
from stackline.shared.notes import Attack, Beat, BeatGrid, Note
from stackline.shared.take import Source, Take
from stackline.theory.reading import read

BEAT_S = 0.75  # 80 beats a minute: a quarter of a beat is wider than any attack
FIRST_S = 0.6
PARTS = (Fraction(0), Fraction(1, 2), Fraction(1, 3), Fraction(2, 3), Fraction(1, 4))


def grid_of(beats: int, per_bar: int = 4, first: int = 1) -> BeatGrid:
    """A steady pulse; first: the number of its first beat (above 1 gives a pickup)."""
    return BeatGrid(
        beats=tuple(
            Beat(time_s=FIRST_S + i * BEAT_S, number=(first - 1 + i) % per_bar + 1)
            for i in range(beats)
        ),
        tempo_bpm=60 / BEAT_S,
        beats_per_bar=per_bar,
        source="heard",
        confidence=0.9,
    )


def take_of(notes: Sequence[Note], grid: BeatGrid, *, name: str = "played.wav") -> Take:
    """Notes through attacks, positions and the theory room."""
    ordered = tuple(sorted(notes, key=lambda note: (note.onset_s, note.midi)))
    attacks = with_positions(find_attacks(ordered), grid)
    return take_from(ordered, attacks, grid, name=name)


def take_from(
    notes: tuple[Note, ...], attacks: tuple[Attack, ...], grid: BeatGrid, *, name: str
) -> Take:
    """A take of attacks whose positions are known."""
    end_s = max((note.offset_s for note in notes), default=0.0) + 1.0
    reading = read(attacks, grid, end_s=end_s)
    return Take(
        source=Source(name=name, duration_s=end_s, sha256="0" * 64),
        ear="made notes 1", tuning_cents=0.0, grid=grid, notes=notes, attacks=attacks,
        voicings=reading.voicings, motions=reading.motions, version="0.1.0",
    )  # fmt: skip


def struck(pitches: Sequence[int], beat: Fraction, beats: float) -> list[Note]:
    """Keys struck together at a beat from the first (0), held for some beats."""
    start = FIRST_S + float(beat) * BEAT_S
    return [
        Note(onset_s=start + 0.002 * i, offset_s=start + beats * BEAT_S, midi=midi, velocity=70,
             confidence=0.95)
        for i, midi in enumerate(sorted(pitches))
    ]  # fmt: skip


@st.composite
def played_takes(draw: st.DrawFn, *, barred: bool | None = None) -> Take:
    """Up to eight attacks, from touches to two-handed chords, ringing on over each other."""
    per_bar = draw(st.sampled_from([3, 4, 5]))
    grid = grid_of(40, per_bar, draw(st.integers(1, per_bar)))
    if barred is False or (barred is None and draw(st.booleans())):
        grid = replace(grid, beats=(), tempo_bpm=None)
    notes: list[Note] = []
    beat = Fraction(0)
    ends: dict[int, float] = {}
    for _ in range(draw(st.integers(1, 8))):
        place = beat + draw(st.sampled_from(PARTS))
        start = float(place)
        pitches = draw(st.sets(st.integers(34, 84), min_size=1, max_size=6))
        free = [midi for midi in pitches if ends.get(midi, -1.0) <= start]
        for midi in free:
            length = draw(st.sampled_from([0.3, 0.8, 1.1, 2.0, 3.6]))
            notes += struck([midi], place, length)
            ends[midi] = start + length
        beat = beat + draw(st.integers(1, 4))
    return take_of(notes, grid)
