"""What a review of a take against a target says. Times in seconds from the start of the take."""

from dataclasses import dataclass
from typing import Literal

from stackline.practice.review.comparison import Compared
from stackline.practice.targets.numerals import key_name
from stackline.practice.targets.targets import Target
from stackline.shared.harmony import Degree, Resolution
from stackline.theory.motion.tally import Count

FaultKind = Literal[
    "wrong note", "missing note", "missing guide tone", "added note", "moved note",
    "other octave", "other order", "another voicing", "left out", "did not resolve",
    "late resolution", "top line", "hesitation",
]  # fmt: skip
Verdict = Literal["solid", "coming", "not yet", "not played"]
SURE = 0.9  # below this a finding is shown as uncertain, and counts against nobody


@dataclass(frozen=True, kw_only=True)
class TopNote:
    """The top line at one voicing. meant: the degree due there; None where it is free.

    semitones: the step from the voicing before; None at the first.
    """

    meant: Degree | None
    played: Degree
    midi: int
    as_meant: bool
    semitones: int | None


@dataclass(frozen=True, kw_only=True)
class VoicingReview:
    """One voicing of a pass. chord: index in the target.

    note_sure: how sure the ear is of each of `compared.pitches`, 0..1. put_right_s: how much
    later it was played as meant, None where it was not (or was right at once).
    """

    chord: int
    onset_s: float
    compared: Compared
    top: TopNote
    note_sure: tuple[float, ...]
    put_right_s: float | None = None


@dataclass(frozen=True, kw_only=True)
class Landing:
    """What became of one degree of a dominant. chord: index of the dominant.

    meant: the degree that the target leads it to; None where the target says nothing.
    """

    chord: int
    meant: Degree | None
    resolution: Resolution


@dataclass(frozen=True, kw_only=True)
class Wait:
    """From a chord to the next. chord: index of the one that was waited on.

    beats: waited, in beats of the player's own pulse; meant_beats: what the target asks.
    """

    chord: int
    seconds: float
    beats: float
    meant_beats: float
    hesitated: bool


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One thing that went otherwise than meant; one event has one fault.

    chord: index in the target. degree: of the note at fault over its chord; for
    resolutions, of the dominant's note. came: what came instead. goal: where a resolution was due
    to land, or landed late. stayed: whether it stayed. stack: what was played in a voicing's
    place. octaves: how far a voicing lay from its place, 0 where it was opened wider. beats:
    waited too long. doubled: whether a missing note sounds in another octave.
    """

    kind: FaultKind
    chord: int
    at_s: float
    degree: str | None = None
    came: str | None = None
    goal: str | None = None
    stayed: bool = False
    stack: tuple[str, ...] = ()
    octaves: int = 0
    beats: float = 0.0
    doubled: bool = False
    sure: float


@dataclass(frozen=True, kw_only=True)
class PassReview:
    """One time through. key: pitch class of the tonic, of a minor key or a major one.

    tempo_bpm: None where unknown.

    doubts: findings that an ear can hardly tell (see `certainty`); no faults.
    """

    key: int
    start_s: float
    end_s: float
    tempo_bpm: float | None
    voicings: tuple[VoicingReview, ...]
    landings: tuple[Landing, ...]
    waits: tuple[Wait, ...]
    faults: tuple[Fault, ...]
    doubts: tuple[Fault, ...]
    minor: bool = False

    @property
    def key_name(self) -> str:
        return key_name(self.key, minor=self.minor)

    @property
    def clean(self) -> bool:
        """Whether nothing is surely otherwise than meant; hesitating is no wrong note."""
        return all(fault.kind == "hesitation" or fault.sure < SURE for fault in self.faults)

    @property
    def unsure(self) -> int:
        """How many faults the ear is not sure of; they do not count against a pass."""
        return sum(fault.sure < SURE for fault in self.faults)


@dataclass(frozen=True, kw_only=True)
class FalseStart:
    """A row that broke off. reached: how many chords of the target were played."""

    key: int
    start_s: float
    reached: int
    minor: bool = False

    @property
    def key_name(self) -> str:
        return key_name(self.key, minor=self.minor)


@dataclass(frozen=True, kw_only=True)
class KeyReview:
    """One of the twelve keys. landed: resolutions; best_bpm: fastest clean pass."""

    key: int
    verdict: Verdict
    passes: int
    clean: int
    false_starts: int
    landed: Count
    best_bpm: float | None
    minor: bool = False

    @property
    def key_name(self) -> str:
        return key_name(self.key, minor=self.minor)


@dataclass(frozen=True, kw_only=True)
class Review:
    """A take against a target. keys: all twelve, round the circle of fourths from C."""

    target: Target
    recording: str
    passes: tuple[PassReview, ...]
    false_starts: tuple[FalseStart, ...]
    keys: tuple[KeyReview, ...]
