"""From what the piano ear's network says to struck notes.

The network says of each key in each frame how likely a strike lies in the frame before it or
after it, so the two frames around a strike both say so; their mean log odds are the evidence
for a strike between them. A candidate is a local maximum of the evidence. The network places
the strike within the frame; the two frames' placings are averaged.

Which candidates were struck: those with evidence from `keep` on, one threshold for all keys; but
one low key alone at the very start of a recording is the mains humming. A note ends where its
key no longer sounds or is struck again. With the pedal down a piano's note ends gradually and
under others, so ends are uncertain; strikes are not.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stackline.listen.piano.features import FRAME_RATE_HZ
from stackline.shared.notes import Note, in_order
from stackline.shared.units import LOWEST_MIDI, N_KEYS

CONTEXT = 14  # frames on either side of its own that a chunk must bring along
ONSET, SUSTAIN, TIME, VELOCITY = range(4)  # the network's outputs

_FAINTEST = -5.0  # log odds below which nothing is a candidate
_REACH = 2  # frames: a candidate is the highest within so many


@dataclass(frozen=True, kw_only=True)
class Rules:
    """What becomes a note. keep: log odds from which a candidate counts as struck.

    opening_s, hums_below: one key below this (0 is A0), alone within so many seconds of the
    start, is hum that sets in with the recording. apart_s: strikes of one key closer than this
    are one. sounding: log odds above which a key sounds. bridge_s: a gap in sounding shorter
    than this ends no note. shortest_s: of a note.
    """

    keep: float = 1.0
    opening_s: float = 0.05
    hums_below: int = 27
    apart_s: float = 0.08
    sounding: float = 0.0
    bridge_s: float = 0.1
    shortest_s: float = 0.05


@dataclass(frozen=True, kw_only=True, eq=False)
class Candidates:
    """Possible strikes, all (n,).

    key: 0..87. evidence: log odds. velocity: 0..1, the network's.
    """

    time_s: np.ndarray
    key: np.ndarray
    evidence: np.ndarray
    velocity: np.ndarray

    @classmethod
    def joined(cls, parts: Sequence["Candidates"]) -> "Candidates":
        """All of them, by time, then key."""
        names = ("time_s", "key", "evidence", "velocity")
        found = {name: np.concatenate([getattr(one, name) for one in parts]) for name in names}
        order = np.lexsort((found["key"], found["time_s"]))
        return cls(**{name: values[order] for name, values in found.items()})

    def where(self, chosen: np.ndarray) -> "Candidates":
        """Some of them. chosen: (n,), a mask, or (k,), indices."""
        return Candidates(
            time_s=self.time_s[chosen],
            key=self.key[chosen],
            evidence=self.evidence[chosen],
            velocity=self.velocity[chosen],
        )


def candidates(logits: np.ndarray, first_frame: int, own: slice) -> Candidates:
    """Candidates between a frame of `own` and the next.

    logits: (4, n_frames, 88), `CONTEXT` frames of context on either side of `own` except at
    the ends of the recording. first_frame: of row 0, in the recording.
    """
    onset = np.pad(logits[ONSET], ((_REACH, _REACH + 1), (0, 0)), constant_values=_FAINTEST * 4)
    evidence = (onset[:-1] + onset[1:]) / 2
    n_rows = len(logits[ONSET])
    here = evidence[_REACH : _REACH + n_rows]
    peak = here >= _FAINTEST
    for step in range(1, _REACH + 1):
        peak &= here > evidence[_REACH - step : _REACH - step + n_rows]
        peak &= here >= evidence[_REACH + step : _REACH + step + n_rows]
    peak[: own.start], peak[own.stop :] = False, False
    rows, keys = np.nonzero(peak)
    after = np.minimum(rows + 1, n_rows - 1)
    nudge = np.tanh(logits[TIME])
    place = rows + (nudge[rows, keys] + nudge[after, keys] + (after - rows)) / 2
    loud = logits[VELOCITY]
    return Candidates(
        time_s=np.maximum((place + first_frame) / float(FRAME_RATE_HZ), 0.0),
        key=keys,
        evidence=here[rows, keys],
        velocity=_chance((loud[rows, keys] + loud[after, keys]) / 2),
    )


def struck(every: Candidates, rules: Rules) -> np.ndarray:
    """Which candidates count as struck, (n,) bool."""
    kept: np.ndarray = every.evidence >= rules.keep
    opening = np.flatnonzero(kept & (every.time_s < rules.opening_s))
    if len(opening) == 1 and every.key[opening[0]] < rules.hums_below:
        kept[opening] = False
    return kept


def sounding(logits: np.ndarray, own: slice, rules: Rules) -> np.ndarray:
    """Which keys sound in the frames of `own`, packed to (n_frames, 11) bytes."""
    return np.packbits(logits[SUSTAIN, own] > rules.sounding, axis=1)


def notes_of(
    struck: Candidates,
    confidence: np.ndarray,
    velocity: np.ndarray,
    packed: np.ndarray,
    rules: Rules,
) -> tuple[Note, ...]:
    """Notes of the strikes, by onset, then pitch.

    confidence: (n,) 0..1. velocity: (n,) 1..127. packed: of the whole recording.
    """
    notes: list[Note] = []
    rate = float(FRAME_RATE_HZ)
    for key in range(N_KEYS):
        mine = _apart(np.flatnonzero(struck.key == key), struck, rules.apart_s)
        if not len(mine):
            continue
        sounds = (packed[:, key // 8] >> (7 - key % 8) & 1).astype(bool)
        times = struck.time_s[mine]
        ends = _ends(sounds, times * rate, rules.bridge_s * rate) / rate
        limits = np.append(times[1:], np.inf)
        ends = np.minimum(np.maximum(ends, times + rules.shortest_s), limits)
        for index, end_s in zip(mine, ends, strict=True):
            notes.append(
                Note(
                    onset_s=round(float(struck.time_s[index]), 4),
                    offset_s=round(float(end_s), 4),
                    midi=key + LOWEST_MIDI,
                    velocity=int(velocity[index]),
                    confidence=round(float(confidence[index]), 4),
                )
            )
    return in_order(notes)


def _apart(mine: np.ndarray, struck: Candidates, apart_s: float) -> np.ndarray:
    """Of strikes of one key that are too close, the likelier."""
    kept: list[int] = []
    for index in mine:
        if not kept or struck.time_s[index] - struck.time_s[kept[-1]] >= apart_s:
            kept.append(int(index))
        elif struck.evidence[index] > struck.evidence[kept[-1]]:
            kept[-1] = int(index)
    return np.array(kept, int)


def _ends(sounds: np.ndarray, starts: np.ndarray, bridge: float) -> np.ndarray:
    """Frames at which the sounding that begins near each start ends; the start if none does."""
    on = np.flatnonzero(sounds)
    if not len(on):
        return starts
    last = on[np.append(np.flatnonzero(np.diff(on) > bridge + 1), len(on) - 1)]
    begin = np.searchsorted(on, np.floor(starts))
    first = on[np.minimum(begin, len(on) - 1)]
    end = last[np.minimum(np.searchsorted(last, first), len(last) - 1)] + 1.0
    near = (begin < len(on)) & (first <= starts + bridge + 1)
    ends: np.ndarray = np.where(near, end, starts)
    return ends


def _chance(odds: np.ndarray) -> np.ndarray:
    """Log odds to chances."""
    chance: np.ndarray = 1 / (1 + np.exp(-np.clip(odds, -30, 30)))
    return chance
