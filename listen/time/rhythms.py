"""How often onsets stand at each place of the bar: by way of playing, part and tempo.

Ways of playing are those of players (counted from annotated trios, `rhythms.json`; source and
licence stand there) and of the trade: comping in its four manners of halving the beat, sixteenths.
A rate is relative to the mean over the bar. The rates of players depend on the tempo: tracks near
a tempo weigh more.

Units: places in 1/24 of a beat; tempi in beats a minute.
"""

import json
from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import numpy as np

from stackline.listen.time.bar_places import shares

BINS = 24
CLASSES = 5  # of newness: 0, 1/4 ... 1

_SPREAD, _EVERY = 0.25, 0.3  # of log tempo within which tracks share a rhythm; of all tracks alike
_SMOOTH = 1.0  # bins
_FLOOR = 0.1  # rate of onsets that fit no rhythm
OFF_BEATS = {  # where the half of a beat is played, in twelfths from the beat
    "straight": {6: 0.84, 7: 0.11, 8: 0.05},
    "late": {6: 0.14, 7: 0.72, 8: 0.14},
    "swung": {6: 0.10, 7: 0.15, 8: 0.75},
    "on the beat": {6: 0.40, 7: 0.25, 8: 0.35},
}
_SELDOM = {"on the beat": 0.08}
_FINE = {3: 0.010, 4: 0.014, 9: 0.012}  # share of all attacks on quarters and a first third
_TIMING_S, _TIMING_BEATS = 0.016, 0.02
_ANYWHERE = 0.06
# Drums and clicks of the trade: a metronome on every beat or on two and four.
_CLICKED = {0.0: 0.86, 2 / 3: 0.03, 1 / 2: 0.03}


USUAL = (170.0, 0.35)


@dataclass(frozen=True, kw_only=True, eq=False)
class Way:
    """A way of playing in a meter: log rates, (n_tempi, BINS * meter).

    attacks: (CLASSES, n_tempi, BINS * meter), by how new the notes are. others: by part.
    usual: tempo and its spread (log), density: attacks a beat and its spread (log).
    """

    name: str
    meter: int
    attacks: np.ndarray
    others: dict[str, np.ndarray]
    usual: tuple[float, float]
    density: tuple[np.ndarray | float, float] | None


def ways(meter: int, bpm: np.ndarray, leave_out: int | None = None) -> list[Way]:
    """All ways of playing in a meter, at some tempi."""
    found = [_players(meter, bpm, leave_out, clicked=False)]
    found += [_comping(meter, name, bpm) for name in OFF_BEATS]
    found.append(_sixteenths(meter, bpm))
    return found


@lru_cache(maxsize=1)
def _tracks() -> list[dict]:
    text = files("stackline.listen.time").joinpath("rhythms.json").read_text(encoding="utf-8")
    return list(json.loads(text)["tracks"])


def _players(meter: int, bpm: np.ndarray, leave_out: int | None, clicked: bool) -> Way:
    tables = {
        part: np.log(_learnt(part, meter, bpm, leave_out)) for part in ("piano", "bass", "drums")
    }
    return Way(
        name="players",
        meter=meter,
        attacks=np.repeat(tables["piano"][None], CLASSES, axis=0),
        others={"bass": tables["bass"], "drums": tables["drums"]},
        usual=USUAL,
        density=_density(bpm, leave_out),
    )


DENS_SD = 0.25


def _density(bpm: np.ndarray, leave_out: int | None) -> tuple[np.ndarray, float]:
    """Usual attacks a beat at some tempi, and how far takes are off (log)."""
    rows = [row for i, row in enumerate(_tracks()) if i != leave_out]
    slope, level = np.polyfit(
        np.log([row["bpm"] for row in rows]),
        np.log([sum(row["piano"]) / row["beats"] for row in rows]),
        1,
    )
    return np.exp(level + slope * np.log(bpm)), DENS_SD


def _learnt(part: str, meter: int, bpm: np.ndarray, leave_out: int | None) -> np.ndarray:
    """Relative rates, (n_tempi, BINS * meter)."""
    rows = [row for i, row in enumerate(_tracks()) if i != leave_out and sum(row[part]) >= 20]
    tempi = np.array([row["bpm"] for row in rows])
    shapes = np.array([_in_meter(np.array(row[part], float), row["meter"], meter) for row in rows])
    near = np.exp(-0.5 * (np.log(bpm[:, None] / tempi) / _SPREAD) ** 2) + _EVERY / len(rows)
    return (1 - _FLOOR) * (near / near.sum(axis=1, keepdims=True)) @ shapes + _FLOOR


def _in_meter(counts: np.ndarray, its: int, meter: int) -> np.ndarray:
    """A track's rates, smoothed, mean 1; in another meter every beat is played alike."""
    if its != meter:
        counts = np.tile(counts.reshape(its, BINS).sum(axis=0), meter)
    n = len(counts)
    around = (np.arange(n) + n // 2) % n - n // 2
    kernel = np.exp(-0.5 * (around / _SMOOTH) ** 2)
    found = np.fft.ifft(np.fft.fft(counts) * np.fft.fft(kernel / kernel.sum())).real
    found = np.maximum(found, 0)
    return found / found.mean()


def _comping(meter: int, manner: str, bpm: np.ndarray) -> Way:
    new, again = (_spread(_halved(table, meter, manner), meter, bpm) for table in shares(meter))
    mix = np.linspace(0, 1, CLASSES)[:, None, None]
    clicks = np.log(_spread({beat + at: share / meter for beat in range(meter) for at, share in _CLICKED.items()}, meter, bpm))
    bass = np.log(_spread({float(beat): 0.9 / meter for beat in range(meter)}, meter, bpm))
    return Way(
        name=manner,
        meter=meter,
        attacks=np.log(mix * new + (1 - mix) * again),
        others={"drums": clicks, "bass": bass},
        usual=(110.0, 0.4),
        density=(0.8, 0.25),
    )


def _sixteenths(meter: int, bpm: np.ndarray) -> Way:
    places = {beat + part / 4: share / meter for beat in range(meter) for part, share in enumerate((0.34, 0.2, 0.26, 0.2))}
    table = np.log(_spread(places, meter, bpm))
    one = np.log(_spread({float(beat): 0.9 / meter for beat in range(meter)}, meter, bpm))
    return Way(
        name="sixteenths",
        meter=meter,
        attacks=np.repeat(table[None], CLASSES, axis=0),
        others={"drums": one, "bass": one},
        usual=(90.0, 0.35),
        density=(3.2, 0.3),
    )


def _halved(table: dict[float, float], meter: int, manner: str) -> dict[float, float]:
    """Shares at places in beats, halves as a manner plays them, and a little on fine places."""
    late, seldom = OFF_BEATS[manner], _SELDOM.get(manner, 1.0)
    found: dict[float, float] = {}
    for place, share in table.items():
        if place % 1.0 == 0.0:
            found[place] = found.get(place, 0.0) + share
        else:
            for twelfth, part in late.items():
                at = int(place) + twelfth / 12
                found[at] = found.get(at, 0.0) + share * part * seldom
    for beat in range(meter):
        for twelfth, share in _FINE.items():
            at = beat + twelfth / 12
            found[at] = found.get(at, 0.0) + share / meter * seldom
    return found


def _spread(places: dict[float, float], meter: int, bpm: np.ndarray) -> np.ndarray:
    """Rates with mean 1 over the bar: shares at places, spread as players' timing is."""
    at = np.arange(BINS * meter) / BINS
    width = np.hypot(_TIMING_BEATS, _TIMING_S * bpm / 60.0)[:, None]
    total = np.zeros((len(bpm), len(at)))
    for centre, share in places.items():
        off = (at - centre + meter / 2) % meter - meter / 2
        bump = np.exp(-0.5 * (off / width) ** 2)
        total += share * bump / bump.mean(axis=1, keepdims=True)
    return (1 - _ANYWHERE) * total / total.mean(axis=1, keepdims=True) + _ANYWHERE
