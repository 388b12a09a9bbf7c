"""A target from what was played: the voicings of a stretch of a take, as degrees of a key.

Voicings struck again directly after themselves count once. Lengths come from the beat grid,
to the nearest whole beat, or are bars where there is none. The stack keeps its spacing:
a note more than an octave above the one below it gets its apostrophes.
"""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from stackline.practice.targets.numerals import read_key
from stackline.practice.targets.stack import spaced
from stackline.practice.targets.target_text import BEATS_IN_BAR
from stackline.practice.targets.targets import DOMINANTS, Target, TargetChord
from stackline.shared.complaint import Complaint
from stackline.shared.harmony import Voicing
from stackline.shared.take import Take
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of

MOST_CHORDS = 32  # longer is a tune, not a study (ours)


def target_from_take(
    take: Take, *, from_s: float | None = None, to_s: float | None = None, key: str | None = None
) -> Target:
    """The voicings between two times as a target named after the take.

    key: the tonic to count from; without it, it follows from the last chord. Raises
    Complaint when nothing, or more than 32 chords, lie there.
    """
    start = 0.0 if from_s is None else from_s
    end = take.source.duration_s if to_s is None else to_s
    found = [one for one in take.voicings if start <= one.attack.onset_s < end]
    if not found:
        raise Complaint(f"no voicing lies between {start:g} and {end:g} s; choose other times")
    once = _once(found)
    if len(once) > MOST_CHORDS:
        raise Complaint(
            f"{len(once)} voicings lie between {start:g} and {end:g} s; "
            f"choose a stretch of at most {MOST_CHORDS} with --from and --to"
        )
    tonic = read_key(key) if key else _tonic(once[-1])
    beat_s = 60.0 / take.grid.tempo_bpm if take.grid.tempo_bpm else None
    ends = [one.attack.onset_s for one in once[1:]] + [min(end, once[-1].chord.end_s)]
    chords = tuple(_chord(one, tonic, until, beat_s) for one, until in zip(once, ends, strict=True))
    return Target(name=take.source.name, chords=chords)


def _once(voicings: Sequence[Voicing]) -> list[Voicing]:
    kept: list[Voicing] = []
    for one in voicings:
        if not kept or kept[-1].pitches != one.pitches:
            kept.append(one)
    return kept


def _tonic(last: Voicing) -> int:
    root = pitch_class_of(last.chord.symbol.root)
    dominant = quality(last.chord.symbol.quality).family in DOMINANTS
    return (root + 5) % 12 if dominant else root


def _chord(voicing: Voicing, tonic: int, until_s: float, beat_s: float | None) -> TargetChord:
    beats = round((until_s - voicing.attack.onset_s) / beat_s) if beat_s else BEATS_IN_BAR
    symbol = voicing.chord.symbol
    chord = TargetChord(
        offset=(pitch_class_of(symbol.root) - tonic) % 12,
        quality=symbol.quality,
        beats=Fraction(max(1, beats)),
    )
    return replace(chord, stack=spaced(voicing.stack, voicing.pitches))
