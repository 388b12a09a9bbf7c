"""The orders in which twelve keys are practised. Keys are pitch classes of tonics.

Pairs: two neighbours of the circle back and forth, C F C F, then the next two.
"""

import random
from collections.abc import Callable

from stackline.shared.complaint import Complaint

Order = Callable[[int, int], tuple[int, ...]]


def _steps(step: int) -> Order:
    return lambda first, seed: tuple((first + step * i) % 12 for i in range(12))


def _whole(step: int) -> Order:
    """Six keys by whole steps, then the six a half step further."""

    def order(first: int, seed: int) -> tuple[int, ...]:
        half = 1 if step > 0 else -1
        return tuple((first + step * (i % 6) + half * (i // 6)) % 12 for i in range(12))

    return order


def _random(first: int, seed: int) -> tuple[int, ...]:
    keys = [key for key in range(12) if key != first]
    random.Random(seed).shuffle(keys)
    return (first, *keys)


def _pairs(first: int, seed: int) -> tuple[int, ...]:
    circle = [(first + 5 * i) % 12 for i in range(12)]
    pairs = zip(circle[::2], circle[1::2], strict=True)
    return tuple(key for one, two in pairs for key in (one, two, one, two))


# Steps are in semitones (common practice).
ORDERS: dict[str, Order] = {
    "fourths": _steps(5),
    "fifths": _steps(7),
    "half-up": _steps(1),
    "half-down": _steps(-1),
    "whole-up": _whole(2),
    "whole-down": _whole(-2),
    "pairs": _pairs,
    "random": _random,
}


def key_order(name: str, *, first: int = 0, seed: int = 0) -> tuple[int, ...]:
    """The keys in an order; every key at least once. seed: for "random" alone.

    Raises Complaint for an order that is not in the table.
    """
    if name not in ORDERS:
        raise Complaint(f"no order is called {name!r}; choose {', '.join(ORDERS)}")
    return ORDERS[name](first, seed)
