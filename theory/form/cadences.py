"""Cadences as spans: ii-V-I in its forms, turnarounds, cycles, with the key of each.

A row of the table is a pattern: families of its chords ("m" minor, "h" half-diminished, "D"
dominant or suspended, "M" major, "T" a tonic, major or minor) and the root steps between
them, semitones up. Terms are common practice. Longer patterns are tried first, and a chord may
end one cadence and begin the next; otherwise spans do not overlap.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise, zip_longest

from stackline.shared.harmony import Voicing
from stackline.theory.chords.keys import MAJOR_TONICS, MINOR_TONICS, Key
from stackline.theory.form.progress import Run, chord_runs, root_step

_MEMBERS = {
    "m": {"minor"}, "h": {"half-diminished"}, "D": {"dominant", "suspended"}, "M": {"major"},
    "T": {"major", "minor"}, "i": {"minor"}, "2": {"minor", "half-diminished"},
    "6": {"minor", "dominant", "half-diminished"},
}  # fmt: skip


@dataclass(frozen=True)
class _Pattern:
    """name; families; steps; tonic: its distance above the last chord's root; mode."""

    name: str
    families: str
    steps: tuple[int, ...]
    tonic: int
    mode: str  # "major", "minor", or "last": that of the last chord


# Names and steps are common practice.
_PATTERNS = (
    _Pattern("turnaround iii-VI-ii-V-I", "262DM", (5, 5, 5, 5), 0, "major"),
    _Pattern("turnaround iii-VI-ii-V", "262D", (5, 5, 5), 5, "major"),
    _Pattern("turnaround I-VI-ii-V", "M62D", (9, 5, 5), 5, "major"),
    _Pattern("turnaround i-VI-ii-V", "i6hD", (9, 5, 5), 5, "minor"),
    _Pattern("ii-V-I in major", "2DM", (5, 5), 0, "major"),
    _Pattern("ii-V-i in minor", "2Di", (5, 5), 0, "minor"),
    _Pattern("ii-V-I with the tritone substitute", "2DM", (11, 11), 0, "major"),
    _Pattern("ii-V-i with the tritone substitute", "2Di", (11, 11), 0, "minor"),
    _Pattern("back-door cadence iv-bVII-I", "mDM", (5, 2), 0, "major"),
    _Pattern("minor plagal cadence IV-iv-I", "MmM", (0, 7), 0, "major"),
    _Pattern("V-I in major", "DM", (5,), 0, "major"),
    _Pattern("V-i in minor", "Di", (5,), 0, "minor"),
    _Pattern("tritone substitute to I", "DT", (11,), 0, "last"),
    _Pattern("back-door bVII-I", "DM", (2,), 0, "major"),
    _Pattern("ii-V, incomplete", "hD", (5,), 5, "minor"),
    _Pattern("ii-V, incomplete", "mD", (5,), 5, "major"),
)
LADDER, CYCLE = "ladder of ii-Vs", "cycle of dominants"
LADDER_FEWEST = 3  # ii-V pairs in a row at one distance
CYCLE_FEWEST = 3  # dominants in a row, each a fifth below the one before


@dataclass(frozen=True, kw_only=True)
class Cadence:
    """A cadence over voicings first..last (indices); start_s and end_s of its chords.

    arrives: its last chord is its tonic. wanders: it goes through several keys (a cycle of
    dominants, a ladder of ii-Vs), and `key` is where it ends.
    """

    name: str
    key: Key
    first: int
    last: int
    symbols: tuple[str, ...]
    start_s: float
    end_s: float
    arrives: bool
    wanders: bool


def cadences(voicings: Sequence[Voicing]) -> tuple[Cadence, ...]:
    """Every cadence of a take, in order."""
    runs = chord_runs(voicings)
    found: list[Cadence] = []
    at = 0
    while at < len(runs):
        cycle, ladder = _cycle(runs, at), _ladder(runs, at)
        pattern = (
            None if cycle or ladder else next((p for p in _PATTERNS if _fits(p, runs, at)), None)
        )
        if cycle:
            found.append(_record(CYCLE, _key_of_cycle(runs, at, cycle),
                                 runs[at : at + cycle], voicings))  # fmt: skip
            at += cycle - 1
        elif ladder:
            chords = runs[at : at + ladder]
            key = _tonic(chords[-1].root_pc + 5, minor=False)
            found.append(_record(LADDER, key, chords, voicings))
            resolves = any(_fits(p, runs, at + ladder - 2) for p in _PATTERNS if p.tonic == 0)
            at += ladder - 2 if resolves else ladder - 1
        elif pattern:
            chords = runs[at : at + len(pattern.families)]
            found.append(_record(pattern.name, _key(pattern, chords), chords, voicings))
            at += max(1, len(chords) - 1)
        else:
            at += 1
    return tuple(found)


def _fits(pattern: _Pattern, runs: Sequence[Run], at: int) -> bool:
    chords = runs[at : at + len(pattern.families)]
    if len(chords) < len(pattern.families):
        return False
    right = all(
        run.family in _MEMBERS[letter] for run, letter in zip(chords, pattern.families, strict=True)
    )
    steps = tuple(root_step(a, b) for a, b in pairwise(chords))
    return right and steps == pattern.steps


def _cycle(runs: Sequence[Run], at: int) -> int:
    """How many dominants in a row from here move by fifths; 0 below CYCLE_FEWEST."""
    count = 1
    while (
        at + count < len(runs)
        and runs[at].family == "dominant"
        and runs[at + count].family == "dominant"
        and root_step(runs[at + count - 1], runs[at + count]) == 5
    ):
        count += 1
    return count if count >= CYCLE_FEWEST else 0


def _ladder(runs: Sequence[Run], at: int) -> int:
    """How many chords of ii-Vs at one distance start here; 0 below LADDER_FEWEST pairs."""
    pairs = 0
    while _is_ii_v(runs, at + 2 * pairs) and (
        pairs < 2 or _pair_step(runs, at, pairs) == _pair_step(runs, at, 1)
    ):
        pairs += 1
    return 2 * pairs if pairs >= LADDER_FEWEST else 0


def _is_ii_v(runs: Sequence[Run], at: int) -> bool:
    if at + 1 >= len(runs) or runs[at].family not in _MEMBERS["2"]:
        return False
    return runs[at + 1].family in _MEMBERS["D"] and root_step(runs[at], runs[at + 1]) == 5


def _pair_step(runs: Sequence[Run], at: int, pair: int) -> int:
    return root_step(runs[at + 2 * pair - 2], runs[at + 2 * pair])


def _tonic(root_pc: int, minor: bool) -> Key:
    return Key(tonic=(MINOR_TONICS if minor else MAJOR_TONICS)[root_pc % 12], minor=minor)


def _key(pattern: _Pattern, chords: Sequence[Run]) -> Key:
    last = chords[-1]
    minor = pattern.mode == "minor" or (pattern.mode == "last" and last.family == "minor")
    if pattern.tonic == 0:
        return Key(tonic=last.root, minor=minor)
    return _tonic(last.root_pc + pattern.tonic, minor)


def _key_of_cycle(runs: Sequence[Run], at: int, count: int) -> Key:
    """The chord that the last dominant leads to, if it does; else where it would."""
    last = runs[at + count - 1]
    following = runs[at + count] if at + count < len(runs) else None
    minor = following is not None and following.family == "minor"
    return _tonic(last.root_pc + 5, minor)


def _record(name: str, key: Key, chords: Sequence[Run], voicings: Sequence[Voicing]) -> Cadence:
    first, last = chords[0].first, chords[-1].last
    return Cadence(
        name=name,
        key=key,
        first=first,
        last=last,
        symbols=tuple(run.symbol for run in chords),
        start_s=voicings[first].chord.start_s,
        end_s=voicings[last].chord.end_s,
        arrives=chords[-1].root_pc == key.tonic_pc and chords[-1].family in _MEMBERS["T"],
        wanders=name in (LADDER, CYCLE),
    )


def keys_said(voicings: Sequence[Voicing]) -> tuple[Key | None, ...]:
    """The key of each voicing, as far as a cadence says so; None elsewhere.

    An index must not guess: what counts is a cadence that arrives, and one that leads straight
    into another that arrives in the same key. A chord of two cadences has the later one's key.
    """
    keys: list[Key | None] = [None] * len(voicings)
    found = cadences(voicings)
    for one, following in zip_longest(found, found[1:]):
        led = following is not None and following.arrives and following.first <= one.last
        same = led and following is not None and following.key == one.key and not one.wanders
        if one.arrives or same:
            keys[one.first : one.last + 1] = [one.key] * (one.last + 1 - one.first)
    return tuple(keys)
