"""Triads in a stack: which three notes are one, and what stands on or under it.

Upper structure, slash chord, polychord and inversion are all a close triad and something else
(common practice). A triad on the chord's own 3rd over its root is no slash chord: that is the
upper part of every seventh chord.
"""

from collections.abc import Sequence

from stackline.theory.chords.degrees import name_degree
from stackline.theory.stacks import kinds

WIDEST = 9  # semitones of a close triad in any inversion
TENTHS = (15, 16)  # semitones
_TRIADS = {(4, 3): ("major", 0), (3, 5): ("major", 2), (5, 4): ("major", 1),
           (3, 4): ("minor", 0), (4, 5): ("minor", 2), (5, 3): ("minor", 1)}  # fmt: skip
_TENSIONS = frozenset({1, 2, 3, 6, 8, 9})  # over a dominant
_OWN = frozenset({"R", "3", "b3"})


def triad_of(pitches: Sequence[int]) -> tuple[str, int] | None:
    """Mode and root pitch of three rising pitches that are a close triad; else None."""
    low, middle, high = pitches
    found = _TRIADS.get((middle - low, high - middle))
    return None if found is None or high - low > WIDEST else (found[0], pitches[found[1]])


def upper_structure(pitches: Sequence[int], root_pc: int, family: str) -> list[str]:
    """A triad with a tension on top of a dominant's 3 and b7."""
    intervals = [(pitch - root_pc) % 12 for pitch in pitches]
    if family != "dominant" or len(pitches) < 5:
        return []
    triad, top, below = triad_of(pitches[-3:]), set(intervals[-3:]), set(intervals[:-3])
    if triad is None or not top & _TENSIONS:
        return []
    if not {4, 10} <= below or not below <= {0, 4, 10} | top:
        return []
    degree = name_degree(triad[1] - root_pc, "dominant", set(intervals))
    return [kinds.upper_structure(str(degree), triad[0])]


def slash_chord(pitches: Sequence[int], root_pc: int, family: str) -> list[str]:
    """A close triad over one bass note that is none of its tones."""
    if len(pitches) != 4:
        return []
    bass, triad = pitches[0], triad_of(pitches[1:])
    if triad is None or bass % 12 in {pitch % 12 for pitch in pitches[1:]}:
        return []
    over = {(pitch - root_pc) % 12 for pitch in pitches}
    low, on = (str(name_degree(pitch - root_pc, family, over)) for pitch in (bass, triad[1]))
    rooted = low == "R" and on not in _OWN
    return [kinds.slash_chord(on, triad[0], low)] if rooted or on == "R" else []


def polychord(pitches: Sequence[int], root_pc: int, family: str) -> list[str]:
    """Two close triads, one above the other, on different roots."""
    if len(pitches) != 6:
        return []
    low, high = triad_of(pitches[:3]), triad_of(pitches[3:])
    if low is None or high is None or (low[1] - high[1]) % 12 == 0:
        return []
    over = {(pitch - root_pc) % 12 for pitch in pitches}
    below, above = (
        f"{mode} triad on the {name_degree(pitch - root_pc, family, over)}"
        for mode, pitch in (low, high)
    )
    return [kinds.polychord(above, below)]


def inversion(pitches: Sequence[int], root_pc: int, third: int) -> list[str]:
    """A bare triad whose 3rd or 5th lies lowest."""
    intervals = [(pitch - root_pc) % 12 for pitch in pitches]
    if set(intervals) != {0, third, 7} or intervals[0] == 0:
        return []
    return [kinds.TRIAD_5 if intervals[0] == 7 else kinds.TRIAD_3]


def tenth(pitches: Sequence[int], root_pc: int, third: int) -> list[str]:
    """Root and 3rd a tenth apart, with at most a 5th, a 6th or a 7th between them."""
    if len(pitches) not in (2, 3) or pitches[0] % 12 != root_pc:
        return []
    is_tenth = pitches[-1] - pitches[0] in TENTHS and (pitches[-1] - root_pc) % 12 == third
    between = [pitch - pitches[0] for pitch in pitches[1:-1]]
    return [kinds.TENTH] if is_tenth and all(7 <= one <= 11 for one in between) else []
