"""Which note goes where from one voicing to the next: minimum-cost pairing of pitches.

Cost: semitones moved; APPEARS for a voice that comes or goes. Every note is in exactly one
pair. With this cost it is always best to keep common tones, and some best pairing of the
rest does not cross (the cost is a distance on a line), so it is found by alignment.
"""

from collections.abc import Sequence

from stackline.shared.harmony import VoiceMove

APPEARS = 7


def pair_voices(before: Sequence[int], after: Sequence[int]) -> tuple[VoiceMove, ...]:
    """Moves from low to high; before and after are MIDI pitches, each once."""
    common = set(before) & set(after)
    moves = [VoiceMove(from_midi=pitch, to_midi=pitch) for pitch in common]
    left = sorted(set(before) - common)
    right = sorted(set(after) - common)
    moves += _align(left, right)
    return tuple(sorted(moves, key=_height))


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
