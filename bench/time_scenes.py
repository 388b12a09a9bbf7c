"""Takes for judging the time: with clicks, a count, a band, alone, in three, slowing, free.

All are takes of `bench.takes`, on the instruments of one split, in a room. A take may be
warped: its attacks (and beats) moved along a curve of time. `Timed.beats_s` is empty where
nobody counts: attacks then stand at random distances. Seeds of the two splits never meet,
and are none of `bench.scenes`: tune on ``train``, quote on ``dev``.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from zlib import crc32

import numpy as np

from bench import conditions
from bench.company import bass_and_drums, speech
from bench.render import render_take
from bench.room_clicks import click_track
from bench.scenes import Studio
from bench.takes import LISTED, Style, make_take
from bench.truth import TrueAttack, TrueNote, TrueTake

FIRST_SEED = {"dev": 86_000, "train": 16_000}
COUNTED = 4  # clicks of a count-in
CLICK_DB = (-16.0, -2.0)  # a click's peak against the piano's
BAND_DB = (-12.0, -3.0)
DRIFT, SLOWING = 0.03, 0.35

# Bars of a jazz waltz, in beats from 0 (common practice): one, the dotted-quarter pair,
# two and three, the anticipation of the next bar.
WALTZ = (
    (0.0,), (0.0, 1.0), (0.0, 1.5), (0.0, 2.0), (1.0, 2.0), (0.0, 1.0, 2.0), (0.0, 2.5),
    (0.0, 1.5, 2.5), (0.5, 1.5), (0.0, 1.5),
)  # fmt: skip
IN_THREE = replace(LISTED, beats_per_bar=3, rhythms=WALTZ)
ONE_A_BAR = replace(LISTED, rhythms=((0.0,),), repeats=0.1, steps=0.1, roots=0.0)


@dataclass(frozen=True, kw_only=True, eq=False)
class Timed:
    """One recording and what is true of its time. clicks_s: what was clicked, if anything."""

    take: TrueTake
    clicks_s: tuple[float, ...]
    samples: np.ndarray
    rate_hz: int


Warp = Callable[[np.random.Generator, TrueTake], TrueTake]
Company = Callable[
    [np.random.Generator, np.ndarray, TrueTake, Studio], tuple[np.ndarray, tuple[float, ...]]
]


@dataclass(frozen=True, kw_only=True)
class TimeScene:
    """A row of the table. hints: what the player is taken to say (see `bench.time`)."""

    name: str
    style: Style = LISTED
    warp: Warp
    company: Company
    hints: tuple[str, ...] = ()
    like: str = ""  # the scene whose recordings it shares


def record(scene: TimeScene, studio: Studio, *, takes: int, duration_s: float) -> Iterator[Timed]:
    """The recordings of a scene, each from its own seed."""
    for index in range(takes):
        seed = FIRST_SEED[studio.split] + index
        rng = np.random.default_rng([seed, crc32((scene.like or scene.name).encode())])
        take = scene.warp(rng, make_take(seed, scene.style, duration_s=duration_s))
        instrument = studio.instrument(rng, "piano" if rng.random() < 0.75 else "electric_piano")
        sound = render_take(
            take, instrument, rate_hz=studio.rate_hz, detune_cents=float(rng.uniform(-12, 12))
        )
        sound, clicks = scene.company(rng, conditions.levelled(sound), take, studio)
        sound = conditions.room(rng, sound, studio.rate_hz)
        peak = 10 ** (float(rng.uniform(-20, -1)) / 20)
        yield Timed(
            take=take,
            clicks_s=clicks,
            samples=conditions.levelled(sound, peak=peak),
            rate_hz=studio.rate_hz,
        )


# ---- warps


def moved(take: TrueTake, curve: Callable[[np.ndarray], np.ndarray]) -> TrueTake:
    """The take with every time on a rising curve of time (seconds to seconds)."""

    def at(time_s: float) -> float:
        return round(float(curve(np.array([time_s]))[0]), 4)

    def note(one: TrueNote) -> TrueNote:
        return replace(
            one, onset_s=at(one.onset_s), key_up_s=at(one.key_up_s), offset_s=at(one.offset_s)
        )

    attacks: tuple[TrueAttack, ...] = tuple(
        replace(one, notes=tuple(map(note, one.notes))) for one in take.attacks
    )
    beats = tuple(map(at, take.beats_s))
    played = [beat for beat in beats if attacks[0].onset_s <= beat <= attacks[-1].onset_s]
    return replace(
        take,
        attacks=attacks,
        beats_s=beats,
        tempo_bpm=60.0 / float(np.mean(np.diff(played))),
        pedal_s=tuple((at(start), at(end)) for start, end in take.pedal_s),
        duration_s=at(take.duration_s),
    )


def as_played(rng: np.random.Generator, take: TrueTake) -> TrueTake:
    """Nothing moved."""
    return take


def after_count(rng: np.random.Generator, take: TrueTake) -> TrueTake:
    """The take begins after a bar that is counted."""
    count_s = COUNTED * 60.0 / take.tempo_bpm
    return moved(take, lambda times: times + count_s)


def breathing(rng: np.random.Generator, take: TrueTake) -> TrueTake:
    """A tempo that drifts by some per cent, and slows down over the last four bars."""
    beat_s = 60.0 / take.tempo_bpm
    n_beats = len(take.beats_s)
    turns, phase = float(rng.uniform(16, 48)), float(rng.uniform(0, 2 * np.pi))
    index = np.arange(-4, n_beats + 16)
    slowing = SLOWING * np.clip((index - (n_beats - 16)) / 16, 0, 1)
    periods = beat_s * (1 + DRIFT * np.sin(2 * np.pi * index / turns + phase)) * (1 + slowing)
    old = take.beats_s[0] + index * beat_s
    new = old[0] + np.concatenate(([0.0], np.cumsum(periods)[:-1]))
    lead_s = take.beats_s[0] - float(np.interp(take.beats_s[0], old, new))
    return moved(take, lambda times: np.interp(times, old, new + lead_s))


def free(rng: np.random.Generator, take: TrueTake) -> TrueTake:
    """No pulse: the same chords at random distances, 0.3 to 3 s."""
    onsets = np.array([one.onset_s for one in take.attacks])
    gaps = np.exp(rng.uniform(np.log(0.3), np.log(3.0), len(onsets)))
    new = np.concatenate(([0.0], onsets[0] + np.cumsum(gaps), [0.0]))
    new[-1] = new[-2] + 5.0
    old = np.concatenate(([0.0], onsets, [onsets[-1] + 5.0]))
    return replace(moved(take, lambda times: np.interp(times, old, new)), beats_s=())


# ---- who else sounds


def alone(
    rng: np.random.Generator, sound: np.ndarray, take: TrueTake, studio: Studio
) -> tuple[np.ndarray, tuple[float, ...]]:
    """Nobody."""
    return sound, ()


def _clicked(which: Callable[[TrueTake], list[tuple[float, bool]]]) -> Company:
    def company(
        rng: np.random.Generator, sound: np.ndarray, take: TrueTake, studio: Studio
    ) -> tuple[np.ndarray, tuple[float, ...]]:
        clicks = which(take)
        times = np.array([time_s for time_s, _ in clicks])
        accents = np.array([accent for _, accent in clicks]) & (rng.random() < 0.5)
        track = click_track(rng, times, accents, len(sound), studio.rate_hz)
        gain = conditions.PEAK * 10 ** (float(rng.uniform(*CLICK_DB)) / 20)
        return sound + np.float32(gain) * track, tuple(map(float, times))

    return company


def _every_beat(take: TrueTake) -> list[tuple[float, bool]]:
    return [(beat, i % take.beats_per_bar == 0) for i, beat in enumerate(take.beats_s)]


def _two_and_four(take: TrueTake) -> list[tuple[float, bool]]:
    return [(beat, False) for beat in take.beats_s[1::2]]


def _count(take: TrueTake) -> list[tuple[float, bool]]:
    beat_s = 60.0 / take.tempo_bpm
    return [(take.beats_s[0] - (COUNTED - i) * beat_s, False) for i in range(COUNTED)]


def band(
    rng: np.random.Generator, sound: np.ndarray, take: TrueTake, studio: Studio
) -> tuple[np.ndarray, tuple[float, ...]]:
    """A walking bass and drums."""
    bass, drums = studio.instrument(rng, "bass"), studio.instrument(rng, "drums")
    company = bass_and_drums(rng, take, bass, drums, rate_hz=studio.rate_hz)
    return conditions.mixed(sound, company, level_db=float(rng.uniform(*BAND_DB))), ()


def talk(
    rng: np.random.Generator, sound: np.ndarray, take: TrueTake, studio: Studio
) -> tuple[np.ndarray, tuple[float, ...]]:
    """Somebody talks over it."""
    voice = speech(rng, len(sound), studio.rate_hz)
    return conditions.mixed(sound, voice, level_db=-10.0), ()


click, two_and_four, count = map(_clicked, (_every_beat, _two_and_four, _count))

SCENES: tuple[TimeScene, ...] = (
    TimeScene(name="click on every beat", warp=as_played, company=click),
    TimeScene(name="click on two and four", warp=as_played, company=two_and_four),
    TimeScene(name="count-in of four clicks", warp=after_count, company=count),
    TimeScene(name="bass and drums", warp=as_played, company=band),
    TimeScene(name="solo", warp=as_played, company=alone),
    TimeScene(name="solo, tempo given", warp=as_played, company=alone, hints=("tempo",),
              like="solo"),
    TimeScene(name="solo, tempo and first beat given", warp=as_played, company=alone,
              hints=("tempo", "first beat"), like="solo"),
    TimeScene(name="solo in three", style=IN_THREE, warp=as_played, company=alone),
    TimeScene(name="solo, drifting and slowing", warp=breathing, company=alone),
    TimeScene(name="solo, somebody talks", warp=as_played, company=talk),
    TimeScene(name="one attack a bar", style=ONE_A_BAR, warp=as_played, company=alone),
    TimeScene(name="no pulse", warp=free, company=alone),
)  # fmt: skip
