"""Which clef each staff has in each bar: steady ones, for a passage at a time.

The right hand has the treble clef and the left hand the bass clef. A staff takes the other one
only for a passage: `STEADY_BARS` bars in a row (bars in which it rests count as neither) whose mean
pitch lies beyond a border, or fewer where the notes would stand on more ledger lines than can be
read (`FAR_HIGH`, `FAR_LOW`). Middle C is one ledger line away from both staves, and common practice
in piano music is to read a line or two more rather than to change the clef for a bar.
"""

from collections.abc import Sequence

from stackline.report.score.score_model import ClefSign

Clefs = tuple[ClefSign, ClefSign]  # right hand, left hand

STEADY_BARS = 4
HIGH_LEFT, LOW_RIGHT = 63.0, 52.0  # mean pitches (MIDI) beyond which the other clef reads better
FAR_HIGH, FAR_LOW = 69.0, 46.0  # beyond which a single bar is enough: four ledger lines and more


def staff_clefs(means: Sequence[tuple[float | None, float | None]]) -> list[Clefs]:
    """The clefs of every bar. means: of the right hand's and the left hand's pitches (MIDI)."""
    right = _other([None if one is None else LOW_RIGHT - one for one, _ in means],
                   LOW_RIGHT - FAR_LOW)  # fmt: skip
    left = _other([None if one is None else one - HIGH_LEFT for _, one in means],
                  FAR_HIGH - HIGH_LEFT)  # fmt: skip
    return [
        ("bass" if low else "treble", "treble" if high else "bass")
        for low, high in zip(right, left, strict=True)
    ]


def _other(beyond: Sequence[float | None], far: float) -> list[bool]:
    """Where a staff takes its other clef. beyond: semitones past its border, None in a rest."""
    found = [False] * len(beyond)
    for first, last in _passages(beyond):
        inside = [one for one in beyond[first : last + 1] if one is not None]
        if len(inside) >= STEADY_BARS or max(inside) > far:
            found[first : last + 1] = [True] * (last + 1 - first)
    return found


def _passages(beyond: Sequence[float | None]) -> list[tuple[int, int]]:
    """First and last bar of each row of bars past the border; rests inside do not end one."""
    rows: list[tuple[int, int]] = []
    is_open = False
    for bar, one in enumerate(beyond):
        if one is None:
            continue
        if one > 0 and is_open:
            rows[-1] = (rows[-1][0], bar)
        elif one > 0:
            rows.append((bar, bar))
        is_open = one > 0
    return rows
