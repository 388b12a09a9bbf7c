"""Resolutions within a pass, with the five outcomes of `stackline.theory.motion.resolutions`.

What a degree is due to do comes from theory's one table. Where the target has stacks, only
those degrees are asked for that the target itself leads home, and only the way that it
leads them counts: a 13 that is meant to fall to the 9 has not landed because the 3, which
it might have become, is in the chord as well. Any voice may bring the note that is due.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from stackline.practice.finding.gestures import Gesture
from stackline.practice.finding.pass_records import Arrival
from stackline.practice.review.review_records import Landing
from stackline.practice.targets.targets import Target, TargetChord
from stackline.shared.harmony import ChordSpan, Degree, Voicing
from stackline.shared.notes import Attack, Note
from stackline.theory.motion.guide_tones import first_pairs
from stackline.theory.motion.pairing import pair_voices
from stackline.theory.motion.resolution_rules import shifts_due
from stackline.theory.motion.resolutions import resolution, resolutions
from stackline.theory.sounding import Sounding
from stackline.theory.stacks.voicing_maker import make_voicing

ARRIVING = frozenset({"landed", "other octave"})
_MIDDLE = 60  # MIDI number: middle C


def is_cadence(first: TargetChord, second: TargetChord) -> bool:
    """Whether a dominant is due to resolve from one chord to the next."""
    step = (second.offset - first.offset) % 12
    return bool(shifts_due(first.row.family, second.row.family, step))


@dataclass(frozen=True, kw_only=True)
class Way:
    """Where the target leads a degree: to which degree, by how many semitones."""

    to: Degree
    semitones: int


def intended(target: Target, chord: int) -> dict[str, Way]:
    """Where the target's own voicings lead each due degree of a dominant; by degree.

    Empty where either chord has no stack. A degree that is there twice takes the way of
    its lower note.
    """
    here, there = target.places[chord], target.places[chord + 1]
    if not here or not there:
        return {}
    low = _MIDDLE - here[0] // 12 * 12
    first = _intended_voicing(target.chords[chord], [p + low for p in here])
    second = _intended_voicing(target.chords[chord + 1], [p + low for p in there])
    found: dict[str, Way] = {}
    moves = pair_voices(first.pitches, second.pitches, first_pairs(first, second))
    for one in resolutions(first, [second], moves):
        if one.outcome in ARRIVING and one.to is not None and one.to_midi is not None:
            way = Way(to=one.to, semitones=one.to_midi - one.midi)
            found.setdefault(str(one.degree), way)
    return found


def landings(
    target: Target, chord: int, key: int, first: Arrival, second: Arrival,
    pitches: tuple[tuple[int, ...], tuple[int, ...]],
) -> tuple[Landing, ...]:  # fmt: skip
    """What became of the due degrees between two neighbouring arrivals.

    pitches: what counts as played of each (see `played_pitches`).
    """
    before, after = target.chords[chord], target.chords[chord + 1]
    now = _voicing(first.main, pitches[0], before, key)
    later = [_voicing(second.main, pitches[1], after, key)]
    later += [_voicing(one, one.struck, after, key) for one in second.later]
    moves = pair_voices(pitches[0], pitches[1], first_pairs(now, later[0]))
    if not target.places[chord] or not target.places[chord + 1]:
        asked = [
            one for one in resolutions(now, later, moves)
            if str(one.degree) in before.row.degrees
        ]  # fmt: skip
        return tuple(Landing(chord=chord, meant=None, resolution=one) for one in asked)
    went = {move.from_midi: move.to_midi for move in moves}
    ways = intended(target, chord)
    return tuple(
        Landing(
            chord=chord,
            meant=way.to,
            resolution=resolution(tone, (way.semitones,), later, went[tone.midi], any_voice=True),
        )
        for tone in now.tones
        if (way := ways.get(str(tone.degree))) is not None
    )


def _voicing(gesture: Gesture, pitches: Sequence[int], chord: TargetChord, key: int) -> Voicing:
    notes = tuple(gesture.notes[pitch] for pitch in pitches)
    attack = gesture.attacks[0]
    held = frozenset(pitch for pitch in pitches if pitch not in gesture.struck)
    return _made(attack, notes, held, chord, key)


def _made(
    attack: Attack, notes: tuple[Note, ...], held: frozenset[int], chord: TargetChord, key: int
) -> Voicing:
    span = ChordSpan(
        start_s=attack.onset_s,
        end_s=attack.offset_s,
        symbol=chord.symbol(key),
        source="changes",
        confidence=1.0,
    )
    return make_voicing(Sounding(attack=attack, kind="voicing", notes=notes, held=held), span)


def _intended_voicing(chord: TargetChord, pitches: Sequence[int]) -> Voicing:
    """The target's own voicing in C, as if it had been played."""
    notes = tuple(
        Note(onset_s=0.0, offset_s=1.0, midi=pitch, velocity=64, confidence=1.0)
        for pitch in pitches
    )
    attack = Attack(onset_s=0.0, spread_s=0.0, struck=notes)
    return _made(attack, notes, frozenset(), chord, 0)
