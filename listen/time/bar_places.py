"""Where in the bar a comping player strikes, and where his notes are new.

Nothing of harmony is known here. What is known is common practice of comping: chords change
on the first beat, in four also on the third, or are anticipated by half a beat; what is only
struck again falls nearly anywhere, most often on the first beat. An attack is as new as the
share of its pitch classes that did not sound before it.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stackline.shared.notes import Attack

_NEW = {  # shares of attacks whose notes are new; the rest may fall anywhere
    3: {0.0: 0.48, 1.0: 0.10, 2.0: 0.09, 0.5: 0.05, 1.5: 0.07, 2.5: 0.13},
    4: {0.0: 0.42, 1.0: 0.05, 2.0: 0.12, 3.0: 0.05, 0.5: 0.04, 1.5: 0.08, 2.5: 0.05, 3.5: 0.13},
}
_AGAIN = {  # and of those that are struck again
    3: {0.0: 0.20, 1.0: 0.17, 2.0: 0.17, 0.5: 0.10, 1.5: 0.15, 2.5: 0.11},
    4: {0.0: 0.18, 1.0: 0.10, 2.0: 0.14, 3.0: 0.10, 0.5: 0.08, 1.5: 0.13, 2.5: 0.10, 3.5: 0.08},
}


@dataclass(frozen=True, kw_only=True, eq=False)
class Strikes:
    """Attacks, arrays of shape (n,). new: 0 (struck again) to 1; lone: of one note."""

    time_s: np.ndarray
    new: np.ndarray
    lone: np.ndarray
    weight: np.ndarray


def strikes_of(attacks: Sequence[Attack]) -> Strikes:
    """Times, newness and weights (the surest note's confidence) of attacks."""
    new, before = [], frozenset[int]()
    for attack in attacks:
        struck = {note.midi % 12 for note in attack.struck}
        new.append(len(struck - before) / len(struck))
        if len(attack.struck) > 1:
            before = frozenset(pitch % 12 for pitch in attack.pitches)
    return Strikes(
        time_s=np.array([attack.onset_s for attack in attacks]),
        new=np.array(new),
        lone=np.array([len(attack.struck) == 1 for attack in attacks]),
        weight=np.array([max(note.confidence for note in attack.struck) for attack in attacks]),
    )


def shares(per_bar: int) -> tuple[dict[float, float], dict[float, float]]:
    """Shares of new and of repeated attacks on the beats and half beats of a bar."""
    new = _NEW.get(per_bar) or _any_meter(per_bar, 0.42)
    return new, _AGAIN.get(per_bar) or _any_meter(per_bar, 0.18)


def _any_meter(per_bar: int, on_one: float) -> dict[float, float]:
    """Shares for a meter without a table: the one, and the rest evenly."""
    even = (0.92 - on_one) / (2 * per_bar)
    halves = [place / 2 for place in range(2 * per_bar)]
    return {place: even + (on_one if place == 0.0 else 0.0) for place in halves}
