"""The situations that an ear is tried in: what is played, on what, and what is recorded.

A scene is a row of a results table. Takes of one style are the same in every scene of that
style (only the recording differs), so scenes can be compared. Names of chords are best judged
by the scene in which progressions go as players practise them; the others jump from key to key
and put any tension on any dominant, so that many of their names are ties (see
`bench.chord_cycles`).

Seeds of the two splits never meet: settle choices on ``train``, quote figures on ``dev``. Bass
and drums exist only in a bank's ``train`` split, so a network trained on that bank knows them:
the results say so.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from zlib import crc32

import numpy as np

from bench import conditions
from bench.company import bass_and_drums, speech
from bench.render import render_take
from bench.takes import FREE, HIGH, LISTED, LOW, PRACTISED, REPEATED, Style, make_take
from bench.truth import TrueTake
from training.bank import Bank, Instrument

# Dev takes from 70 000 were spent on choosing thresholds, those from 75 000 on figures of
# earlier ears; figures are quoted on others.
FIRST_SEED = {"dev": 76_000, "train": 10_000}
USUAL_DETUNING_CENTS = 15.0
FAR_DETUNING_CENTS = (25.0, 38.0)
SPEECH_DB = -10.0


@dataclass(frozen=True, kw_only=True)
class Studio:
    """What scenes are recorded with. players: the split under test. company: has the band."""

    players: Bank
    company: Bank
    split: str

    @property
    def rate_hz(self) -> int:
        """Sample rate of every recording."""
        return self.players.sample_rate_hz

    def instrument(self, rng: np.random.Generator, role: str) -> Instrument:
        """An instrument of a role: of the split under test, else (band only) of the other."""
        pool = self.players.of_role(role) or self.company.of_role(role)
        return pool[rng.integers(len(pool))]


@dataclass(frozen=True, kw_only=True, eq=False)
class Recording:
    """One recording of a scene. take: None where nobody plays (noise, talk, silence)."""

    scene: str
    take: TrueTake | None
    instruments: tuple[str, ...]
    samples: np.ndarray
    rate_hz: int


Treatment = Callable[[np.random.Generator, np.ndarray, TrueTake, Studio], np.ndarray]


@dataclass(frozen=True, kw_only=True)
class Scene:
    """name: the row's name. table: the table it stands in, or "quiet" where nobody plays."""

    name: str
    table: str
    style: Style
    role: str = "piano"
    treat: Treatment
    is_far_detuned: bool = False


def _clean(
    rng: np.random.Generator, sound: np.ndarray, take: TrueTake, studio: Studio
) -> np.ndarray:
    return sound


def _room(
    rng: np.random.Generator, sound: np.ndarray, take: TrueTake, studio: Studio
) -> np.ndarray:
    return conditions.room(rng, sound, studio.rate_hz)


def _phone(
    rng: np.random.Generator, sound: np.ndarray, take: TrueTake, studio: Studio
) -> np.ndarray:
    return conditions.phone(rng, sound, studio.rate_hz)


def _talk(
    rng: np.random.Generator, sound: np.ndarray, take: TrueTake, studio: Studio
) -> np.ndarray:
    return conditions.mixed(sound, speech(rng, len(sound), studio.rate_hz), level_db=SPEECH_DB)


def _band(level_db: float) -> Treatment:
    def treat(
        rng: np.random.Generator, sound: np.ndarray, take: TrueTake, studio: Studio
    ) -> np.ndarray:
        bass, drums = studio.instrument(rng, "bass"), studio.instrument(rng, "drums")
        band = bass_and_drums(rng, take, bass, drums, rate_hz=studio.rate_hz)
        return conditions.mixed(sound, band, level_db=level_db)

    return treat


def _both(name: str, treat: Treatment, role: str = "piano") -> tuple[Scene, Scene]:
    """A scene for listed voicings and the same for free ones."""
    return (
        Scene(name=name, table="listed", style=LISTED, role=role, treat=treat),
        Scene(name=name, table="free", style=FREE, role=role, treat=treat),
    )


PLAYED: tuple[Scene, ...] = (
    *_both("clean", _clean),
    *_both("room", _room),
    *_both("phone", _phone),
    *_both("electric piano", _clean, "electric_piano"),
    *_both("electric piano, phone", _phone, "electric_piano"),
    *_both("bass and drums at -12 dB", _band(-12.0)),
    *_both("bass and drums at -3 dB", _band(-3.0)),
    Scene(name="talk at -10 dB", table="listed", style=LISTED, treat=_talk),
    Scene(name="detuned 25 to 38 cents", table="listed", style=LISTED, treat=_clean,
          is_far_detuned=True),
    Scene(name="progressions as practised, room", table="listed", style=PRACTISED, treat=_room),
    Scene(name="repeated chords, room", table="listed", style=REPEATED, treat=_room),
    Scene(name="low register", table="free", style=LOW, treat=_clean),
    Scene(name="high register", table="free", style=HIGH, treat=_clean),
)  # fmt: skip

QUIET = ("silence", "hiss", "hum", "applause", "speech")


def record_scene(
    scene: Scene, studio: Studio, *, takes: int, duration_s: float, first_seed: int | None = None
) -> Iterator[Recording]:
    """The recordings of a scene, each from its own seed; the split's own seeds unless told."""
    first = FIRST_SEED[studio.split] if first_seed is None else first_seed
    for seed in range(first, first + takes):
        take = make_take(seed, scene.style, duration_s=duration_s)
        rng = np.random.default_rng([seed, crc32(f"{scene.table}/{scene.name}".encode())])
        instrument = studio.instrument(rng, scene.role)
        sound = render_take(
            take, instrument, rate_hz=studio.rate_hz, detune_cents=_detuning(rng, scene)
        )
        sound = scene.treat(rng, conditions.levelled(sound), take, studio)
        yield Recording(
            scene=scene.name,
            take=take,
            instruments=(instrument.name,),
            samples=sound if scene.treat is _phone else _at_some_level(rng, sound),
            rate_hz=studio.rate_hz,
        )


def record_quiet(
    name: str, studio: Studio, *, takes: int, duration_s: float
) -> Iterator[Recording]:
    """Recordings in which nobody plays: one of `QUIET`."""
    rate_hz, n_samples = studio.rate_hz, round(duration_s * studio.rate_hz)
    makers = {
        "hiss": conditions.hiss, "hum": conditions.hum,
        "applause": conditions.applause, "speech": speech,
    }  # fmt: skip
    for index in range(takes):
        rng = np.random.default_rng([FIRST_SEED[studio.split] + index, crc32(name.encode())])
        sound = np.zeros(n_samples, np.float32)
        if name in makers:
            sound = makers[name](rng, n_samples, rate_hz)
            floor = conditions.hiss(rng, n_samples, rate_hz)
            sound = conditions.mixed(sound, floor, level_db=-35.0)
            sound = _at_some_level(rng, sound)
        yield Recording(scene=name, take=None, instruments=(), samples=sound, rate_hz=rate_hz)


def _detuning(rng: np.random.Generator, scene: Scene) -> float:
    if scene.is_far_detuned:
        return float(rng.uniform(*FAR_DETUNING_CENTS) * rng.choice([-1, 1]))
    return float(rng.uniform(-USUAL_DETUNING_CENTS, USUAL_DETUNING_CENTS))


def _at_some_level(rng: np.random.Generator, sound: np.ndarray) -> np.ndarray:
    """Recordings come at all levels: a peak of -20 to -1 dB."""
    return conditions.levelled(sound, peak=10 ** (float(rng.uniform(-20, -1)) / 20))
