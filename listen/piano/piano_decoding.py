"""From what the piano ear's network says to struck notes.

The network says of each key in each frame how likely a strike lies in the frame before it or
after it, so the two frames around a strike both say so; their mean log odds are the evidence
for a strike between them. A candidate is a local maximum of the evidence. The network places
the strike within the frame; the two frames' placings are averaged.

Which candidates were struck: those with evidence from `keep` on; a key an octave, a twelfth
or more octaves above another one needs more, `keep_hidden`, because what is mostly heard there
is the lower key. A note ends where its key
no longer sounds or is struck again. With the pedal down a piano's note ends gradually and
under others, so ends are uncertain; strikes are not.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stackline.listen.piano.features import FRAME_RATE_HZ
from stackline.shared.notes import Note
from stackline.shared.units import LOWEST_MIDI, N_KEYS

CONTEXT = 14  # frames on either side of its own that a chunk must bring along
ONSET, SUSTAIN, TIME, VELOCITY = range(4)  # the network's outputs

HIDING = (12, 19, 24, 28, 31, 36)  # semitones above a key at which its partials 2 to 8 stand
_FAINTEST = -5.0  # log odds below which nothing is a candidate
_REACH = 2  # frames: a candidate is the highest within so many


@dataclass(frozen=True, kw_only=True)
class Rules:
    """What becomes a note. keep, keep_hidden: log odds from which a candidate counts as struck.

    apart_s: strikes of one key closer than this are one. sounding: log odds above which a
    key sounds. bridge_s: a gap in sounding shorter than this ends no note. shortest_s: of a
    note.
    """

    keep: float = 0.5
    keep_hidden: float = 1.0
    apart_s: float = 0.08
    sounding: float = 0.0
    bridge_s: float = 0.1
    shortest_s: float = 0.05


@dataclass(frozen=True, kw_only=True, eq=False)
class Candidates:
    """Possible strikes, all (n,).

    row: of the chunk, the frame before the strike. key: 0..87. evidence: log odds.
    velocity: 0..1, the network's.
    """

    row: np.ndarray
    time_s: np.ndarray
    key: np.ndarray
    evidence: np.ndarray
    velocity: np.ndarray

    @classmethod
    def joined(cls, parts: Sequence["Candidates"]) -> "Candidates":
        """All of them, by time, then key."""
        names = ("row", "time_s", "key", "evidence", "velocity")
        found = {name: np.concatenate([getattr(one, name) for one in parts]) for name in names}
        order = cls.order(parts)
        return cls(**{name: values[order] for name, values in found.items()})

    @staticmethod
    def order(parts: Sequence["Candidates"]) -> np.ndarray:
        """The order in which `joined` puts the candidates of all parts."""
        keys = np.concatenate([part.key for part in parts])
        times = np.concatenate([part.time_s for part in parts])
        found: np.ndarray = np.lexsort((keys, times))
        return found

    def where(self, chosen: np.ndarray) -> "Candidates":
        """Some of them."""
        return Candidates(
            row=self.row[chosen],
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
        row=rows,
        time_s=np.maximum((place + first_frame) / float(FRAME_RATE_HZ), 0.0),
        key=keys,
        evidence=here[rows, keys],
        velocity=_chance((loud[rows, keys] + loud[after, keys]) / 2),
    )


def margins(every: Candidates, group: np.ndarray, rules: Rules) -> np.ndarray:
    """Log odds of candidates against what they need, (n,): 0 and more is a strike.

    group: the attack that each candidate belongs to.
    """
    keys = np.zeros((int(group[-1]) + 1 if len(group) else 0, N_KEYS + max(HIDING)), bool)
    sure = every.evidence >= rules.keep
    keys[group[sure], every.key[sure] + max(HIDING)] = True
    columns = every.key + max(HIDING)
    hidden = np.any([keys[group, columns - step] for step in HIDING], axis=0)
    found: np.ndarray = every.evidence - np.where(hidden, rules.keep_hidden, rules.keep)
    return found


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
    return tuple(sorted(notes, key=lambda note: (note.onset_s, note.midi)))


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
