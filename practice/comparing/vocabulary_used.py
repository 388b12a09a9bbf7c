"""What a set of takes uses: shapes by kind of chord, top lines, tensions, registers, keys.

Counts are of voicings whose notes and chord were heard surely enough; a voicing struck again
directly after itself counts once. Of each shape the first place is kept as an example.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from statistics import median

from stackline.practice.library.rows.index_rows import stack_text
from stackline.practice.targets.numerals import key_name
from stackline.shared.harmony import Motion, Voicing
from stackline.shared.take import Take
from stackline.theory.chords.qualities import quality
from stackline.theory.form.cadences import keys_said
from stackline.theory.motion.tally import ARRIVED

SURE = 0.6  # of notes and chord; what is less sure is no one's vocabulary
TENSIONS = ("b9", "9", "#9", "11", "#11", "b13", "13")
LEAP = 5  # semitones


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where something was played. quality: key of `qualities`. midi: the notes, rising."""

    take: str
    onset_s: float
    symbol: str
    quality: str
    midi: tuple[int, ...]


@dataclass(kw_only=True)
class Used:
    """What a set of takes uses.

    shapes: stack by family, ``("dominant", "3 13 b7 9")``. tops: degree on top by family.
    moves: kinds of top-line step. tensions: on dominants; resolved: of each tension how many of
    those that were due landed. low, high: the lowest and the highest note of each voicing.
    """

    name: str
    takes: int = 0
    voicings: int = 0
    families: Counter[str] = field(default_factory=Counter)
    shapes: Counter[tuple[str, str]] = field(default_factory=Counter)
    structures: Counter[str] = field(default_factory=Counter)
    tops: Counter[tuple[str, str]] = field(default_factory=Counter)
    moves: Counter[str] = field(default_factory=Counter)
    tensions: Counter[str] = field(default_factory=Counter)
    due: Counter[str] = field(default_factory=Counter)
    landed: Counter[str] = field(default_factory=Counter)
    keys: Counter[str] = field(default_factory=Counter)
    low: list[int] = field(default_factory=list)
    high: list[int] = field(default_factory=list)
    examples: dict[tuple[str, str], Place] = field(default_factory=dict)

    @property
    def register(self) -> tuple[int, int] | None:
        """The usual lowest and highest note (medians), None without voicings."""
        return (round(median(self.low)), round(median(self.high))) if self.low else None


def vocabulary_used(takes: Iterable[Take], name: str) -> Used:
    """Count what some takes use; name: what to call the set."""
    used = Used(name=name)
    for take in takes:
        used.takes += 1
        _count_voicings(take, used)
        _count_motions(take, used)
    return used


def _count_voicings(take: Take, used: Used) -> None:
    keys = keys_said(take.voicings)
    before: Voicing | None = None
    for voicing, key in zip(take.voicings, keys, strict=True):
        again = before is not None and before.pitches == voicing.pitches
        before = voicing
        if again or not _sure(voicing):
            continue
        used.voicings += 1
        _count_one(take, voicing, used)
        if key is not None:
            used.keys[key_name(key.tonic_pc)] += 1


def _sure(voicing: Voicing) -> bool:
    return min(voicing.confidence, voicing.chord.confidence) >= SURE


def _count_one(take: Take, voicing: Voicing, used: Used) -> None:
    family = quality(voicing.chord.symbol.quality).family
    shape = (family, stack_text(voicing))
    used.families[family] += 1
    used.shapes[shape] += 1
    used.structures.update(voicing.structures[:1])
    used.tops[family, str(voicing.stack[-1])] += 1
    used.low.append(voicing.pitches[0])
    used.high.append(voicing.pitches[-1])
    if family == "dominant":
        used.tensions.update({str(d) for d in voicing.stack} & set(TENSIONS))
    used.examples.setdefault(
        shape,
        Place(take=take.source.name, onset_s=voicing.attack.onset_s,
              symbol=voicing.chord.symbol.text, quality=voicing.chord.symbol.quality,
              midi=voicing.pitches),
    )  # fmt: skip


def _count_motions(take: Take, used: Used) -> None:
    for motion in take.motions:
        if motion.top is not None:
            used.moves[_move(motion.top.semitones)] += 1
        _count_resolutions(motion, used)


def _move(semitones: int) -> str:
    """The top line's step in words."""
    if semitones == 0:
        return "repeat"
    size = "step" if abs(semitones) <= 2 else "skip" if abs(semitones) < LEAP else "leap"
    return f"{size} {'up' if semitones > 0 else 'down'}"


def _count_resolutions(motion: Motion, used: Used) -> None:
    for one in motion.resolutions:
        degree = str(one.degree)
        if degree in TENSIONS:
            used.due[degree] += 1
            used.landed[degree] += one.outcome in ARRIVED


def commonest(
    counts: Counter[tuple[str, str]], family: str, most: int
) -> Sequence[tuple[str, int]]:
    """The commonest of one family: (text, count)."""
    here = Counter({text: n for (of, text), n in counts.items() if of == family})
    return here.most_common(most)
