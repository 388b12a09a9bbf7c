"""Made lessons: phrases of comping, and in the pauses somebody talks, claps or taps.

A lesson is some made takes one after the other (`bench.takes`) with pauses between them; the
last chord of a phrase still rings when the talk begins. The same lesson is recorded without
company and with each kind of it, so that what company costs is seen attack by attack.

Voices and texts of the two splits never meet. ``train`` has those of `training.speech`, which
the piano ear was trained on, and some that it was not; ``dev`` has others. Float32 samples of
one channel.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from zlib import crc32

import numpy as np

from bench import conditions
from bench.company import bass_and_drums
from bench.render import render_take
from bench.room_clicks import click_track
from bench.scenes import Studio
from bench.takes import FREE, LISTED, make_take
from bench.truth import TrueAttack, TrueTake
from training import speech

FIRST_SEED = {"dev": 91_000, "train": 31_000}
PHRASES, PHRASE_S = 4, 8.0
PAUSE_S = (3.0, 7.0)
RING_S = (0.4, 1.6)  # the talk begins so long after the last attack of a phrase
BEFORE_S = 0.4  # and ends so long before the next one, at least

DEV_VOICES = ("en-gb-scotland", "en-us-nyc", "en-029", "en-gb-x-rp", "da", "fi", "cs", "ro", "hu",
              "ca", "nb", "el")  # fmt: skip
TRAIN_VOICES = (*speech.VOICES, "en-gb-x-gbclan", "en-gb-x-gbcwmd", "af", "hr", "sk", "tr", "is",
                "lv", "ru", "eo", "sq", "id")  # fmt: skip
TRAIN_KINDS = ("+m2", "+m3", "+m4", "+m7", "+f2", "+f4", "")
TRAIN_SENTENCES = (
    *speech.SENTENCES,
    "Aha, there it is again. You rush whenever the hand has to jump.",
    "We are going to do the whole thing around the circle of fourths.",
    "Seven, six, five. I mean the third of the chord moves to the seventh of the next one.",
    "Who has the coffee? Fine. Are you ready? Let us hear the last four.",
)
DEV_KINDS = ("+m1", "+m5", "+m8", "+f1", "+f3", "+f5", "")
DEV_SENTENCES = (
    "Listen to how the middle voices walk down while the melody note is still there.",
    "Okay. So what I did there was leave the root out completely.",
    "If that stretch hurts, drop the second note from the top into the other hand.",
    "Right, and now you try it, but swing it a bit more, like this.",
    "Hmm, that was not it. Hold on. Let me find the page.",
    "Yes! Exactly, you heard the ninth go to the fifth, did you?",
    "Four bars of the minor chord, two bars of the dominant, then home again.",
)

Span = tuple[float, float]


@dataclass(frozen=True, kw_only=True, eq=False)
class Lesson:
    """One recording. company_s: where the others sound. kind: what they are.

    take: the phrases as one take; its beats are not a steady row and are left out.
    """

    take: TrueTake
    company_s: tuple[Span, ...]
    kind: str
    instrument: str
    samples: np.ndarray
    rate_hz: int


Maker = Callable[[np.random.Generator, int, int, str], np.ndarray]


@dataclass(frozen=True, kw_only=True)
class Company:
    """A kind of company. make: (rng, n_samples, rate_hz, split) to sound.

    kind: as a span would be called. everywhere: over the chords too. level_db: against them.
    """

    name: str
    kind: str
    make: Maker
    level_db: float
    everywhere: bool = False


def talk(rng: np.random.Generator, n_samples: int, rate_hz: int, split: str) -> np.ndarray:
    """Sentences of one voice, with short pauses."""
    voices, kinds, sentences = (
        (DEV_VOICES, DEV_KINDS, DEV_SENTENCES) if split == "dev"
        else (TRAIN_VOICES, TRAIN_KINDS, TRAIN_SENTENCES)
    )  # fmt: skip
    voice = voices[rng.integers(len(voices))] + kinds[rng.integers(len(kinds))]
    pitch, speed = int(rng.integers(20, 80)), int(rng.integers(120, 195))
    parts: list[np.ndarray] = []
    while sum(map(len, parts)) < n_samples:
        sentence = sentences[rng.integers(len(sentences))]
        parts.append(speech.speak(sentence, voice, pitch, speed))
        parts.append(np.zeros(int(rate_hz * rng.uniform(0.1, 0.6)), np.float32))
    return np.concatenate(parts)[:n_samples]


def _applause(rng: np.random.Generator, n_samples: int, rate_hz: int, split: str) -> np.ndarray:
    return conditions.applause(rng, n_samples, rate_hz)


def _hum(rng: np.random.Generator, n_samples: int, rate_hz: int, split: str) -> np.ndarray:
    return conditions.hum(rng, n_samples, rate_hz)


def _hiss(rng: np.random.Generator, n_samples: int, rate_hz: int, split: str) -> np.ndarray:
    return conditions.hiss(rng, n_samples, rate_hz)


def _taps(rng: np.random.Generator, n_samples: int, rate_hz: int, split: str) -> np.ndarray:
    """A few knocks and snaps a second at uneven times."""
    seconds = n_samples / rate_hz
    times = np.sort(rng.uniform(0, seconds, max(1, round(2.5 * seconds))))
    return click_track(rng, times, np.zeros(len(times)), n_samples, rate_hz)


def _page(rng: np.random.Generator, n_samples: int, rate_hz: int, split: str) -> np.ndarray:
    """Paper: noise that swells and crackles for a second, now and then."""
    sound, length = np.zeros(n_samples, np.float32), rate_hz
    for start in range(0, n_samples, 3 * rate_hz):
        swell = np.hanning(length) * (0.3 + np.repeat(rng.random(100), length // 100 + 1)[:length])
        turn = conditions.hiss(rng, length, rate_hz) * swell
        part = sound[start : start + length]
        part += turn[: len(part)].astype(np.float32)
    return sound


COMPANY: tuple[Company, ...] = (
    Company(name="talk at -12 dB", kind="talk", make=talk, level_db=-12.0),
    Company(name="talk at -6 dB", kind="talk", make=talk, level_db=-6.0),
    Company(name="talk at 0 dB", kind="talk", make=talk, level_db=0.0),
    Company(name="talk over the chords too, -10 dB", kind="talk", make=talk, level_db=-10.0,
            everywhere=True),
    Company(name="applause at -3 dB", kind="applause", make=_applause, level_db=-3.0),
    Company(name="taps at 0 dB", kind="taps", make=_taps, level_db=0.0),
    Company(name="page turns at -12 dB", kind="page", make=_page, level_db=-12.0),
    Company(name="hum at -20 dB throughout", kind="hum", make=_hum, level_db=-20.0,
            everywhere=True),
    Company(name="hiss at -30 dB throughout", kind="hiss", make=_hiss, level_db=-30.0,
            everywhere=True),
)  # fmt: skip
BAND = "bass and drums at -6 dB"  # nobody talks: nothing here is to be called anything


def make_lesson(seed: int) -> tuple[TrueTake, tuple[Span, ...]]:
    """The phrases of a lesson as one take, and the pauses in which others may sound."""
    rng = np.random.default_rng([seed, 53])
    attacks: list[TrueAttack] = []
    pauses: list[Span] = []
    at, pause_from = float(rng.uniform(*PAUSE_S)), 0.0
    for phrase in range(PHRASES):
        style = LISTED if phrase % 2 else FREE
        part = make_take(seed * PHRASES + phrase, style, duration_s=PHRASE_S)
        moved = [_later(attack, at) for attack in part.attacks]
        pauses.append((pause_from, moved[0].onset_s - BEFORE_S))
        attacks += moved
        pause_from = moved[-1].onset_s + float(rng.uniform(*RING_S))
        at += part.duration_s + float(rng.uniform(*PAUSE_S))
    pauses.append((pause_from, at))
    take = TrueTake(
        name=f"lesson-{seed}", attacks=tuple(attacks), beats_s=(), beats_per_bar=4,
        tempo_bpm=100.0, pedal_s=(), duration_s=at,
    )  # fmt: skip
    return take, tuple(pauses)


def _later(attack: TrueAttack, by_s: float) -> TrueAttack:
    notes = tuple(
        replace(note, onset_s=note.onset_s + by_s, key_up_s=note.key_up_s + by_s,
                offset_s=note.offset_s + by_s)
        for note in attack.notes
    )  # fmt: skip
    return replace(attack, notes=notes)


@dataclass(frozen=True, kw_only=True, eq=False)
class Parts:
    """A lesson before it is recorded: piano and company apart, as they sound together."""

    take: TrueTake
    company_s: tuple[Span, ...]
    instrument: str
    piano: np.ndarray
    others: np.ndarray


def lesson_parts(seed: int, studio: Studio, company: Company | None) -> Parts:
    """A lesson with one kind of company, or None. The piano is the same in all of them."""
    take, pauses = make_lesson(seed)
    rng = np.random.default_rng([seed, 54])
    role = "electric_piano" if seed % 4 == 3 else "piano"
    instrument = studio.instrument(rng, role)
    piano = conditions.levelled(
        render_take(take, instrument, rate_hz=studio.rate_hz, detune_cents=rng.uniform(-15, 15))
    )
    others, spans = np.zeros_like(piano), pauses
    if company is not None:
        spans = ((0.0, take.duration_s),) if company.everywhere else pauses
        own = np.random.default_rng([seed, crc32(company.name.encode())])
        others = _company(own, piano, spans, company, studio)
    return Parts(
        take=take, company_s=spans if company else (), instrument=instrument.name,
        piano=piano, others=others,
    )  # fmt: skip


def record_lesson(seed: int, studio: Studio, company: Company | None) -> Lesson:
    """A lesson as a file has it: dry, in a room, or on a phone in turn."""
    parts = lesson_parts(seed, studio, company)
    return Lesson(
        take=parts.take, company_s=parts.company_s, kind=company.kind if company else "",
        instrument=parts.instrument, rate_hz=studio.rate_hz,
        samples=treated(seed, parts.piano + parts.others, studio.rate_hz),
    )  # fmt: skip


def record_band(seed: int, studio: Studio) -> Lesson:
    """A take with bass and drums, in which nobody talks."""
    take = make_take(seed, LISTED, duration_s=PHRASES * PHRASE_S)
    rng = np.random.default_rng([seed, 55])
    instrument = studio.instrument(rng, "piano")
    sound = conditions.levelled(render_take(take, instrument, rate_hz=studio.rate_hz))
    bass, drums = studio.instrument(rng, "bass"), studio.instrument(rng, "drums")
    band = bass_and_drums(rng, take, bass, drums, rate_hz=studio.rate_hz)
    mix = conditions.mixed(sound, band, level_db=-6.0)
    return Lesson(
        take=take, company_s=(), kind="", instrument=instrument.name,
        samples=treated(seed, mix, studio.rate_hz), rate_hz=studio.rate_hz,
    )  # fmt: skip


def _company(
    rng: np.random.Generator, piano: np.ndarray, spans: tuple[Span, ...], company: Company,
    studio: Studio,
) -> np.ndarray:  # fmt: skip
    """The company's sound over its spans, silent elsewhere."""
    rate_hz = studio.rate_hz
    sound = np.zeros(len(piano), np.float32)
    for start_s, end_s in spans:
        start, stop = round(start_s * rate_hz), min(round(end_s * rate_hz), len(sound))
        made = company.make(rng, stop - start, rate_hz, studio.split)
        fade = np.minimum(1.0, np.minimum(np.arange(len(made)), np.arange(len(made))[::-1]) / 160)
        sound[start:stop] = made * fade
    gain = conditions.rms(piano) / max(conditions.rms(sound), 1e-9) * 10 ** (company.level_db / 20)
    return (gain * sound).astype(np.float32)


def treated(seed: int, sound: np.ndarray, rate_hz: int) -> np.ndarray:
    """A sound dry, in a room, or on a phone in turn; the same for all company of one lesson."""
    rng = np.random.default_rng([seed, 56])
    if seed % 3 == 1:
        sound = conditions.room(rng, sound, rate_hz)
    if seed % 3 == 2:
        return conditions.phone(rng, sound, rate_hz)
    return conditions.levelled(sound, peak=10 ** (float(rng.uniform(-14, -1)) / 20))
