"""How often onsets stand at each place of the bar: by way of playing, by part, by tempo.

Ways of playing are those of players and of the trade. `rhythms.json` counts where pianists,
bassists and drummers of annotated trios play (made by `training.classifiers.count_rhythms`; source
and licence stand in it); tracks near a tempo weigh more. Of the trade: comping, in each manner of
playing the half of a beat, with new notes where chords change (`listen.time.bar_places`); runs of
sixteenths, whose chords stand on the beat (common practice).

Units: places in 1/24 of a beat; rates are relative to their mean over the bar; tempi in beats a
minute.
"""

import json
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files
from typing import Any

import numpy as np

from stackline.listen.time.bar_places import shares

BINS = 24  # places in a beat
NEWNESS = 5  # kinds of attacks: 0, 1/4 ... 1 of their notes are new; as many again for lone notes
PLAYERS, SIXTEENTHS = "players", "sixteenths"
DENSE = (PLAYERS, SIXTEENTHS)  # ways that leave no time to be free
_PARTS = ("piano", "bass", "drums")

_NEAR, _EVERY = 0.25, 0.3  # of log tempo within which tracks share a rhythm; of all tracks alike
_FEWEST, _SMOOTH, _FLOOR = 20, 1.0, 0.1  # onsets of a track; bins; rate of what fits no rhythm
# Beats a minute, and how widely (log; ours).
_USUAL = {PLAYERS: (170.0, 0.35), "comping": (110.0, 0.4), SIXTEENTHS: (110.0, 0.3)}
# Attacks a beat, and how widely (log; ours).
_PER_BEAT = {"comping": (0.8, 0.25), SIXTEENTHS: (3.6, 0.15)}
_PER_BEAT_SPREAD = 0.25  # of players, round what is usual at a tempo

MANNERS = {  # of comping: where the half of a beat is played, in twelfths from the beat
    "straight": {6: 0.84, 7: 0.11, 8: 0.05},
    "late": {6: 0.14, 7: 0.72, 8: 0.14},
    "swung": {6: 0.10, 7: 0.15, 8: 0.75},
    "on the beat": {6: 0.40, 7: 0.25, 8: 0.35},
}
_SELDOM = {"on the beat": 0.08}  # what this manner plays off the beat, of what is usual
_FINE = {3: 0.010, 4: 0.014, 9: 0.012}  # share of all attacks on quarters and a first third
_CLICKED = {0: 0.86, 8: 0.03, 6: 0.03}  # a metronome's or a light drummer's
_WALKED = {0: 0.9}  # a bass
# Where chords and lone notes of running sixteenths stand, in twelfths of a beat: counted in the
# exposition of the sonata K. 545 (score in music21's corpus, 144 onsets), one added to each place.
_CHORDS, _NOTES = {0: 0.73, 3: 0.02, 6: 0.22, 9: 0.02}, {0: 0.17, 3: 0.21, 6: 0.33, 9: 0.28}
EVIDENCE = 1.5  # weight of onsets against the changes of tempo
_TIMING_S, _TIMING_BEATS, _ANYWHERE = 0.016, 0.02, 0.06

_OFF_BEATS = (0.5, 0.55, 0.6, 0.66)  # where the off-beats of one player's line come
_LATE = range(-1, 4)  # and by how many places he may be behind the beat
_LINE_FINE, _LINE_ANYWHERE = 0.15, 0.2  # shares of a line's onsets (ours)


@dataclass(frozen=True, kw_only=True, eq=False)
class Way:
    """A way of playing in a meter.

    rates: log rates by part, (kinds, n_tempi, BINS * meter). usual_bpm, per_beat: usual tempo and
    attacks a beat (one, or one for each tempo), each with its spread (log). may_be_free: whether
    time may be left.
    """

    name: str
    meter: int
    rates: dict[str, np.ndarray]
    usual_bpm: tuple[float, float]
    per_beat: tuple[np.ndarray | float, float]
    may_be_free: bool


def players(meter: int, bpm: np.ndarray, leave_out: int | None = None) -> Way:
    """Jazz players. bpm: (n_tempi,). leave_out: a track that is not asked."""
    rows = [row for i, row in enumerate(_tracks()) if i != leave_out]
    rates = {part: np.log(_learnt(rows, part, meter, bpm)) for part in _PARTS}
    slope, level = np.polyfit(
        np.log([row["bpm"] for row in rows]),
        np.log([sum(row["piano"]) / row["beats"] for row in rows]),
        1,
    )
    return Way(
        name=PLAYERS,
        meter=meter,
        rates={
            part: np.repeat(rate[None], 2 * NEWNESS if part == "piano" else 1, axis=0)
            for part, rate in rates.items()
        },
        usual_bpm=_USUAL[PLAYERS],
        per_beat=(np.exp(level + slope * np.log(bpm)), _PER_BEAT_SPREAD),
        may_be_free=False,
    )


def comping(meter: int, bpm: np.ndarray) -> list[Way]:
    """Comping, a way for each manner. bpm: of each tempo, (n_tempi,)."""
    mix = np.linspace(0, 1, NEWNESS)[:, None, None]
    found = []
    for manner in MANNERS:
        new, again = (_rates(_halved(table, meter, manner), meter, bpm) for table in shares(meter))
        attacks = np.log(mix * new + (1 - mix) * again)
        found.append(
            Way(
                name=manner,
                meter=meter,
                rates={"piano": np.tile(attacks, (2, 1, 1)), **_company(meter, bpm)},
                usual_bpm=_USUAL["comping"],
                per_beat=_PER_BEAT["comping"],
                may_be_free=True,
            )
        )
    return found


def sixteenths(meter: int, bpm: np.ndarray) -> Way:
    """Runs of even sixteenths. bpm: of each tempo, (n_tempi,)."""
    chords, notes = (
        _log_rates(_each_beat(table, meter), meter, bpm) for table in (_CHORDS, _NOTES)
    )
    attacks = np.concatenate([np.repeat(some[None], NEWNESS, axis=0) for some in (chords, notes)])
    return Way(
        name=SIXTEENTHS,
        meter=meter,
        rates={"piano": attacks, **_company(meter, bpm)},
        usual_bpm=_USUAL[SIXTEENTHS],
        per_beat=_PER_BEAT[SIXTEENTHS],
        may_be_free=False,
    )


def line_gain(way: Way, bins: np.ndarray, weight: np.ndarray, bpm: float) -> float:
    """How much likelier onsets of one player are, whose off-beats come at one place of the beat.

    way: players' rates at one tempo; bins: (n,), place of each onset in the bar. Against all
    players' rates together.
    """
    base, total = way.rates["piano"][0, 0], BINS * way.meter
    halves = np.exp(base).reshape(way.meter, BINS)
    places = np.arange(BINS) / BINS
    on = halves[:, places < 0.2].sum(axis=1) + np.roll(halves[:, places >= 0.8].sum(axis=1), 1)
    off = halves[:, (places > 0.3) & (places < 0.8)].sum(axis=1)
    gains = []
    for at in _OFF_BEATS:
        table = {float(beat): share for beat, share in enumerate(on)}
        table |= {beat + at: share for beat, share in enumerate(off)}
        fine = _LINE_FINE * sum(table.values()) / (3 * way.meter)
        table |= {beat + part: fine for beat in range(way.meter) for part in (1 / 4, 1 / 3, 3 / 4)}
        log = _log_rates(table, way.meter, np.array([bpm]), _LINE_ANYWHERE)[0]
        gains += [float(weight @ (log[(bins - late) % total] - base[bins])) for late in _LATE]
    return max(gains)


@lru_cache(maxsize=1)
def _tracks() -> list[dict[str, Any]]:
    text = files("stackline.listen.time").joinpath("rhythms.json").read_text(encoding="utf-8")
    return list(json.loads(text)["tracks"])


def _learnt(rows: list[dict[str, Any]], part: str, meter: int, bpm: np.ndarray) -> np.ndarray:
    """Players' rates, (n_tempi, BINS * meter)."""
    some = [row for row in rows if sum(row[part]) >= _FEWEST]
    tempi = np.array([row["bpm"] for row in some])
    shapes = np.array([_shape(np.array(row[part], float), row["meter"], meter) for row in some])
    near = np.exp(-0.5 * (np.log(bpm[:, None] / tempi) / _NEAR) ** 2) + _EVERY / len(some)
    found: np.ndarray = near / near.sum(axis=1, keepdims=True) @ shapes
    return (1 - _FLOOR) * found + _FLOOR


def _shape(counts: np.ndarray, its_meter: int, meter: int) -> np.ndarray:
    """A track's rates, smoothed; in another meter than its own all beats are alike."""
    if its_meter != meter:
        counts = np.tile(counts.reshape(its_meter, BINS).sum(axis=0), meter)
    n = len(counts)
    off = (np.arange(n) + n // 2) % n - n // 2
    kernel = np.exp(-0.5 * (off / _SMOOTH) ** 2)
    found = np.maximum(np.fft.ifft(np.fft.fft(counts) * np.fft.fft(kernel)).real, 0)
    return np.asarray(found / found.mean())


def _company(meter: int, bpm: np.ndarray) -> dict[str, np.ndarray]:
    """Drums or clicks, and a bass."""
    return {
        part: _log_rates(_each_beat(table, meter), meter, bpm)[None]
        for part, table in (("drums", _CLICKED), ("bass", _WALKED))
    }


def _each_beat(table: dict[int, float], meter: int) -> dict[float, float]:
    return {
        beat + twelfth / 12: share / meter
        for beat in range(meter)
        for twelfth, share in table.items()
    }


def _halved(table: dict[float, float], meter: int, manner: str) -> dict[float, float]:
    """Shares at places in beats, the halves as a manner plays them, a little on finer places."""
    seldom = _SELDOM.get(manner, 1.0)
    found = {place: share for place, share in table.items() if place % 1.0 == 0.0}
    for place, share in table.items():
        if place % 1.0:
            for twelfth, part in MANNERS[manner].items():
                at = int(place) + twelfth / 12
                found[at] = found.get(at, 0.0) + share * part * seldom
    for place, share in _each_beat(_FINE, meter).items():
        found[place] = found.get(place, 0.0) + share * seldom
    return found


def _log_rates(
    table: dict[float, float], meter: int, bpm: np.ndarray, anywhere: float = _ANYWHERE
) -> np.ndarray:
    return np.asarray(np.log(_rates(table, meter, bpm, anywhere)))


def _rates(
    table: dict[float, float], meter: int, bpm: np.ndarray, anywhere: float = _ANYWHERE
) -> np.ndarray:
    """Rates over the bar, (n_tempi, BINS * meter): shares at places, spread as timing is."""
    at = np.arange(BINS * meter) / BINS
    width = np.hypot(_TIMING_BEATS, _TIMING_S * bpm / 60.0)[:, None]
    total = np.zeros((len(bpm), len(at)))
    for centre, share in table.items():
        off = (at - centre + meter / 2) % meter - meter / 2
        bump = np.exp(-0.5 * (off / width) ** 2)
        total += share * bump / bump.mean(axis=1, keepdims=True)
    found: np.ndarray = total / total.mean(axis=1, keepdims=True)
    return (1 - anywhere) * found + anywhere
