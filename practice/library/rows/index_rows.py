"""A take as rows to search by: one a voicing, one for each of its structures."""

from collections.abc import Collection
from dataclasses import dataclass
from itertools import pairwise

from stackline.shared.harmony import Motion, Voicing
from stackline.shared.take import Take
from stackline.theory.chords.keys import Key
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.form.cadences import keys_said


@dataclass(frozen=True, kw_only=True)
class VoicingRow:
    """What is kept of a voicing for searching; see `stackline.practice.library.schema`."""

    place: int
    onset_s: float
    symbol: str
    root: int
    quality: str
    stack: str
    shape: str
    key: int | None
    move: int | None
    move_degrees: str | None
    confidence: float
    corrected: bool
    structures: tuple[str, ...]
    lowest: int
    highest: int


def voicing_rows(take: Take, corrected: Collection[int] = ()) -> tuple[VoicingRow, ...]:
    """A row for each voicing; corrected: places that the player put right."""
    keys = keys_said(take.voicings)
    into = {motion.to_index: motion for motion in take.motions}
    return tuple(
        _row(place, voicing, keys[place], into.get(place), place in corrected)
        for place, voicing in enumerate(take.voicings)
    )


def _row(
    place: int, voicing: Voicing, key: Key | None, motion: Motion | None, corrected: bool
) -> VoicingRow:
    symbol = voicing.chord.symbol
    top = motion.top if motion else None
    return VoicingRow(
        place=place,
        onset_s=voicing.attack.onset_s,
        symbol=symbol.text,
        root=pitch_class_of(symbol.root),
        quality=symbol.quality,
        stack=stack_text(voicing),
        shape=shape_text(voicing),
        key=key.tonic_pc if key else None,
        move=top.semitones if top else None,
        move_degrees=f"{top.from_degree} > {top.to_degree}" if top else None,
        confidence=min(voicing.confidence, voicing.chord.confidence),
        corrected=corrected,
        structures=voicing.structures,
        lowest=voicing.pitches[0],
        highest=voicing.pitches[-1],
    )


def stack_text(voicing: Voicing) -> str:
    """The degree stack low to high: ``3 13 b7 9``."""
    return " ".join(str(degree) for degree in voicing.stack)


def shape_text(voicing: Voicing) -> str:
    """What makes two voicings the same shape in any key: quality, degrees and gaps."""
    pitches = voicing.pitches
    gaps = " ".join(str(b - a) for a, b in pairwise(pitches))
    return f"{voicing.chord.symbol.quality}: {stack_text(voicing)} ({gaps})"
