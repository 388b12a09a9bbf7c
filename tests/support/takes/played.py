"""Attacks and voicings for theory tests, made by hand."""

from collections.abc import Sequence

from stackline.shared.harmony import ChordSpan, Voicing
from stackline.shared.notes import Attack, Beat, BeatGrid, Note
from stackline.theory.chords.symbols import parse_symbol
from stackline.theory.sounding import soundings
from stackline.theory.stacks.voicing_maker import make_voicing


def note(midi: int, onset_s: float, end_s: float, confidence: float = 0.98) -> Note:
    """One struck note."""
    return Note(onset_s=onset_s, offset_s=end_s, midi=midi, velocity=70, confidence=confidence)


def attack(
    onset_s: float, pitches: Sequence[int], *, length_s: float = 1.8, held: Sequence[Note] = ()
) -> Attack:
    """Notes struck together, and notes still ringing."""
    struck = tuple(note(p, onset_s, onset_s + length_s) for p in sorted(pitches))
    return Attack(onset_s=onset_s, spread_s=0.0, struck=struck, held=tuple(held))


def attacks(*stacks: Sequence[int], every_s: float = 2.0) -> list[Attack]:
    """Stacks one after another, evenly spaced."""
    return [attack(i * every_s, stack) for i, stack in enumerate(stacks)]


def grid(beats: int = 64, beat_s: float = 0.5) -> BeatGrid:
    """A steady pulse in 4/4 from 0 s."""
    return BeatGrid(
        beats=tuple(Beat(time_s=i * beat_s, number=i % 4 + 1) for i in range(beats)),
        tempo_bpm=60.0 / beat_s,
        source="heard",
        confidence=0.9,
    )


def voicing(
    symbol: str, pitches: Sequence[int], onset_s: float = 0.0, confidence: float = 0.95
) -> Voicing:
    """A voicing under a chord that is stated, not labelled."""
    (step,) = soundings([attack(onset_s, pitches)])
    span = ChordSpan(
        start_s=onset_s,
        end_s=onset_s + 2.0,
        symbol=parse_symbol(symbol),
        source="heard",
        confidence=confidence,
    )
    return make_voicing(step, span)


def voicings(*pairs: tuple[str, Sequence[int]]) -> tuple[Voicing, ...]:
    """Stated voicings two seconds apart."""
    return tuple(voicing(symbol, stack, 2.0 * i) for i, (symbol, stack) in enumerate(pairs))
