"""Where the sustain pedal must be down: what sounds together is more than two hands can hold.

The sound cannot tell a finger from a pedal; what ten fingers cannot do, it can. Where a chord is
struck while notes from before ring on, and no two hands reach all of them though they reach the
chord itself, a pedal holds what is left ringing: from the last chord that rings on to where that
ends. A pedal under notes that fingers could hold is not noticed, and none is claimed there.
"""

from collections.abc import Iterator, Sequence
from statistics import median

from stackline.shared.notes import Attack, Note
from stackline.theory.stacks.hands import UNREACHABLE, split_hands

RINGS_ON_S = 0.15  # a note that ends sooner after the next chord was let go with it

Span = tuple[float, float]  # seconds


def pedal_spans(attacks: Sequence[Attack]) -> tuple[Span, ...]:
    """Stretches with the pedal down, apart from each other and in order."""
    joined: list[Span] = []
    for start, end in _claims(attacks):
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return tuple(joined)


def _claims(attacks: Sequence[Attack]) -> Iterator[Span]:
    """For each attack under which a pedal must be down, what it holds."""
    for attack in attacks:
        ringing = [one for one in attack.held if one.offset_s > attack.onset_s + RINGS_ON_S]
        if ringing and _reached(attack.struck) and not _reached((*attack.struck, *ringing)):
            start = max(one.onset_s for one in ringing)
            yield start, median(one.offset_s for one in ringing)


def _reached(notes: Sequence[Note]) -> bool:
    """Whether two hands can hold these notes."""
    pitches = sorted({one.midi for one in notes})
    return UNREACHABLE not in split_hands(pitches).warnings
