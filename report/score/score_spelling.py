"""How notes are spelled on paper, and which of them need a sign.

A note of a voicing keeps the name that its chord gives it; what nobody reads at sight (double
accidentals) is written plainly. A note without a reading takes the name that it has in the
chord before it, else the nearest in the key.

Signs (common practice): one where a note differs from the signature, or from what the same
line or space last had in the bar; also where the same letter had another sign in another
octave of the staff in this bar, as a courtesy. A tied note repeats none.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from stackline.shared.harmony import Voicing
from stackline.shared.take import Take
from stackline.theory.chords.spelling import fifths, nearest_spelling, pitch_class_of, with_octave

_NAME = re.compile(r"([A-G])(b{0,2}|#{0,2})(-?\d+)")
_ROOT = re.compile(r"[A-G](bb?|##?)?")
_SHARPS, _FLATS = "FCGDAEB", "BEADGCF"

Spelled = tuple[str, int, int]  # step, alteration, octave


def spelled(name: str, midi: int) -> Spelled:
    """A name with its octave (``Ab4``) as step, alteration and octave, written plainly.

    A name that is not that pitch's is replaced by a plain one.
    """
    found = _NAME.fullmatch(name)
    if found:
        alter = found[2].count("#") - found[2].count("b")
        step, octave = found[1], int(found[3])
        sounding = 12 * (octave + 1) + pitch_class_of(step) + alter
        if sounding == midi and abs(alter) < 2:
            return step, alter, octave
    place = fifths(found[1] + found[2]) if found else 0
    return _plain(midi, float(max(-7, min(place, 7))))


def _plain(midi: int, place: float) -> Spelled:
    """The spelling of a pitch nearest to a place on the line of fifths, Gb to F#."""
    name = nearest_spelling(midi % 12, place, low=-6, high=6)
    return spelled(with_octave(name, midi), midi)


def nameable(take: Take) -> bool:
    """Whether every chord root is a note name; a file from elsewhere may hold another text."""
    return all(_ROOT.fullmatch(voicing.chord.symbol.root) for voicing in take.voicings)


def signature_alter(step: str, sharps: int) -> int:
    """What a key signature does to a letter: 1, -1 or 0."""
    if sharps > 0:
        return 1 if step in _SHARPS[:sharps] else 0
    return -1 if step in _FLATS[:-sharps] else 0


class Names:
    """Spellings of the notes of a take, attack by attack."""

    def __init__(self, take: Take) -> None:
        self._by_attack: dict[int, Mapping[int, str]] = {}
        self._chord_names: list[dict[int, str]] = []
        voiced = {voicing.attack: voicing for voicing in take.voicings}
        current: dict[int, str] = {}
        for k, attack in enumerate(take.attacks):
            voicing = voiced.get(attack)
            if voicing is not None:
                self._by_attack[k] = {
                    tone.midi: tone.name for tone in voicing.under + voicing.tones
                }
                current = _chord_names(voicing)
            self._chord_names.append(current)

    def of(self, attack: int, midi: int, sharps: int) -> Spelled:
        """The spelling of a note struck at an attack, under a key signature."""
        name = self._by_attack.get(attack, {}).get(midi)
        if name is not None:
            return spelled(name, midi)
        letter = self._chord_names[attack].get(midi % 12)
        if letter is not None:
            return spelled(with_octave(letter, midi), midi)
        return _plain(midi, sharps + 0.5)


def _chord_names(voicing: Voicing) -> dict[int, str]:
    """Pitch class to letter: the notes of a voicing, and its root."""
    found = {tone.midi % 12: tone.name.rstrip("-0123456789") for tone in voicing.tones}
    root = voicing.chord.symbol.root
    return {pitch_class_of(root): root} | found


@dataclass
class Signs:
    """Which signs stand in a bar so far: the bar's memory, one for each bar."""

    sharps: int
    _lines: dict[tuple[int, str, int], int] = field(default_factory=dict)
    _letters: dict[tuple[int, str], int] = field(default_factory=dict)

    def needs(self, staff: int, step: str, alter: int, octave: int) -> bool:
        """Whether a note needs a sign; call it for every note that is not tied, in order."""
        plain = signature_alter(step, self.sharps)
        on_line = self._lines.get((staff, step, octave), plain)
        lately = self._letters.get((staff, step), plain)
        self._lines[staff, step, octave] = alter
        self._letters[staff, step] = alter
        return on_line != alter or lately != alter
