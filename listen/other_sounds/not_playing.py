"""What is not the instrument: talk between chords, applause, knocks, paper, noise.

Every quarter of a second a small network (`not_playing.npz`, made by ``python -m
training.classifiers.fit_not_playing``) reads how the recording sounds (`texture`) and says whether
it is playing (or silence), talk, applause, or something else; the likeliest row of answers
that does not change its mind needlessly becomes spans. Steady hum and hiss under everything
belong to the recording and make no span.

A talker's vowels are sometimes taken for notes: lone ones, short, and not quite sure (made
lessons, `lessons`, train split: 9 of 10 false attacks, against 3 of 27 lone notes and
none of 215 chords that were struck under talk). Such attacks are taken out inside a span. All
others stay, less certain than they would be in silence, by as much as made them honest there,
and the time in which they are struck and ring belongs to no span.

Units: seconds; chances 0..1.
"""

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np

from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.one_layer import OneLayer, load
from stackline.listen.other_sounds.texture import STEP_S, frames, windows
from stackline.shared.best_path import best_path
from stackline.shared.notes import Attack, Note, Span, SpanKind, in_order
from stackline.shared.sound import Audio

WEIGHTS = Path(__file__).parent / "not_playing.npz"
CLASSES = ("playing", "talk", "applause", "not playing")
_NAMES: dict[int, SpanKind] = {1: "talk", 2: "applause", 3: "not playing"}  # by place in CLASSES

_CHANGE = 4.0  # log odds that a change of answer must be worth
_BRIDGE_S = 1.2  # pauses of a talker shorter than this are bridged
_SHORTEST_S = 0.7
_RINGS_S = 2.0  # of a chord under talk that still counts as playing (ours)
_VOWEL_S, _VOWEL_AT_MOST = 0.25, 0.98  # a lone note that is shorter and no surer is a vowel
_FAINT_NOTE, _FAINT_CHORD = 0.8, 0.6  # confidence below which an attack is not believed
_LESS_SURE = 0.5  # log odds by which notes struck under other sounds are less certain


@lru_cache(maxsize=1)
def listener() -> OneLayer:
    """Log odds of `CLASSES` for windows (n, n_in), from the file of weights."""
    return load(WEIGHTS)


def sort_out(audio: Audio, notes: Sequence[Note]) -> tuple[tuple[Note, ...], tuple[Span, ...]]:
    """The notes that the instrument played, in their order, and where something else sounds.

    audio: read in blocks. notes: by onset, as an ear gives them. Notes outside the spans are
    as they were; those inside that stay are less certain.
    """
    spans = spans_of(log_chances(audio, notes), audio.duration_s)
    if not spans:
        return tuple(notes), ()
    kept: list[Note] = []
    played: list[Attack] = []
    for attack in find_attacks(notes):
        if not any(span.start_s <= attack.onset_s < span.end_s for span in spans):
            kept += attack.struck
        elif not _is_vowel(attack):
            kept += [_doubted(note) for note in attack.struck]
            played.append(attack)
    return in_order(kept), _without_playing(spans, played)


def _without_playing(spans: Sequence[Span], played: Sequence[Attack]) -> tuple[Span, ...]:
    """What is left of spans once the time in which their chords are struck and ring is taken out.

    Talk over playing is playing. played: the attacks inside the spans that stay, in order.
    """
    left = []
    for span in spans:
        start_s = span.start_s
        for attack in played:
            if not span.start_s <= attack.onset_s < span.end_s:
                continue
            left.append(replace(span, start_s=start_s, end_s=max(start_s, attack.onset_s)))
            start_s = max(start_s, min(attack.offset_s, attack.onset_s + _RINGS_S, span.end_s))
        left.append(replace(span, start_s=start_s))
    return tuple(one for one in left if one.end_s - one.start_s >= _SHORTEST_S)


def _is_vowel(attack: Attack) -> bool:
    """Whether an attack inside a span is rather the talker's."""
    best = max(note.confidence for note in attack.struck)
    if len(attack.struck) > 1:
        return best < _FAINT_CHORD
    lasts_s = attack.struck[0].offset_s - attack.onset_s
    return best < _FAINT_NOTE or (lasts_s < _VOWEL_S and best < _VOWEL_AT_MOST)


def _doubted(note: Note) -> Note:
    """The note, less certain by `_LESS_SURE` log odds."""
    chance = min(max(note.confidence, 1e-6), 1 - 1e-6)
    odds = np.log(chance / (1 - chance)) - _LESS_SURE
    return replace(note, confidence=round(float(1 / (1 + np.exp(-odds))), 4))


def log_chances(audio: Audio, notes: Sequence[Note]) -> np.ndarray:
    """Log chances of `CLASSES` every STEP_S seconds from the start, (n, 4)."""
    odds = listener()(windows(frames(audio), notes))
    top = odds.max(axis=1, keepdims=True)
    logs: np.ndarray = odds - top - np.log(np.exp(odds - top).sum(axis=1, keepdims=True))
    return logs


def spans_of(logs: np.ndarray, duration_s: float) -> tuple[Span, ...]:
    """The stretches that are not playing, in order, apart from each other.

    logs: (n, 4), log chances of `CLASSES` every `STEP_S` seconds.
    """
    runs = _bridged(_runs(_steady(logs)))
    spans = []
    for kind, first, last in runs:
        start_s = max((first - 0.5) * STEP_S, 0.0)
        end_s = min((last + 0.5) * STEP_S, duration_s)
        if kind and end_s - start_s >= _SHORTEST_S:
            spans.append(Span(start_s=round(start_s, 3), end_s=round(end_s, 3), kind=_NAMES[kind]))
    return tuple(spans)


def _steady(logs: np.ndarray) -> np.ndarray:
    """The likeliest row of answers when each change costs `_CHANGE`, (n,)."""
    moves = -_CHANGE * (1.0 - np.eye(logs.shape[1]))
    return np.array(best_path(logs, lambda _: moves), dtype=int)


Run = tuple[int, int, int]  # class, first window, last window


def _runs(path: np.ndarray) -> list[Run]:
    edges = np.flatnonzero(np.diff(path)) + 1
    starts = [0, *edges.tolist(), len(path)]
    return [(int(path[a]), a, b - 1) for a, b in pairwise(starts) if b > a]


def _bridged(runs: list[Run]) -> list[Run]:
    """Short silences between two runs of one kind belong to them."""
    out: list[Run] = []
    for run in runs:
        is_gap = len(out) >= 2 and out[-1][0] == 0 and out[-2][0] == run[0] != 0
        if is_gap and (out[-1][2] - out[-1][1] + 1) * STEP_S <= _BRIDGE_S:
            out[-2:] = [(run[0], out[-2][1], run[2])]
        else:
            out.append(run)
    return out
