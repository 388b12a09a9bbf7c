"""The tempo of a pass: from the beats of the take, which its attacks show better than its chords.

The lengths that a target writes say how long chords are meant to last; comping brings them early
and late, and a pass of three chords has two changes. So the lengths only say about which tempo to
look at; which it is, say the distances between all attacks of the passes of that tempo: they
are whole, half and swung parts of its beat. Each pass then has its own within some per cent.

Where the player said what the beats are, or a MIDI file has them, the beats under the pass count.
Beats that were found keep their rate where half, once, twice or four times it is the tempo so
found. Who strikes each chord half as long as written plays what twice the tempo is, note for
note, and is told so, unless the beats are known.
"""

import math
from collections.abc import Sequence
from statistics import median

import numpy as np

from stackline.practice.finding.pass_records import Pass
from stackline.practice.review.hesitation import tempo_bpm
from stackline.practice.targets.targets import Target
from stackline.shared.notes import BeatGrid
from stackline.shared.units import FASTEST_BPM, SLOWEST_BPM

FEWEST = 3  # beats under a pass that say how fast it is; of fewer the take's own tempo is told
RATES = (0.5, 1.0, 2.0, 4.0)  # times as fast as found
SAME = 0.05  # two tempi that differ by no more (relative) are one
OF_ONE_TEMPO = 0.25  # log ratio up to which passes' chords are heard together; ours
DOUBT = 1.0  # nats by which a tempo of its own must explain a pass better; ours
# Log ratios of a tempo to that of the chords, ours: the most, and the standard deviation.
WIDE, WIDELY = 0.45, 0.12
CLOSE, CLOSELY = 0.08, 0.03  # log ratios, the same for one pass among those of its tempo; ours
STEP = 0.005  # log ratio between tempi that are asked
REACH_S, BACK = 6.0, 8  # seconds between attacks at most, and attacks before; ours
TOGETHER_S = 0.15  # seconds: attacks nearer than this are one stroke
# Parts of a beat, the chances of a distance to lie there, and their spread in beats; ours.
PLACES, CHANCES, SPREAD = (0.0, 1 / 2, 2 / 3, 1 / 3), (0.50, 0.16, 0.14, 0.05), 0.045


def pass_tempi(rows: Sequence[Pass], target: Target, grid: BeatGrid) -> list[float | None]:
    """Beats a minute of each pass of a take; None for a single chord in a take without beats."""
    written = [tempo_bpm(row, target) for row in rows]
    known = [one for one in written if one is not None]
    by_own = {one: _shared(rows, written, one) for one in known}
    usual = max(known, key=lambda one: len(_alike(known, one)), default=None)
    found: list[float | None] = []
    for row, own in zip(rows, written, strict=True):
        by_beats = None if grid.is_uncertain else _by_beats(row, grid)
        if own is None or usual is None or (by_beats is not None and grid.source == "hint"):
            found.append(by_beats if grid.source == "hint" else own)
            continue
        pulse = _playable(_of_one(row, by_own[own], by_own[usual]))
        rates = [by_beats * one for one in RATES] if by_beats is not None else []
        found.append(next((bpm for bpm in rates if abs(bpm / pulse - 1) <= SAME), pulse))
    return found


def _alike(tempi: Sequence[float], bpm: float) -> list[float]:
    return [one for one in tempi if abs(math.log(one / bpm)) <= OF_ONE_TEMPO]


def _shared(rows: Sequence[Pass], written: Sequence[float | None], bpm: float) -> float:
    """The tempo of the passes whose chords are about as fast as `bpm`."""
    of_it = [
        (row, one) for row, one in zip(rows, written, strict=True) if one and _alike([one], bpm)
    ]
    about = median(one for _, one in of_it)
    return _likeliest([_onsets(row) for row, _ in of_it], about, WIDE, WIDELY)[0]


def _of_one(row: Pass, own: float, usual: float) -> float:
    """A pass's tempo: near that of most passes of the take where this explains it as well."""
    alone, with_most = (
        _likeliest([_onsets(row)], one, CLOSE, CLOSELY) for one in (own, usual)
    )  # fmt: skip
    return (with_most if with_most[1] >= alone[1] - DOUBT else alone)[0]


def _onsets(row: Pass) -> np.ndarray:
    return np.array([one.onset_s for a in row.arrivals for one in (a.main, *a.later)])


def _likeliest(
    onsets: Sequence[np.ndarray], about: float, reach: float, spread: float
) -> tuple[float, float]:
    """The tempo near another that the distances between attacks speak for, and how much they do."""
    off = np.arange(-reach, reach + STEP / 2, STEP)
    beat_s = 60.0 / (about * np.exp(off))
    total = -0.5 * (off / spread) ** 2
    for some in onsets:
        for back in range(1, min(BACK, len(some) - 1) + 1):
            apart_s = some[back:] - some[:-back]
            apart_s = apart_s[(apart_s > TOGETHER_S) & (apart_s <= REACH_S)]
            likely = _log_chance(apart_s[:, None] / beat_s[None, :]).sum(axis=0)
            total += likely / math.sqrt(BACK)  # distances of one attack say much the same
    best = int(total.argmax())
    return float(60.0 / beat_s[best]), float(total[best])


def _log_chance(beats: np.ndarray) -> np.ndarray:
    """Log density of distances in beats, against any part of the beat being as likely."""
    part = beats % 1.0
    total = np.full(beats.shape, 1.0 - sum(CHANCES))
    for place, chance in zip(PLACES, CHANCES, strict=True):
        off = np.abs(part - place)
        off = np.minimum(off, 1.0 - off) / SPREAD
        total += chance * np.exp(-0.5 * off * off) / (SPREAD * math.sqrt(2 * math.pi))
    logs: np.ndarray = np.log(total)
    return logs


def _playable(bpm: float) -> float:
    """A tempo that somebody counts, by halves and doubles."""
    while bpm > FASTEST_BPM:
        bpm /= 2
    while bpm < SLOWEST_BPM:
        bpm *= 2
    return bpm


def _by_beats(row: Pass, grid: BeatGrid) -> float | None:
    last_s = row.arrivals[-1].main.onset_s
    if not grid.tempo_bpm or grid.is_left_between(row.start_s, last_s):
        return None
    beat_s = 60.0 / grid.tempo_bpm
    times = [beat.time_s for beat in grid.beats
             if row.start_s - beat_s / 2 <= beat.time_s <= last_s + beat_s / 2]  # fmt: skip
    if len(times) < FEWEST:
        return grid.tempo_bpm
    return 60.0 * (len(times) - 1) / (times[-1] - times[0])
