"""Which note goes where from one voicing to the next: pairing of pitches without crossings.

Every note is in exactly one pair. First come the pairs that the harmony asks for (`guide_tones`),
then common tones that cross none of them; between these the rest is paired in order, at least
cost: semitones moved, and APPEARS for a voice that comes or goes.
"""

from collections.abc import Sequence
from itertools import pairwise

from stackline.shared.harmony import VoiceMove

APPEARS = 7  # semitones: a voice that would leap a fifth or more stops, and another begins (ours)


def pair_voices(
    before: Sequence[int], after: Sequence[int], first: Sequence[tuple[int, int]] = ()
) -> tuple[VoiceMove, ...]:
    """Moves from low to high; before and after are MIDI pitches, each once.

    first: pairs that go before all others; none of them may cross another.
    """
    fixed = list(first)
    for pitch in sorted(set(before) & set(after)):
        if all((pitch - a) * (pitch - b) > 0 for a, b in fixed):
            fixed.append((pitch, pitch))
    moves = [VoiceMove(from_midi=a, to_midi=b) for a, b in fixed]
    for left, right in _between(sorted(before), sorted(after), sorted(fixed)):
        moves += _align(left, right)
    return tuple(sorted(moves, key=_height))


def _between(
    before: list[int], after: list[int], fixed: Sequence[tuple[int, int]]
) -> list[tuple[list[int], list[int]]]:
    """What is left of both stacks below, between and above the fixed pairs."""
    ends = [(-1, -1), *fixed, (1000, 1000)]
    return [
        ([p for p in before if low[0] < p < high[0]], [p for p in after if low[1] < p < high[1]])
        for low, high in pairwise(ends)
    ]


def _height(move: VoiceMove) -> tuple[float, int]:
    ends = [end for end in (move.from_midi, move.to_midi) if end is not None]
    return (sum(ends) / len(ends), ends[0])


def _align(left: list[int], right: list[int]) -> list[VoiceMove]:
    """Order-keeping alignment of least cost, by dynamic programming."""
    rows, columns = len(left) + 1, len(right) + 1
    cost = [[(i + j) * APPEARS for j in range(columns)] for i in range(rows)]
    for i in range(1, rows):
        for j in range(1, columns):
            cost[i][j] = min(
                cost[i - 1][j - 1] + abs(left[i - 1] - right[j - 1]),
                cost[i - 1][j] + APPEARS,
                cost[i][j - 1] + APPEARS,
            )
    moves, i, j = [], rows - 1, columns - 1
    while i or j:
        paired = i and j and cost[i][j] == cost[i - 1][j - 1] + abs(left[i - 1] - right[j - 1])
        if paired:
            i, j = i - 1, j - 1
            moves.append(VoiceMove(from_midi=left[i], to_midi=right[j]))
        elif i and cost[i][j] == cost[i - 1][j] + APPEARS:
            i -= 1
            moves.append(VoiceMove(from_midi=left[i], to_midi=None))
        else:
            j -= 1
            moves.append(VoiceMove(from_midi=None, to_midi=right[j]))
    return moves
