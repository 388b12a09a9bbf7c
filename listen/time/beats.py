"""The beats and bars of a take, or the honest absence of a pulse.

Regular clicks (a metronome, a drummer) lead where they are (`clicked_beats`); else the
attacks themselves tell (`comping_beats`). A count before the music (`count_in`) and
the player's word settle what they settle. What is struck once a bar shows bars, not beats
(`one_a_bar`). Where there is no steady pulse the grid is empty and the tempo None.
"""

from collections.abc import Sequence
from dataclasses import replace

from stackline.listen.other_sounds.clicks import NO_CLICKS, Clicks, apart_from
from stackline.listen.time.count_in import find_count_in
from stackline.listen.time.one_a_bar import CONFIDENCE, assumed_bars, is_struck_once_a_bar
from stackline.listen.time.time_hints import TimeHints, check_hints
from stackline.listen.time.told import Told
from stackline.listen.time.usual_tempi import USUAL_BEATS_PER_BAR
from stackline.listen.time.with_clicks.clicked_beats import clicked_beats, led_by
from stackline.listen.time.without_clicks.comping_beats import comping_beats
from stackline.listen.time.without_clicks.in_time import FEWEST
from stackline.shared.notes import Attack, BeatGrid


def find_beats(
    attacks: Sequence[Attack], *, clicks: Clicks = NO_CLICKS, hints: TimeHints | None = None
) -> BeatGrid:
    """The beat grid of a take, from at or before its first attack to after its last.

    clicks: all that `clicks` found. Raises Complaint for hints out of range. Empty
    without a steady pulse.
    """
    hints = hints or TimeHints()
    check_hints(hints)
    heard = apart_from(clicks, attacks)
    count = find_count_in(heard, attacks, hints.count_in)
    one_s = hints.first_beat_s
    told = Told(
        meter=hints.beats_per_bar,
        bpm=hints.tempo_bpm or (60.0 / count.period_s if count else None),
        one_s=count.first_beat_s if count and one_s is None else one_s,
    )
    silence = BeatGrid(
        beats_per_bar=hints.beats_per_bar or USUAL_BEATS_PER_BAR,
        source="hint" if hints.beats_per_bar else "assumed",
    )
    if len(attacks) < (1 if told.bpm else FEWEST):
        return silence
    leading = led_by(heard, attacks)
    if not told.bpm and not leading.are_many:
        assumed = assumed_bars(attacks, silence.beats_per_bar)
        if assumed:
            return assumed
    if leading.are_any:
        grid = clicked_beats(attacks, leading, told, count)
    else:
        grid = comping_beats(attacks, told)
    if grid is None:
        return silence
    is_told = told.bpm or leading.are_many or told.one_s is not None
    if not is_told and grid.source == "heard" and is_struck_once_a_bar(grid, attacks):
        return replace(grid, source="assumed", confidence=min(grid.confidence, CONFIDENCE))
    return grid
