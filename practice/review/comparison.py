"""One voicing against what was meant, note by note.

With a stack, in this order:

    exact         the same keys, in the octave that the other voicings of the pass set
    other octave  the stack as it was meant, whole octaves away, or opened wider
    other order   the same notes, stacked differently
    changed       notes are wrong, missing or added

Notes are paired: equal pitches first, then equal pitch classes (moved by octaves), then
each note that is missing with the nearest foreign note within three semitones, which is
then called wrong. What is left is missing or added. Without a stack a chord "fits" when it has
what its symbol asks for and nothing that contradicts it (see `frames`).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from stackline.practice.finding.gestures import Gesture
from stackline.practice.targets.targets import TargetChord
from stackline.shared.harmony import Degree
from stackline.theory.chords.degrees import name_degree, pitch_class
from stackline.theory.stacks.frames import contradicting, lacking, stands_without

Status = Literal["exact", "other octave", "other order", "fits", "changed"]
NoteKind = Literal["wrong", "missing", "added", "moved"]
NEAR = 3  # semitones within which a foreign note stands for a missing one


@dataclass(frozen=True, kw_only=True)
class NoteDifference:
    """One note that is not as meant. Pitches are MIDI; None where there is none.

    wrong: `played` sounds where `meant` was due. moved: the right note in another octave.
    """

    kind: NoteKind
    meant: Degree | None = None
    meant_midi: int | None = None
    played: Degree | None = None
    played_midi: int | None = None


@dataclass(frozen=True, kw_only=True)
class Compared:
    """A voicing that was played, and how it differs from the target.

    pitches: what counts as played, rising MIDI. degrees: their names over the chord meant.
    meant: rising MIDI, empty where any voicing will do. octaves: how far the whole stands
    from the pass's own octave. guides: each guide tone and whether it sounds.
    """

    status: Status
    pitches: tuple[int, ...]
    degrees: tuple[Degree, ...]
    meant: tuple[int, ...]
    differences: tuple[NoteDifference, ...]
    octaves: int
    guides: tuple[tuple[str, bool], ...]

    @property
    def right(self) -> bool:
        """Whether nothing is to be said about it."""
        return self.status in ("exact", "fits")


def played_pitches(gesture: Gesture, chord: TargetChord, key: int) -> tuple[int, ...]:
    """What was struck, and keys kept down that the chord wants and nothing else gives."""
    needed = {(pc + key) % 12 for pc in chord.needed_classes} - gesture.struck_classes
    kept: dict[int, int] = {}
    for pitch in gesture.held:
        if pitch % 12 in needed:
            kept[pitch % 12] = pitch
    return tuple(sorted({*gesture.struck, *kept.values()}))


def octave_of(pitches: Sequence[int], place: Sequence[int], key: int) -> tuple[int, bool]:
    """Octaves from a target's place (tonic at 0) to what was played, and whether that is exact."""
    there = [pitch + key for pitch in place]
    shift = round((sum(pitches) / len(pitches) - sum(there) / len(there)) / 12)
    for turn in (shift, shift - 1, shift + 1):
        if [pitch + 12 * turn for pitch in there] == list(pitches):
            return turn, True
    return shift, False


def compare(
    pitches: tuple[int, ...], chord: TargetChord, key: int, meant: tuple[int, ...]
) -> Compared:
    """Compare what was played with a chord of the target.

    pitches: rising MIDI. key: pitch class of the tonic. meant: the stack's pitches in the
    octave of the pass, empty where the target has no stack.
    """
    degrees = tuple(_name(pitch, pitches, chord, key) for pitch in pitches)
    namer = _Namer(pitches, chord, key)
    if meant:
        status, differences, octaves = _to_stack(pitches, meant, namer)
    else:
        status, differences, octaves = *_to_chord(pitches, chord, key, namer), 0
    root = chord.root_pc(key)
    classes = {(pitch - root) % 12 for pitch in pitches}
    return Compared(
        status=status,
        pitches=pitches,
        degrees=degrees,
        meant=meant,
        differences=differences,
        octaves=octaves,
        guides=tuple((one, pitch_class(one) in classes) for one in chord.guide_tones),
    )


def _name(pitch: int, pitches: Sequence[int], chord: TargetChord, key: int) -> Degree:
    """A pitch's degree over the chord meant, by the chord's own name for it if it has one."""
    root = chord.root_pc(key)
    interval = (pitch - root) % 12
    for degree in chord.degrees:
        if pitch_class(degree) == interval:
            return degree
    for name in chord.row.degrees:
        if pitch_class(name) == interval:
            return Degree.parse(name)
    return name_degree(interval, chord.row.family, {(one - root) % 12 for one in pitches})


@dataclass(frozen=True)
class _Namer:
    """Names pitches over one chord, and makes the records."""

    pitches: tuple[int, ...]
    chord: TargetChord
    key: int

    def __call__(self, kind: NoteKind, meant: int | None, played: int | None) -> NoteDifference:
        return NoteDifference(
            kind=kind,
            meant=None if meant is None else _name(meant, (meant,), self.chord, self.key),
            meant_midi=meant,
            played=None if played is None else _name(played, self.pitches, self.chord, self.key),
            played_midi=played,
        )


def _to_stack(
    pitches: tuple[int, ...], meant: tuple[int, ...], namer: _Namer
) -> tuple[Status, tuple[NoteDifference, ...], int]:
    if pitches == meant:
        return "exact", (), 0
    octaves = round((sum(pitches) / len(pitches) - sum(meant) / len(meant)) / 12)
    if sorted(p % 12 for p in pitches) == sorted(p % 12 for p in meant):
        moved = tuple(
            namer("moved", due, played)
            for due, played in _pair_classes(meant, pitches)
            if due != played
        )
        same_row = [p % 12 for p in pitches] == [p % 12 for p in meant]
        return ("other octave" if same_row else "other order"), moved, octaves
    found, octaves = _best_octave(pitches, meant, octaves, namer)
    return "changed", found, octaves


def _best_octave(
    pitches: tuple[int, ...], meant: tuple[int, ...], octaves: int, namer: _Namer
) -> tuple[tuple[NoteDifference, ...], int]:
    """The differences in the octave where there are fewest, nearest to the pass's own."""
    tries = []
    for turn in sorted({0, octaves - 1, octaves, octaves + 1}, key=abs):
        found = _differences(pitches, tuple(p + 12 * turn for p in meant), namer)
        tries.append((len(found), abs(turn), turn, found))
    _, _, turn, found = min(tries, key=lambda one: one[:2])
    return found, turn


def _pair_classes(meant: Sequence[int], pitches: Sequence[int]) -> list[tuple[int, int]]:
    """Pairs of equal pitch class, equal pitches first, then the nearest."""
    left = [p for p in pitches if p not in meant]
    pairs = [(p, p) for p in meant if p in pitches]
    for due in meant:
        same = [p for p in left if p % 12 == due % 12]
        if due not in pitches and same:
            nearest = min(same, key=lambda p: abs(p - due))
            left.remove(nearest)
            pairs.append((due, nearest))
    return pairs


def _differences(
    pitches: tuple[int, ...], meant: tuple[int, ...], namer: _Namer
) -> tuple[NoteDifference, ...]:
    pairs = _pair_classes(meant, pitches)
    found = [namer("moved", due, played) for due, played in pairs if due != played]
    lost = [p for p in meant if p not in {due for due, _ in pairs}]
    foreign = [p for p in pitches if p not in {played for _, played in pairs}]
    near = sorted(
        (abs(due - played), due, played)
        for due in lost
        for played in foreign
        if abs(due - played) <= NEAR
    )
    for _, due, played in near:
        if due in lost and played in foreign:
            lost.remove(due)
            foreign.remove(played)
            found.append(namer("wrong", due, played))
    found += [namer("missing", due, None) for due in lost]
    found += [namer("added", None, played) for played in foreign]
    return tuple(found)


def _to_chord(
    pitches: tuple[int, ...], chord: TargetChord, key: int, namer: _Namer
) -> tuple[Status, tuple[NoteDifference, ...]]:
    root = chord.root_pc(key)
    sounding = {(p - root) % 12 for p in pitches}
    against = contradicting(chord.row, sounding)
    foreign = [p for p in pitches if (p - root) % 12 in against]
    lost = [(root + pitch_class(group[0])) % 12 for group in lacking(chord.row, pitches, root)]
    guides = {(root + pitch_class(degree)) % 12 for degree in chord.guide_tones}
    found = []
    for pc in sorted(lost, key=lambda one: (one - root) % 12):
        nearest = min(foreign, key=lambda p: _apart(p, pc), default=None)
        if nearest is not None and _apart(nearest, pc) <= NEAR - 1:
            foreign.remove(nearest)
            found.append(namer("wrong", nearest + _step(nearest, pc), nearest))
        elif foreign or not (pc in guides and stands_without(pitches, root, chord.row)):
            found.append(replace(namer("missing", 60 + (pc - 60) % 12, None), meant_midi=None))
    found += [namer("added", None, p) for p in foreign]
    return ("changed" if found else "fits"), tuple(found)


def _step(pitch: int, pc: int) -> int:
    """Signed semitones from a pitch to the nearest note of a pitch class."""
    return (pc - pitch + 6) % 12 - 6


def _apart(pitch: int, pc: int) -> int:
    return abs(_step(pitch, pc))
