"""How far an attack's set of keys can be trusted: the chance that it is exact.

From the log odds of its candidates: how likely all decisions are right together if each stood
alone (and the logarithm of the doubt in that), the weakest key kept and the strongest left
out, the strongest left out that would hide among the partials of a kept one, how many keys
there are; and from the rest of the recording: how much doubt there is in
its attacks on the whole, and how soon before the weakest key was last struck (what still rings
may be taken for struck again). Weights by logistic regression on takes of several instruments
that the network was not trained on (``python -m training.classifiers.fit_piano_trust``).
"""

from functools import lru_cache
from pathlib import Path

import numpy as np

from stackline.listen.attacks.attacks import NEIGHBOURS_S
from stackline.listen.piano.piano_decoding import Candidates
from stackline.shared.units import N_KEYS

WEIGHTS = Path(__file__).parent / "weights" / "piano_trust.npz"
N_INPUTS = 9  # numbers that trust rests on
_LEAST = 1e-3  # doubt below which all is the same
_MOST = 10.0  # log odds beyond which all is the same
_HIDING = (12, 19, 24, 28, 31, 36)  # semitones above a key where its partials 2 to 8 stand
_NEVER = -6.0  # log odds of what is no candidate
_HIDDEN = 4  # of the inputs: minus the log odds of the strongest that may hide
_MAY_HIDE = -2.0  # log odds from which it may have been struck after all
_UNSURE = 0.7  # the chance of such an attack, at most
_RINGS_S = 3.0  # a key struck so long ago may still ring


def attacks_of(time_s: np.ndarray) -> list[np.ndarray]:
    """Places of the candidates of each attack, (k,) each. time_s: of candidates, (n,), rising."""
    starts = np.flatnonzero(np.diff(time_s) > NEIGHBOURS_S) + 1
    return np.split(np.arange(len(time_s)), starts) if len(time_s) else []


def trust_table(every: Candidates, kept: np.ndarray) -> tuple[list[np.ndarray], np.ndarray]:
    """Attacks with a key kept, and what trust in each rests on, (n_attacks, N_INPUTS).

    kept: (n,) bool, which candidates count as struck.
    """
    attacks = [part for part in attacks_of(every.time_s) if kept[part].any()]
    if not attacks:
        return [], np.zeros((0, N_INPUTS))
    doubts = np.array([_doubt(every.evidence[part], kept[part]) for part in attacks])
    usual = float(np.log(np.maximum(np.mean(np.minimum(doubts, _MOST)), _LEAST)))
    since = _since_last(every, kept)
    rows = [
        _inputs(every.where(part), kept[part], since[part], doubt, usual)
        for part, doubt in zip(attacks, doubts, strict=True)
    ]
    return attacks, np.stack(rows)


def confidences(every: Candidates, kept: np.ndarray) -> np.ndarray:
    """Chances, (n,), such that the smallest of an attack is that its set is exact.

    The weakest note of an attack has the chance that just these keys were struck; the others
    have at least that, and else the chance that they were struck.
    """
    chance: np.ndarray = 1 / (1 + np.exp(-np.clip(every.evidence, -30, 30)))
    attacks, table = trust_table(every, kept)
    exact = chances(table, _weights())
    for part, value in zip(attacks, exact, strict=True):
        mine = part[kept[part]]
        chance[mine] = np.maximum(chance[mine], value)
        chance[mine[np.argmin(every.evidence[mine])]] = value
    return chance


def chances(table: np.ndarray, weights: np.ndarray) -> np.ndarray:
    """Chances from rows of `trust_table`, (n_attacks,).

    Where a key that hides among the partials of a kept one was left out without being clear, it is
    never sure: of such attacks one in three is wrong, where chords come from no list.
    """
    exact = 1 / (1 + np.exp(-table @ weights))
    found: np.ndarray = np.where(-table[:, _HIDDEN] > _MAY_HIDE, np.minimum(exact, _UNSURE), exact)
    return found


def _inputs(
    attack: Candidates, kept: np.ndarray, since_s: np.ndarray, doubt: float, usual: float
) -> np.ndarray:
    """One attack's row."""
    odds = attack.evidence
    weakest = int(np.argmin(np.where(kept, odds, np.inf)))
    above = np.add.outer(attack.key[kept], _HIDING)
    hidden = float(odds[~kept & np.isin(attack.key, above)].max(initial=_NEVER))
    dropped = float(odds[~kept].max(initial=-_MOST))
    return np.array([
        -min(doubt, _MOST), np.log(max(doubt, _LEAST)),
        min(float(odds[weakest]), _MOST), min(-dropped, _MOST), -hidden,
        kept.sum() / 10, usual, float(since_s[weakest] < _RINGS_S), 1.0,
    ])  # fmt: skip


def _doubt(odds: np.ndarray, kept: np.ndarray) -> float:
    """Minus the log chance that all decisions are right, if each stood alone."""
    return float(np.sum(np.logaddexp(0.0, np.where(kept, -odds, odds))))


def _since_last(every: Candidates, kept: np.ndarray) -> np.ndarray:
    """Seconds since each candidate's key was last struck, (n,); infinite before the first."""
    last, since = np.full(N_KEYS, -np.inf), np.full(len(kept), np.inf)
    for place in np.flatnonzero(kept):
        key = every.key[place]
        since[place] = every.time_s[place] - last[key]
        last[key] = every.time_s[place]
    return since


@lru_cache(maxsize=1)
def _weights() -> np.ndarray:
    with np.load(WEIGHTS) as data:
        found: np.ndarray = data["weights"]
        return found
