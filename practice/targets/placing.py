"""Where on the keyboard a target is best practised, key by key.

Every key has a few octaves to choose from. A place costs: each low-limit warning, each
semitone outside the register, distance from where such voicings sound best, and the way
from the last voicing of the key before. The cheapest row through all keys is kept (dynamic
programming), so that no key is chosen without regard to the next. Prices are ours, common
practice behind them: voicings that sound clear first, then comfortable, then smooth.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stackline.practice.targets.numerals import key_name
from stackline.practice.targets.targets import Target, TargetChord, movement
from stackline.shared.best_path import best_path
from stackline.shared.complaint import Complaint
from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI
from stackline.theory.chords.note_names import note_name
from stackline.theory.chords.spelling import single_accidental, spell_degree, with_octave
from stackline.theory.stacks.hands import (
    MOST_HANDS,
    ONE_HAND_NOTES,
    ONE_HAND_SPAN,
    UNREACHABLE,
    WIDEST,
    split_hands,
)
from stackline.theory.stacks.low_limits import low_warnings

LOW, HIGH = 45, 81  # A2 to A5: where comping lies by default
MIDDLE_ONE_HAND, MIDDLE_TWO_HANDS = 57.5, 62.0  # A3 for a comping left hand, D4 for both
# Costs of a placing, weighed against each other (ours).
LOW_WARNING, OUTSIDE, OFF_MIDDLE, MOVED = 12.0, 3.0, 0.5, 0.35
NINTH = 12  # semitones: past an octave a hand must open


@dataclass(frozen=True, kw_only=True)
class Register:
    """The lowest and the highest key to use, MIDI. kept: whether to refuse what does not fit."""

    low: int = LOW
    high: int = HIGH
    kept: bool = False

    def __post_init__(self) -> None:
        if not LOWEST_MIDI <= self.low < self.high <= HIGHEST_MIDI:
            raise Complaint(
                f"a register from {self.low} to {self.high}: give the lower key first, "
                f"both between {LOWEST_MIDI} and {HIGHEST_MIDI}"
            )


@dataclass(frozen=True, kw_only=True)
class Placed:
    """A target in one key. pitches: rising MIDI for each chord. cautions: in words."""

    key: int
    pitches: tuple[tuple[int, ...], ...]
    cautions: tuple[str, ...]


USUAL = Register()


def best_places(target: Target, key: int, register: Register = USUAL) -> Placed:
    """One key by itself."""
    return place_keys(target, [key], register)[0]


def place_keys(
    target: Target, keys: Sequence[int], register: Register = USUAL
) -> tuple[Placed, ...]:
    """Every key in the order given; needs a stack for each chord.

    Raises Complaint for a target without stacks, one that does not fit on the keys, and one
    that does not fit into a register that is to be kept (with the nearest one that holds it).
    """
    if not target.has_stacks:
        raise Complaint(f"{target.name!r} has chords without a stack: nothing to place")
    rows = [_inside(target, key, _choices(target, key), register) for key in keys]
    values = [
        np.array([-_cost(target, key, one, register) for one in row])
        for key, row in zip(keys, rows, strict=True)
    ]

    def moves(i: int) -> np.ndarray:
        return np.array(
            [[-MOVED * movement(one[-1], two[0]) for two in rows[i]] for one in rows[i - 1]]
        )

    return tuple(
        Placed(key=key, pitches=row[i], cautions=cautions(target, key, row[i]))
        for key, row, i in zip(keys, rows, best_path(values, moves), strict=True)
    )


def _choices(target: Target, key: int) -> list[tuple[tuple[int, ...], ...]]:
    """The octaves of a key in which every note lies on the piano."""
    found = []
    for octave in range(-1, 10):
        here = tuple(tuple(p + key + 12 * octave for p in row) for row in target.places)
        every = [p for row in here for p in row]
        if min(every) >= LOWEST_MIDI and max(every) <= HIGHEST_MIDI:
            found.append(here)
    if not found:
        raise Complaint(f"{target.name!r} is wider than the keyboard")
    return found


def _inside(
    target: Target, key: int, rows: list[tuple[tuple[int, ...], ...]], register: Register
) -> list[tuple[tuple[int, ...], ...]]:
    """The octaves that keep the register; all of them where none does and it is only the usual."""
    spans = [(min(p for r in row for p in r), max(p for r in row for p in r)) for row in rows]
    kept = [
        row for row, (low, high) in zip(rows, spans, strict=True)
        if register.low <= low and high <= register.high
    ]  # fmt: skip
    if kept or not register.kept:
        return kept or rows
    low, high = min(
        spans, key=lambda one: max(0, register.low - one[0]) + max(0, one[1] - register.high)
    )
    raise Complaint(
        f"{target.name!r} in {key_name(key)} does not fit between {note_name(register.low)} and "
        f"{note_name(register.high)}; the nearest place is {note_name(low)} to {note_name(high)}: "
        f"allow at least --low {note_name(min(low, register.low))} "
        f"--high {note_name(max(high, register.high))}"
    )


def _cost(target: Target, key: int, rows: Sequence[tuple[int, ...]], register: Register) -> float:
    every = [p for row in rows for p in row]
    outside = sum(max(0, register.low - p) + max(0, p - register.high) for p in every)
    off = abs(sum(every) / len(every) - _middle(target, register))
    low = sum(
        len(low_words(chord, key, row)) for chord, row in zip(target.chords, rows, strict=True)
    )
    return LOW_WARNING * low + OUTSIDE * outside + OFF_MIDDLE * off * len(rows)


def _middle(target: Target, register: Register) -> float:
    """Around which key a target sounds best, moved with a register that is not the usual one."""
    one_hand = all(
        len(row) <= ONE_HAND_NOTES and row[-1] - row[0] <= ONE_HAND_SPAN for row in target.places
    )
    usual = MIDDLE_ONE_HAND if one_hand else MIDDLE_TWO_HANDS
    return usual + (register.low + register.high - LOW - HIGH) / 2


def low_words(chord: TargetChord, key: int, pitches: Sequence[int]) -> tuple[str, ...]:
    """The low-limit warnings of a voicing, in words."""
    return low_warnings(pitches, note_names(chord, key, pitches))


def note_names(chord: TargetChord, key: int, pitches: Sequence[int]) -> tuple[str, ...]:
    """The notes of a placed stack spelled over their root, with octaves."""
    root = chord.symbol(key).root
    return tuple(
        with_octave(single_accidental(spell_degree(root, degree)), pitch)
        for degree, pitch in zip(chord.degrees, pitches, strict=True)
    )


def cautions(target: Target, key: int, rows: Sequence[tuple[int, ...]]) -> tuple[str, ...]:
    """Sentences about reaches and low intervals, one chord after the other."""
    found = []
    for chord, row in zip(target.chords, rows, strict=True):
        symbol = chord.symbol(key).text
        found += [f"{symbol}: {words}" for words in (*_reach(row), *low_words(chord, key, row))]
    return tuple(found)


def _reach(pitches: Sequence[int]) -> list[str]:
    """What a hand should know before it tries."""
    split = split_hands(pitches)
    if UNREACHABLE in split.warnings:
        return [UNREACHABLE]
    words = []
    hands = (("left", pitches[: split.left_count]), ("right", pitches[split.left_count :]))
    for name, hand in hands:
        span = hand[-1] - hand[0] if hand else 0
        if MOST_HANDS < span <= WIDEST:
            words.append(
                f"the {name} hand spans a tenth: roll it or leave a note out; never force it"
            )
        elif NINTH < span <= MOST_HANDS:
            words.append(f"the {name} hand spans a ninth: play it only if it lies in your hand")
    return words
