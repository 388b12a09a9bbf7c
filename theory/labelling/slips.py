"""Side-slips by their pitches alone: a stack moved by a semitone, and back at once.

A, A+1, A or A, A-1, A, where the slipped stack may be struck once or twice. What slips is
movement, not harmony: the labeller leaves it out of the chain and names it as its
neighbour moved, and progressions pass over it.
"""

from collections.abc import Sequence

FEWEST = 3  # notes; smaller stacks move in parallel all the time
LONGEST = 2  # attacks away


def slip_shifts(stacks: Sequence[tuple[int, ...]]) -> dict[int, int]:
    """Index of each slipped stack -> semitones from its home (1 or -1).

    stacks: rising MIDI pitches of voicings in order. The home of a slip is the last stack
    before it that is no slip itself.
    """
    found: dict[int, int] = {}
    i = 1
    while i < len(stacks) - 1:
        if i - 1 in found:  # the way home from a slip is no slip
            i += 1
            continue
        shift, length = _slip_at(stacks, i)
        for j in range(i, i + length):
            found[j] = shift
        i += max(length, 1)
    return found


def _slip_at(stacks: Sequence[tuple[int, ...]], i: int) -> tuple[int, int]:
    """Shift and number of slipped stacks that begin at i; (0, 0) where none does."""
    home = stacks[i - 1]
    if len(home) < FEWEST:
        return 0, 0
    for shift in (1, -1):
        away = tuple(pitch + shift for pitch in home)
        for length in range(1, LONGEST + 1):
            slipped = stacks[i : i + length]
            back = stacks[i + length] if i + length < len(stacks) else ()
            if back == home and all(stack == away for stack in slipped):
                return shift, length
    return 0, 0
