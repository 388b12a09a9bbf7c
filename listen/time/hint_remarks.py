"""What of a player's word about time was not followed, or goes against what is heard, in words.

The word is believed (`time_hints`), so a wrong one makes wrong beats: it must not pass in silence.
"""

import math
from collections.abc import Sequence
from dataclasses import replace

from stackline.listen.other_sounds.clicks import Clicks, apart_from
from stackline.listen.time.beats import find_beats
from stackline.listen.time.count_in import find_count_in
from stackline.listen.time.time_hints import NO_HINTS, TimeHints
from stackline.shared.notes import Attack, BeatGrid

_SAME = math.log(1.08)  # a player's tempo may be so far off
_SURE = 0.9  # from this confidence on what is heard is held against the word


def hint_remarks(
    attacks: Sequence[Attack], clicks: Clicks, hints: TimeHints, grid: BeatGrid
) -> tuple[str, ...]:
    """Sentences without a full stop. grid: what came of the hints."""
    if hints == NO_HINTS or not attacks:
        return ()
    found = []
    if (
        hints.count_in
        and find_count_in(apart_from(clicks, attacks), attacks, hints.count_in) is None
    ):
        found.append(f"no count of {hints.count_in} even clicks was heard, so it changes nothing")
    if not grid.beats:
        found.append("no steady beat was found, so what was given of its time changes nothing")
    elif hints.tempo_bpm and grid.tempo_bpm:
        found += _tempo(attacks, clicks, hints, grid.tempo_bpm)
    return tuple(found)


def _tempo(
    attacks: Sequence[Attack], clicks: Clicks, hints: TimeHints, followed_bpm: float
) -> list[str]:
    given_bpm = hints.tempo_bpm or followed_bpm
    if _apart(followed_bpm, given_bpm):
        return [
            f"a tempo of {given_bpm:g} beats a minute was given, but {followed_bpm:.0f} are heard"
        ]
    free = find_beats(attacks, clicks=clicks, hints=replace(hints, tempo_bpm=None))
    sure = free.tempo_bpm is not None and free.confidence >= _SURE and free.source == "heard"
    if not sure or not _apart(free.tempo_bpm or followed_bpm, followed_bpm):
        return []
    return [
        f"a tempo of {given_bpm:g} beats a minute was given and is followed; "
        f"without it {free.tempo_bpm:.0f} would be heard"
    ]


def _apart(one_bpm: float, other_bpm: float) -> bool:
    """Whether two tempi differ, halves and doubles of each other counting as one."""
    octaves = abs(math.log2(one_bpm / other_bpm))
    return abs(octaves - round(min(octaves, 1.0))) * math.log(2.0) > _SAME
