"""The beats and bars of a take, or the honest absence of a pulse.

A bar pointer (`listen.time.bar_pointer`) follows attacks, clicks and a bass in all ways of playing
that it knows (`listen.time.readings`). A count before the music (`listen.time.count_in`) and the
player's word settle what they settle. What is struck once a bar shows bars, not beats
(`listen.time.one_a_bar`). Where there is no steady pulse the grid is empty and the tempo None.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from stackline.listen.other_sounds.clicks import NO_CLICKS, Clicks, apart_from
from stackline.listen.time.bar_places import strikes_of
from stackline.listen.time.bar_pointer import Anchor, Onsets, Told
from stackline.listen.time.count_in import CountIn, find_count_in
from stackline.listen.time.one_a_bar import CONFIDENCE, assumed_bars, is_struck_once_a_bar
from stackline.listen.time.readings import (
    LIKELY_BARS,
    SURE_BARS,
    USUAL_METERS,
    Heard,
    Reading,
    best_reading,
)
from stackline.listen.time.runs import FEWEST, passages
from stackline.listen.time.time_hints import TimeHints, check_hints
from stackline.shared.notes import Attack, Beat, BeatGrid, GridSource

_ONE_S, _ONE_GAIN = 0.06, 60.0  # how near to a known downbeat one is, and what it gains by that
_COUNT_S, _COUNT_GAIN = 0.02, 8.0  # the same for a click of a count
_CLICKS_BETWEEN = 1.2  # clicks for each attack, where they stand between attacks
_SMOOTHED = 16  # beats over which a tempo is reckoned
_LEAST_IN_TIME = 0.25  # share of the attacks of a take with a pulse
_LEAST_CONFIDENCE = 0.1  # beats that are hardly believed are none (0.3 cost right grids; ours)


def find_beats(
    attacks: Sequence[Attack],
    *,
    clicks: Clicks = NO_CLICKS,
    bass_s: Sequence[float] | np.ndarray = (),
    hints: TimeHints | None = None,
    leave_out: int | None = None,
) -> BeatGrid:
    """The beat grid of a take, from at or before its first attack to after its last.

    clicks: all that `listen.clicks` found. bass_s: onsets of a bass, seconds, (n,). leave_out: a
    track of the learnt rhythms that is not asked (for figures of that track). Raises Complaint for
    hints out of range. Empty without a steady pulse.
    """
    hints = hints or TimeHints()
    check_hints(hints)
    given = hints.beats_per_bar
    silence = BeatGrid(
        beats_per_bar=given or USUAL_METERS[0], source="hint" if given else "assumed"
    )
    heard = apart_from(clicks, attacks)
    count = find_count_in(heard, attacks, hints.count_in)
    told = _told(hints, count)
    if len(attacks) < (1 if told.bpm else FEWEST):
        return silence
    are_many = int(heard.alone.sum()) > _CLICKS_BETWEEN * len(attacks)
    assumed = None if told.bpm else assumed_bars(attacks, silence.beats_per_bar)
    if assumed and not are_many:
        return assumed
    reading = _read(attacks, heard, np.asarray(bass_s, float), told, given, leave_out)
    are_many = are_many and reading is not None and reading.clicks_lead
    if assumed and not are_many:
        return assumed
    if reading is None or not _is_believed(reading, attacks, told):
        return silence
    grid = _grid(reading, attacks, told, given)
    known = told.bpm or are_many or told.anchors
    if not known and grid.source == "heard" and is_struck_once_a_bar(grid, attacks):
        return replace(grid, source="assumed", confidence=min(grid.confidence, CONFIDENCE))
    return grid


def _told(hints: TimeHints, count: CountIn | None) -> Told:
    """What the player said and counted."""
    one_s = hints.first_beat_s
    if one_s is None and count:
        one_s = count.first_beat_s
    ones = [] if one_s is None else [(one_s, _ONE_S, _ONE_GAIN, 0)]
    counted = [(float(t), _COUNT_S, _COUNT_GAIN, None) for t in (count.clicks_s if count else ())]
    return Told(
        bpm=hints.tempo_bpm or (60.0 / count.period_s if count else None),
        anchors=tuple(
            Anchor(time_s=time_s, spread_s=spread_s, gain=gain, number=number)
            for time_s, spread_s, gain, number in [*ones, *counted]
        ),
    )


def _read(
    attacks: Sequence[Attack],
    clicks: Clicks,
    bass_s: np.ndarray,
    told: Told,
    meter: int | None,
    leave_out: int | None,
) -> Reading | None:
    """The best reading; where the tempo was told there is one."""
    some = clicks.where(clicks.strength > 0)
    heard = Heard(
        strikes=strikes_of(attacks),
        clicks=_onsets("drums", some.time_s, some.strength),
        bass=_onsets("bass", bass_s, np.ones(len(bass_s))),
        leave_out=leave_out,
    )
    fewest, one_s = (1 if told.bpm else FEWEST), _one_s(told)
    found = best_reading(heard, told, meter=meter, fewest=fewest, one_s=one_s)
    if found is None and told.bpm:
        told = replace(told, never_free=True)
        found = best_reading(heard, told, meter=meter, fewest=fewest, one_s=one_s)
    return found


def _onsets(part: str, time_s: np.ndarray, weight: np.ndarray) -> Onsets:
    return Onsets(part=part, time_s=time_s, weight=weight, kind=np.zeros(len(time_s), int))


def _one_s(told: Told) -> float | None:
    return next((one.time_s for one in told.anchors if one.number == 0), None)


def _is_believed(reading: Reading, attacks: Sequence[Attack], told: Told) -> bool:
    in_time = sum(run.last - run.first + 1 for run in reading.runs)
    share = in_time / len(attacks)
    enough = share >= _LEAST_IN_TIME and reading.confidence >= _LEAST_CONFIDENCE
    return told.bpm is not None or enough


def _grid(reading: Reading, attacks: Sequence[Attack], told: Told, meter: int | None) -> BeatGrid:
    """The record. Where nothing shows the bars, one begins with the beat of the first attack."""
    per_bar, runs = reading.path.meter, reading.runs
    onsets_s = np.array([attack.onset_s for attack in attacks])
    is_sure = reading.bars_lead >= SURE_BARS or _one_s(told) is not None
    source: GridSource = "hint" if meter else "heard" if is_sure else "assumed"
    if not is_sure and reading.bars_lead < LIKELY_BARS:
        nearest = int(np.argmin(np.abs(runs[0].beats_s - onsets_s[runs[0].first])))
        runs = [replace(runs[0], start=-nearest % per_bar), *runs[1:]]
    beats = tuple(
        Beat(time_s=round(float(time_s), 4), number=(run.start + i) % per_bar + 1)
        for run in runs
        for i, time_s in enumerate(run.beats_s)
    )
    spans = [min(_SMOOTHED, len(run.beats_s) - 1) for run in runs]
    periods_s = np.concatenate(
        [(run.beats_s[n:] - run.beats_s[:-n]) / n for run, n in zip(runs, spans, strict=True)]
    )
    return BeatGrid(
        beats=beats,
        tempo_bpm=round(60.0 / float(np.median(periods_s)), 1),
        beats_per_bar=per_bar,
        source=source,
        confidence=round(reading.confidence, 3),
        out_of_time=passages(runs, onsets_s),
    )
