"""Which notes of an attack make the voicing, and what the other attacks are evidence of.

Under a pedal everything rings on, and the sound cannot tell a finger from a pedal. The rule
(ours, chosen so that ordinary comping gives the struck chord and a top voice that moves over a
held chord gives both). Notes of a line over the comping (`Note.line`) are no part of any voicing
and no evidence of a chord: named from the comping alone, more chords are right
(bench/sorting/lines.py).

1. Three or more different pitch classes struck: the voicing is what was struck.
2. Fewer struck: held notes join if they were tones of the voicing before and still sound,
   without those a semitone away from a struck note (a voice that has moved on), and only
   if at least as many are left as were struck, and at least two.
3. A lone pitch class struck low and apart (a bass note touched under a held chord) is no
   voicing; nor is anything with one pitch class. Both are evidence: of the root, or of
   the chord's colour.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from stackline.shared.notes import Attack, Note

BASS_TOP = 52  # E3: lone notes up to here are read as a bass
DEEP_TOP, DEEP_GAP = 48, 7  # a stack's lowest note that is as low and as far apart as a bass
StepKind = Literal["voicing", "bass", "melody"]


@dataclass(frozen=True, kw_only=True)
class Sounding:
    """An attack as the labeller sees it: kind, and rising notes with those held marked."""

    attack: Attack
    kind: StepKind
    notes: tuple[Note, ...]
    held: frozenset[int] = frozenset()

    @property
    def pitches(self) -> tuple[int, ...]:
        return tuple(note.midi for note in self.notes)

    @property
    def deep(self) -> bool:
        """Whether the lowest note lies low and apart, as a bass would."""
        low = self.pitches
        return low[0] < DEEP_TOP and (len(low) < 2 or low[1] - low[0] >= DEEP_GAP)


def soundings(attacks: Sequence[Attack]) -> tuple[Sounding, ...]:
    """One record per attack in which something is comped, in order."""
    found: list[Sounding] = []
    last: Sounding | None = None
    for attack in attacks:
        if not attack.comped:
            continue
        one = _sounding(attack, last)
        found.append(one)
        if one.kind == "voicing":
            last = one
    return tuple(found)


def _sounding(attack: Attack, last: Sounding | None) -> Sounding:
    struck = {note.midi: note for note in attack.comped}
    classes = {midi % 12 for midi in struck}
    if len(classes) >= 3:
        return _voicing(attack, struck, {})
    kept = _kept(attack, struck, last)
    enough = len(kept) >= max(2, len(struck))
    bass = len(classes) == 1 and max(struck) <= BASS_TOP and all(m > max(struck) for m in kept)
    if enough and not bass:
        return _voicing(attack, struck, kept)
    if len(classes) == 2:
        return _voicing(attack, struck, {})
    kind: StepKind = "bass" if max(struck) <= BASS_TOP else "melody"
    return Sounding(attack=attack, kind=kind, notes=tuple(struck[m] for m in sorted(struck)))


def _kept(attack: Attack, struck: dict[int, Note], last: Sounding | None) -> dict[int, Note]:
    """Held notes that may still be under a finger."""
    if last is None:
        return {}
    before = set(last.pitches)
    return {
        note.midi: note
        for note in attack.held
        if note.midi in before
        and not note.is_of_line
        and note.midi not in struck
        and not {note.midi - 1, note.midi + 1} & set(struck)
    }


def _voicing(attack: Attack, struck: dict[int, Note], kept: dict[int, Note]) -> Sounding:
    every = struck | kept
    return Sounding(
        attack=attack,
        kind="voicing",
        notes=tuple(every[midi] for midi in sorted(every)),
        held=frozenset(kept),
    )
