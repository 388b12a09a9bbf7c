"""Records of the names given to what was heard: degrees, chords, voicings, motion.

Texts here are ASCII (b, #); pages and print use the real signs.
"""

import re
from dataclasses import dataclass
from typing import Literal

from stackline.shared.notes import Attack

ACCIDENTALS = {-2: "bb", -1: "b", 0: "", 1: "#", 2: "##"}
_DEGREE = re.compile(r"(bb|b|##|#)?(1[0-3]|[1-9])")

ReadingSource = Literal["heard", "changes"]
Outcome = Literal["landed", "other octave", "late", "held", "not landed"]
TopKind = Literal["repeat", "step", "skip", "leap"]
ParallelKind = Literal["constant structure", "diatonic parallel", "side-slip"]


@dataclass(frozen=True, kw_only=True)
class Degree:
    """A note's place over a root: number 1..13 and alteration in semitones.

    Printed as players say it: ``R``, ``b9``, ``3``, ``13``; ``bb7`` in a diminished
    seventh chord.
    """

    number: int
    alteration: int = 0

    def __str__(self) -> str:
        if self.number == 1 and not self.alteration:
            return "R"
        return f"{ACCIDENTALS[self.alteration]}{self.number}"

    @classmethod
    def parse(cls, text: str) -> "Degree":
        """Read what `str` prints; raises ValueError for anything else."""
        if text == "R":
            return cls(number=1)
        found = _DEGREE.fullmatch(text)
        if not found or text == "1":
            raise ValueError(f"not a degree: {text!r}; write R, b9, 3, #11 or the like")
        alteration = next(a for a, sign in ACCIDENTALS.items() if sign == (found[1] or ""))
        return cls(number=int(found[2]), alteration=alteration)


@dataclass(frozen=True, kw_only=True)
class ChordSymbol:
    """A chord's name. Made by `stackline.theory.chords.symbols`, which knows the qualities.

    root, bass: spelled, ASCII (``Db``); bass None unless a slash bass is written.
    quality: key of the table in `qualities` (``13(b9)``; ``""`` is the triad).
    text: the canonical symbol (``G13(b9)``). harte: Harte syntax (``G:7(b9,13)``).
    """

    root: str
    quality: str
    bass: str | None = None
    text: str
    harte: str


@dataclass(frozen=True, kw_only=True)
class Alternative:
    """Another reading of the same notes, and in words why it was or was not chosen."""

    symbol: ChordSymbol
    confidence: float
    reason: str


@dataclass(frozen=True, kw_only=True)
class ChordSpan:
    """A chord over the time that it holds. Times in seconds.

    source: "heard" from the notes, or "changes" that the player gave.
    confidence: the chance that root and quality family are right, 0..1.
    """

    start_s: float
    end_s: float
    symbol: ChordSymbol
    source: ReadingSource
    confidence: float
    alternatives: tuple[Alternative, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Tone:
    """One note of a voicing: pitch, spelled name with octave (``Ab4``), degree, hand.

    held: struck at an earlier attack and still sounding.
    """

    midi: int
    name: str
    degree: Degree
    hand: Literal["left", "right"]
    held: bool = False


@dataclass(frozen=True, kw_only=True)
class Doubling:
    """A pitch class that sounds more than once: a fact to show, not a fault.

    distance: semitones from its lowest to its highest pitch.
    """

    degree: Degree
    count: int
    distance: int


@dataclass(frozen=True, kw_only=True)
class Voicing:
    """An attack with a reading.

    tones: low to high; their degrees are the stack. structures: kinds of voicing, the
    first is the primary. hands_confidence: how sure the split is (from audio it is a
    guess). confidence: the chance that the notes are exactly right. warnings: low
    limits, stretches and the like, in words. under: the notes of a line that sound over it at its
    attack, struck or held; no part of it. Degrees of the same chord.
    """

    attack: Attack
    chord: ChordSpan
    tones: tuple[Tone, ...]
    structures: tuple[str, ...]
    doublings: tuple[Doubling, ...] = ()
    hands_confidence: float = 0.0
    confidence: float
    warnings: tuple[str, ...] = ()
    under: tuple[Tone, ...] = ()

    @property
    def stack(self) -> tuple[Degree, ...]:
        """Degrees low to high, doublings kept."""
        return tuple(tone.degree for tone in self.tones)

    @property
    def top(self) -> Tone:
        """The top line's note: the highest struck here, unless only held notes are left."""
        struck = [tone for tone in self.tones if not tone.held]
        return (struck or list(self.tones))[-1]

    @property
    def pitches(self) -> tuple[int, ...]:
        """MIDI pitches, low to high."""
        return tuple(tone.midi for tone in self.tones)


@dataclass(frozen=True, kw_only=True)
class VoiceMove:
    """One voice from one voicing to the next; None where it appears or vanishes."""

    from_midi: int | None
    to_midi: int | None

    @property
    def semitones(self) -> int | None:
        """Signed distance moved, 0 for a common tone, None for half a voice."""
        if self.from_midi is None or self.to_midi is None:
            return None
        return self.to_midi - self.from_midi


@dataclass(frozen=True, kw_only=True)
class TopMove:
    """The top line's step: signed semitones and what it is to each chord."""

    semitones: int
    kind: TopKind
    from_degree: Degree
    to_degree: Degree


@dataclass(frozen=True, kw_only=True)
class CommonTone:
    """A pitch that stays, re-read over the next chord (the 9 of the ii is the 13 of the V)."""

    midi: int
    from_degree: Degree
    to_degree: Degree


@dataclass(frozen=True, kw_only=True)
class Resolution:
    """What became of a degree that was due to move.

    to: the degree it reached in the next chord, or what came instead, or None.
    """

    degree: Degree
    midi: int
    outcome: Outcome
    to: Degree | None = None
    to_midi: int | None = None


@dataclass(frozen=True, kw_only=True)
class Parallel:
    """All voices by the same move: its kind, and signed semitones of the lowest voice."""

    kind: ParallelKind
    semitones: int


@dataclass(frozen=True, kw_only=True)
class Motion:
    """From one voicing to the next, by their indices in the take.

    guide_tones: the moves that carry a 3 or 7 into the next chord's 7 or 3, or the 3 of a dominant
    up into the root.
    resolutions: empty unless the first chord is a dominant that is due to resolve here.
    """

    from_index: int
    to_index: int
    moves: tuple[VoiceMove, ...]
    top: TopMove
    common_tones: tuple[CommonTone, ...] = ()
    guide_tones: tuple[VoiceMove, ...] = ()
    resolutions: tuple[Resolution, ...] = ()
    parallel: Parallel | None = None
