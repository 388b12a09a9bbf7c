"""How often the struck set is exactly right on instruments that training never sees.

A fixed set of clips, drawn once from one seed: dev instruments as they are, clean, in a room
or over a telephone, listed or free chords, with or without others playing. Quick and crude:
strikes of the truth within 2 frames form a group, and a group is right when the keys whose
onset passes the threshold near it are just its keys. The figures choose among trainings and
thresholds; those that are quoted come from whole takes heard by the shipped ear.
"""

from dataclasses import dataclass

import numpy as np
import torch

from training.network.clips import N_FRAMES

_EDGE = 5  # frames at either end that are not judged
_NEAR = 1  # frames around a group in which its keys may peak


@dataclass(frozen=True, kw_only=True, eq=False)
class Groups:
    """Strikes of the truth by attack. clip: (n,). first, last: frames. keys: sets."""

    clip: np.ndarray
    first: np.ndarray
    last: np.ndarray
    keys: tuple[frozenset[int], ...]


def group(strikes: np.ndarray) -> Groups:
    """Attacks of strikes (n, 4): clip, frame, key, velocity (see `clips.Labels`)."""
    found: list[list[np.ndarray]] = []
    for strike in strikes[np.lexsort((strikes[:, 1], strikes[:, 0]))]:
        near = found and found[-1][-1][0] == strike[0] and strike[1] - found[-1][-1][1] < 2.0
        if near:
            found[-1].append(strike)
        else:
            found.append([strike])
    kept = [one for one in found if one[0][1] >= _EDGE and one[-1][1] < N_FRAMES - _EDGE - 1]
    return Groups(
        clip=np.array([int(one[0][0]) for one in kept], int),
        first=np.array([int(one[0][1]) for one in kept], int),
        last=np.array([int(one[-1][1]) for one in kept], int),
        keys=tuple(frozenset(int(strike[2]) for strike in one) for one in kept),
    )


def log_odds(onset: np.ndarray, groups: Groups) -> np.ndarray:
    """Highest onset logit of each key around each group, (n_groups, 88).

    onset: (clips, frames, 88) logits.
    """
    rows = [
        onset[clip, first - _NEAR : last + 2 + _NEAR].max(axis=0)
        for clip, first, last in zip(groups.clip, groups.first, groups.last, strict=True)
    ]
    return np.stack(rows) if rows else np.zeros((0, onset.shape[2]))


def exact(odds: np.ndarray, groups: Groups, threshold: float) -> np.ndarray:
    """Which groups are exactly right at a threshold on the log odds, (n_groups,) bool."""
    return np.array(
        [frozenset(np.nonzero(row > threshold)[0].tolist()) == keys
         for row, keys in zip(odds, groups.keys, strict=True)], bool
    )  # fmt: skip


@torch.no_grad()
def logits_of(network: torch.nn.Module, features: torch.Tensor, batch: int = 32) -> np.ndarray:
    """(clips, 4, frames, 88) logits in evaluation mode."""
    network.eval()
    parts = [network(part).float().cpu() for part in features.split(batch)]
    return torch.cat(parts).numpy()
