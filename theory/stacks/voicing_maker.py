"""From a sounding and its chord to a voicing record: degrees, hands, kinds, warnings."""

import math
from collections.abc import Sequence
from dataclasses import replace

from stackline.shared.harmony import ChordSpan, Tone, Voicing
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import (
    pitch_class_of,
    single_accidental,
    spell_degree,
    with_octave,
)
from stackline.theory.sounding import Sounding
from stackline.theory.stacks import kinds
from stackline.theory.stacks.chord_degrees import degrees_over
from stackline.theory.stacks.doublings import doublings
from stackline.theory.stacks.hands import split_hands
from stackline.theory.stacks.line_over import under
from stackline.theory.stacks.low_limits import low_warnings
from stackline.theory.stacks.structures import locked_runs, structures

MOST_KEYS = 10


def note_confidence(sounding: Sounding) -> float:
    """The chance that every note is right: of each, that it was struck and whose it is."""
    struck = math.prod(note.confidence for note in sounding.notes)
    return struck * math.prod(max(one.line, 1 - one.line) for one in sounding.attack.struck)


def make_voicing(sounding: Sounding, chord: ChordSpan) -> Voicing:
    """The record of one attack under one chord."""
    pitches = sounding.pitches
    degrees = degrees_over(chord.symbol, pitches)
    names = [
        with_octave(single_accidental(spell_degree(chord.symbol.root, degree)), pitch)
        for degree, pitch in zip(degrees, pitches, strict=True)
    ]
    over = under(sounding.attack, chord.symbol, pitches)
    hands = split_hands(pitches, right_is_busy=bool(over))
    root = pitch_class_of(chord.symbol.root)
    warnings = hands.warnings + low_warnings(pitches, names)
    if len(pitches) > MOST_KEYS:
        warnings += (f"{len(pitches)} notes at once are more than ten fingers play",)
    return Voicing(
        attack=sounding.attack,
        chord=chord,
        tones=tuple(
            Tone(
                midi=pitch,
                name=name,
                degree=degree,
                hand="left" if i < hands.left_count else "right",
                held=pitch in sounding.held,
            )
            for i, (pitch, name, degree) in enumerate(zip(pitches, names, degrees, strict=True))
        ),
        structures=structures(pitches, root, quality(chord.symbol.quality).family),
        doublings=doublings(pitches, degrees),
        hands_confidence=hands.confidence,
        confidence=note_confidence(sounding),
        warnings=warnings,
        under=over,
    )


def mark_locked(voicings: Sequence[Voicing]) -> tuple[Voicing, ...]:
    """Block chords that come three or more in a row with a stepwise top are locked hands."""
    blocks = [kinds.BLOCK in voicing.structures for voicing in voicings]
    locked = locked_runs(blocks, [voicing.top.midi for voicing in voicings])
    return tuple(
        replace(voicing, structures=_renamed(voicing.structures)) if in_run else voicing
        for voicing, in_run in zip(voicings, locked, strict=True)
    )


def _renamed(names: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(kinds.LOCKED if name == kinds.BLOCK else name for name in names)
