"""What speaks for a new section between two attacks: rest, other sounds, another way of playing.

Five measures of the gap after each attack. Those that compare what comes before with what comes
after look at `WINDOW_S` on each side, no further than the nearest edges that are known:

* quiet: how long nothing is struck and nothing rings, as a logarithm;
* other: how long talk, applause or other sounds last in the gap;
* tempo: how much better two tempi explain the attacks than one. Attacks stand at whole, half
  and swung parts of a beat from each other, so a tempo is as likely as the distances between
  attacks that are near each other say;
* texture: how much better two sets of shares explain how many keys are struck at once, in which
  register, and how soon after each other, than one;
* material: how many of the chords after the gap have a shape, in whatever key, that was struck
  before it, and the other way round: 1 where none has.

Log-likelihoods are natural. Times in seconds.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.special import gammaln

from stackline.shared.notes import Attack, Span

WINDOW_S = 40.0
NAMES = ("quiet", "other sounds", "tempo", "texture", "material")
RINGS_S = 3.0  # a chord that rings on longer than this is being rested on

_SLOWEST_BPM, _FASTEST_BPM, _STEP = 42.0, 330.0, 0.0125  # step: of the log
_REACH_S, _BACK = 6.0, 8  # distances between attacks: no longer than this, to so many before
_PLACES, _SPREAD = (0.0, 1 / 2, 2 / 3, 1 / 3), 0.045  # of a beat
_CHANCES = (0.50, 0.16, 0.14, 0.05)  # of a distance to lie at each; else anywhere
_KEYS = (1, 2, 3, 4, 5)  # struck at once, at most the last
_REGISTERS = (48, 55, 62, 69, 76)  # of the mean pitch
_WAITS_S = (0.12, 0.18, 0.27, 0.40, 0.60, 0.9, 1.35, 2.0, 3.0, 4.5)
_SHAPES_FROM = 3  # keys of a chord that has a shape
_EVEN = 0.5  # counted beforehand for each kind (ours)
_SHAPES = 100  # that are as likely
_NEWNESS = (0.5, 2.0, 8.0, 32.0)  # of how many shapes a player has


@dataclass(frozen=True, kw_only=True, eq=False)
class Played:
    """The attacks of a recording, ready to be compared. Arrays (n,) or (n, ...).

    onset_s, quiet_s (after each attack), other_s; distances: log-likelihood of each tempo by the
    distance to the k-th attack before, (_BACK, n, n_tempi); traits: rows of counts, (n, n_traits)
    of several kinds, kinds: where each begins. shapes: of each attack, None for less than a chord.
    """

    onset_s: np.ndarray
    quiet_s: np.ndarray
    other_s: np.ndarray
    distances: np.ndarray
    traits: np.ndarray
    kinds: tuple[int, ...]
    shapes: tuple[tuple[int, ...] | None, ...]


def played(attacks: Sequence[Attack], others: Sequence[Span]) -> Played:
    """Measure the attacks of a recording. others: where something else sounds."""
    onset_s = np.array([one.onset_s for one in attacks])
    rings_s = np.minimum(np.array([_rings_until(one) for one in attacks]), onset_s + RINGS_S)
    until_s = np.maximum.accumulate(rings_s)
    quiet_s = np.maximum(0.0, onset_s[1:] - until_s[:-1])
    gaps = pairwise(onset_s)
    traits, kinds = _traits(attacks, onset_s)
    return Played(
        onset_s=onset_s,
        quiet_s=np.append(quiet_s, 0.0),
        other_s=np.array([*(_inside(others, a, b) for a, b in gaps), 0.0]),
        distances=np.cumsum(_distances(onset_s), axis=1),
        traits=np.cumsum(traits, axis=0),
        kinds=kinds,
        shapes=tuple(map(_shape, attacks)),
    )


def measures(here: Played, first: int, last: int) -> np.ndarray:
    """`NAMES` of the gap after each attack from `first` up to `last`, (last - first, 5).

    first, last: of the attacks that are compared, so the gap after `last` is none of them.
    """
    found = np.zeros((last - first, len(NAMES)))
    for row, at in enumerate(range(first, last)):
        start = max(first, int(np.searchsorted(here.onset_s, here.onset_s[at] - WINDOW_S)))
        stop = min(last, int(np.searchsorted(here.onset_s, here.onset_s[at + 1] + WINDOW_S)) - 1)
        found[row] = (
            np.log1p(here.quiet_s[at]),
            np.log1p(here.other_s[at]),
            _tempo_gain(here, start, at, stop),
            _texture_gain(here, start, at, stop),
            _shapes_gain(here, start, at, stop),
        )
    return found


def _rings_until(attack: Attack) -> float:
    return max(note.offset_s for note in attack.struck + attack.held)


def _inside(spans: Sequence[Span], start_s: float, end_s: float) -> float:
    """How much of a gap other sounds fill."""
    return sum(max(0.0, min(end_s, one.end_s) - max(start_s, one.start_s)) for one in spans)


# ---- tempo


def tempi_bpm() -> np.ndarray:
    """The tempi that are asked, (n_tempi,)."""
    count = int(np.log(_FASTEST_BPM / _SLOWEST_BPM) / _STEP) + 1
    return _SLOWEST_BPM * np.exp(_STEP * np.arange(count))


def _distances(onset_s: np.ndarray) -> np.ndarray:
    """Log-likelihood of each tempo by the distance to the attacks before, (_BACK, n, n_tempi)."""
    beat_s = 60.0 / tempi_bpm()
    found = np.zeros((_BACK, len(onset_s), len(beat_s)))
    for back in range(1, _BACK + 1):
        apart_s = onset_s[back:] - onset_s[:-back]
        likely = _log_chance(apart_s[:, None] / beat_s[None, :])
        found[back - 1, back:] = np.where((apart_s <= _REACH_S)[:, None], likely, 0.0)
    return found / np.sqrt(_BACK)  # distances of one attack say much the same


def _log_chance(beats: np.ndarray) -> np.ndarray:
    """Log density of distances in beats, against any place of the beat being as likely."""
    part = beats % 1.0
    total = np.full(beats.shape, 1.0 - sum(_CHANCES))
    for place, chance in zip(_PLACES, _CHANCES, strict=True):
        off = np.abs(part - place)
        off = np.minimum(off, 1.0 - off) / _SPREAD
        total += chance * np.exp(-0.5 * off * off) / (_SPREAD * np.sqrt(2 * np.pi))
    logs: np.ndarray = np.log(total)
    return logs


def _tempo_scores(here: Played, first: int, last: int) -> np.ndarray:
    """Log-likelihood of each tempo for attacks `first` to `last`, by distances among them."""
    total = np.zeros(here.distances.shape[2])
    for back in range(1, min(_BACK, last - first) + 1):
        sums = here.distances[back - 1]
        total += sums[last] - sums[first + back - 1]
    return total


def _tempo_gain(here: Played, start: int, at: int, stop: int) -> float:
    before, after = _tempo_scores(here, start, at), _tempo_scores(here, at + 1, stop)
    return float(before.max() + after.max() - (before + after).max())


# ---- texture


def _traits(attacks: Sequence[Attack], onset_s: np.ndarray) -> tuple[np.ndarray, tuple[int, ...]]:
    """One row an attack: which share of each kind it counts to; where the kinds begin."""
    sizes = [len(_KEYS), len(_REGISTERS) + 1, len(_WAITS_S) + 1]
    kinds = tuple(int(one) for one in np.cumsum([0, *sizes]))
    found = np.zeros((len(attacks), kinds[-1]))
    waits_s = np.diff(onset_s, append=onset_s[-1:] + 1.0)
    for row, attack, wait_s in zip(found, attacks, waits_s, strict=True):
        keys = [note.midi for note in attack.struck]
        row[min(len(keys), _KEYS[-1]) - 1] = 1
        row[kinds[1] + int(np.searchsorted(_REGISTERS, sum(keys) / len(keys)))] = 1
        row[kinds[2] + int(np.searchsorted(_WAITS_S, wait_s))] = 1
    return found, kinds


def _counts(here: Played, first: int, last: int) -> np.ndarray:
    """Of attacks `first` to `last`."""
    before = here.traits[first - 1] if first else 0.0
    counts: np.ndarray = here.traits[last] - before
    return counts


def _texture_gain(here: Played, start: int, at: int, stop: int) -> float:
    before, after = _counts(here, start, at), _counts(here, at + 1, stop)
    kinds = zip(here.kinds, here.kinds[1:], strict=False)
    return sum(_gain(before[low:high], after[low:high], _EVEN) for low, high in kinds)


def _gain(before: np.ndarray, after: np.ndarray, even: float) -> float:
    """How much likelier counts are as two draws with shares of their own than as one.

    Shares are unknown (Dirichlet); even: how many counts of each outcome they are worth.
    """
    return float(
        _likely(before, even) + _likely(after, even) - _likely(before + after, even)
        - _likely(np.zeros_like(before), even)
    )  # fmt: skip


def _likely(counts: np.ndarray, even: float) -> float:
    """Log-likelihood of counts, whatever their shares, but for a constant."""
    return float(np.sum(gammaln(counts + even)) - gammaln(counts.sum() + even * len(counts)))


# ---- material


def _shape(attack: Attack) -> tuple[int, ...] | None:
    """The keys over the lowest, in whatever key; None for less than a chord."""
    keys = sorted({note.midi for note in attack.struck})
    return tuple(one - keys[0] for one in keys) if len(keys) >= _SHAPES_FROM else None


def _shapes_gain(here: Played, start: int, at: int, stop: int) -> float:
    """The same of the shapes of the chords, each counted once while it is repeated."""
    before = Counter(_once(here.shapes[start : at + 1]))
    after = Counter(_once(here.shapes[at + 1 : stop + 1]))
    shared = len(before.keys() & after.keys())
    apart = max(_crp(before, a) + _crp(after, a) for a in _NEWNESS)
    together = max(_crp(before + after, a) for a in _NEWNESS)
    return apart - together - shared * float(np.log(_SHAPES))


def _once(shapes: Sequence[tuple[int, ...] | None]) -> list[tuple[int, ...]]:
    some = [one for one in shapes if one]
    return [one for one, last in zip(some, [None, *some], strict=False) if one != last]


def _crp(counts: Counter[tuple[int, ...]], newness: float) -> float:
    """Log chance of a row of shapes where the next is new as often as `newness` others say."""
    total = counts.total()
    if not total:
        return 0.0
    every = np.array(list(counts.values()), float)
    ways = len(every) * np.log(newness) + np.sum(gammaln(every))
    return float(ways + gammaln(newness) - gammaln(newness + total))
