"""Fits `not_playing`: ``python -m training.classifiers.fit_not_playing --bank FOLDER``.

Material: lessons of `fixtures.sounded.lessons` on the bank's ``train`` instruments with one kind of
company each, at random levels, with the voices and texts of that split; lessons without
company, with hum and hiss throughout, with a horn, and takes with bass and drums, in which
nothing is to be called anything. Seeds begin at 400 000. The piano ear hears each; every window of
`texture` is an example of what sounds around its centre. Where company is too faint
beside the piano to say, a window counts for nothing.

Model: inputs standardised, one hidden layer of rectified units, cross-entropy with weight
decay, Adam. The standardisation is folded into the weights. The last tenth of the lessons is
held out and reported. Results of the choice are those of ``bench.sorting.speech --split train``.
"""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import click
import numpy as np
from scipy.signal import lfilter

from bench.sorting.speech import covered
from fixtures.played.truth import TrueNote
from fixtures.sounded.bank import Bank, load_bank
from fixtures.sounded.lessons import COMPANY, Company, Lesson, lesson_parts, record_band, treated
from fixtures.sounded.render import render_notes
from fixtures.sounded.scenes import Studio
from stackline.listen.ear import silent
from stackline.listen.other_sounds.not_playing import CLASSES, WEIGHTS
from stackline.listen.other_sounds.texture import STEP_S, frames, windows
from stackline.listen.piano.piano_ear import PianoEar
from stackline.listen.recording.tuning import estimate_tuning
from stackline.shared.files import beside
from stackline.shared.sound import Audio

FIRST_SEED = 400_000
CLASS_OF = {"": 0, "hum": 0, "hiss": 0, "horn": 0, "talk": 1, "applause": 2, "taps": 3, "page": 3,
            "burst": 3}  # fmt: skip
LEVELS_DB = (-16.0, 4.0)
AUDIBLE_DB, FAINT_DB = -12.0, -24.0  # company against the piano around it; between: unsure
AUDIBLE_LOUD_DB = -34.0  # and against the loud moments of the piano
HIDDEN, EPOCHS, BATCH, RATE, DECAY = 32, 60, 256, 3e-3, 1e-3


def _bursts(rng: np.random.Generator, n_samples: int, rate_hz: int, split: str) -> np.ndarray:
    """Coloured noise that comes and goes: wind, chairs, cloth."""
    noise = rng.standard_normal(n_samples)
    low = np.cumsum(noise - noise.mean()) if rng.random() < 0.3 else noise
    swell = np.repeat(rng.random(n_samples // rate_hz + 2) ** 2, rate_hz)[:n_samples]
    smooth = np.convolve(swell, np.ones(rate_hz // 4) / (rate_hz // 4), mode="same")
    spread = max(float(np.std(low)), 1e-9)
    return (low / spread * smooth).astype(np.float32)


def _steady(rng: np.random.Generator, n_samples: int, rate_hz: int, split: str) -> np.ndarray:
    """Noise that goes on and stops: a fan, a tap, traffic."""
    noise = rng.standard_normal(n_samples)
    tilt = float(rng.uniform(-0.95, 0.3))
    return np.asarray(lfilter([1.0], [1.0, tilt], noise), np.float32)


BURST = Company(name="bursts", kind="burst", make=_bursts, level_db=-10.0)
STEADY = Company(name="steady noise in the pauses", kind="burst", make=_steady, level_db=-10.0)


def _lead(bank: Bank) -> Company:
    """A horn that plays along: it is not the piano, but it is music and no talk."""

    def line(rng: np.random.Generator, n_samples: int, rate_hz: int, split: str) -> np.ndarray:
        horns = bank.of_role("lead")
        notes, at, pitch = [], 0.3, int(rng.integers(55, 72))
        while at < n_samples / rate_hz:
            length = float(rng.choice([0.15, 0.2, 0.3, 0.45, 0.9]))
            pitch = int(np.clip(pitch + rng.integers(-4, 5), 50, 79))
            notes.append(TrueNote(onset_s=at, key_up_s=at + length, offset_s=at + length,
                                  midi=pitch, velocity=int(rng.integers(60, 110))))  # fmt: skip
            at += length + (float(rng.uniform(0.5, 2.0)) if rng.random() < 0.1 else 0.02)
        return render_notes(tuple(notes), horns[rng.integers(len(horns))], rate_hz=rate_hz,
                            duration_s=n_samples / rate_hz)  # fmt: skip

    return Company(name="horn", kind="horn", make=line, level_db=-4.0, everywhere=True)


def material(studio: Studio, lessons: int) -> Iterator[tuple[Lesson, np.ndarray, np.ndarray]]:
    """Lessons, and the sound of piano and company apart: what is audible is known."""
    kinds = [one for one in COMPANY if one.name != "talk at 0 dB"]
    kinds += [BURST, STEADY, _lead(studio.company)]
    for index in range(lessons):
        seed = FIRST_SEED + index
        rng = np.random.default_rng([seed, 57])
        which = index % (len(kinds) + 2)
        if which == len(kinds):
            lesson = record_band(seed, studio)
            yield lesson, lesson.samples, np.zeros_like(lesson.samples)
            continue
        company = kinds[which] if which < len(kinds) else None
        if company is not None and CLASS_OF[company.kind]:
            company = replace(company, level_db=float(rng.uniform(*LEVELS_DB)))
        parts = lesson_parts(seed, studio, company)
        lesson = Lesson(
            take=parts.take, company_s=parts.company_s, kind=company.kind if company else "",
            instrument=parts.instrument, rate_hz=studio.rate_hz,
            samples=treated(seed, parts.piano + parts.others, studio.rate_hz),
        )  # fmt: skip
        yield lesson, parts.piano, parts.others


def examples(
    ear: PianoEar, lesson: Lesson, piano: np.ndarray, company: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Windows (n, N_INPUTS) and the class of each, -1 where it counts for nothing."""
    audio = Audio(name="lesson", samples=lesson.samples, sample_rate_hz=lesson.rate_hz, sha256="")
    notes = ear.hear(audio, estimate_tuning(audio), silent)
    inputs = windows(frames(audio), notes)
    times = np.arange(len(inputs)) * STEP_S
    kind = CLASS_OF[lesson.kind]
    if not kind:
        return inputs, np.zeros(len(inputs), int)
    mine, other = (_levels_db(sound, times, lesson.rate_hz) for sound in (company, piano))
    loud = np.percentile(other, 95)
    inside = covered(times, lesson.company_s)
    heard = inside & (mine > other + AUDIBLE_DB) & (mine > loud + AUDIBLE_LOUD_DB)
    clear = ~inside | (mine < other + FAINT_DB) | (mine < loud - 50)
    return inputs, np.where(heard, kind, np.where(clear, 0, -1))


def _levels_db(sound: np.ndarray, times: np.ndarray, rate_hz: int) -> np.ndarray:
    """Level of the half second around each time."""
    half = rate_hz // 4
    sums = np.concatenate([[0.0], np.cumsum(sound.astype(np.float64) ** 2)])
    first = np.clip((times * rate_hz).astype(int) - half, 0, len(sound))
    last = np.clip((times * rate_hz).astype(int) + half, 0, len(sound))
    return 10 * np.log10((sums[last] - sums[first]) / np.maximum(last - first, 1) + 1e-12)


def fit(inputs: np.ndarray, kinds: np.ndarray, seed: int = 1) -> dict[str, np.ndarray]:
    """The weights, as `stackline.listen.other_sounds.not_playing` reads them."""
    rng = np.random.default_rng(seed)
    middle, spread = inputs.mean(axis=0), inputs.std(axis=0) + 1e-3
    x, n = (inputs - middle) / spread, len(inputs)
    counts = np.bincount(kinds, minlength=len(CLASSES))
    weight = (1.0 / np.maximum(counts, 1)) ** 0.5
    weight = (weight * n / (weight * counts).sum())[kinds]
    shapes = {"hidden": (x.shape[1], HIDDEN), "hidden_bias": (HIDDEN,),
              "out": (HIDDEN, len(CLASSES)), "out_bias": (len(CLASSES),)}  # fmt: skip
    values = {name: rng.normal(0, 1 / np.sqrt(shape[0]), shape) if len(shape) == 2
              else np.zeros(shape) for name, shape in shapes.items()}  # fmt: skip
    first = {name: np.zeros(shape) for name, shape in shapes.items()}
    second = {name: np.zeros(shape) for name, shape in shapes.items()}
    count, total = 0, EPOCHS * (n // BATCH + 1)
    for _ in range(EPOCHS):
        order = rng.permutation(n)
        for start in range(0, n, BATCH):
            some = order[start : start + BATCH]
            slopes = _slopes(values, x[some], kinds[some], weight[some])
            count += 1
            rate = RATE * 0.5 * (1 + np.cos(np.pi * count / total))
            for name, slope in slopes.items():
                first[name] += 0.1 * (slope - first[name])
                second[name] += 0.001 * (slope**2 - second[name])
                step = first[name] / (1 - 0.9**count)
                size = np.sqrt(second[name] / (1 - 0.999**count)) + 1e-8
                values[name] -= rate * (
                    step / size + DECAY * values[name] * (len(shapes[name]) == 2)
                )
    values["hidden_bias"] -= (middle / spread) @ values["hidden"]
    values["hidden"] = values["hidden"] / spread[:, None]
    return {name: value.astype(np.float32) for name, value in values.items()}


def _slopes(
    values: dict[str, np.ndarray], x: np.ndarray, kinds: np.ndarray, weight: np.ndarray
) -> dict[str, np.ndarray]:
    """Slopes of the mean weighted cross-entropy."""
    hidden = np.maximum(x @ values["hidden"] + values["hidden_bias"], 0.0)
    odds = hidden @ values["out"] + values["out_bias"]
    chance = np.exp(odds - odds.max(axis=1, keepdims=True))
    chance /= chance.sum(axis=1, keepdims=True)
    chance[np.arange(len(kinds)), kinds] -= 1.0
    back = chance * weight[:, None] / len(kinds)
    inner = (back @ values["out"].T) * (hidden > 0)
    return {"hidden": x.T @ inner, "hidden_bias": inner.sum(axis=0),
            "out": hidden.T @ back, "out_bias": back.sum(axis=0)}  # fmt: skip


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
@click.option("--lessons", type=click.IntRange(10), default=240, show_default=True)
@click.option(
    "--kept", type=click.Path(path_type=Path), help="Examples, read if there, else written."
)
def main(bank: Path, lessons: int, kept: Path | None) -> None:
    """Fit the weights and write them into the tree."""
    if kept is not None and kept.exists():
        with np.load(kept) as data:
            inputs, kinds, lesson = data["inputs"], data["kinds"], data["lesson"]
    else:
        train = load_bank(bank, split="train")
        studio, ear = Studio(players=train, company=train, split="train"), PianoEar()
        made = [examples(ear, *one) for one in material(studio, lessons)]
        inputs = np.concatenate([one[0] for one in made])
        kinds = np.concatenate([one[1] for one in made])
        lesson = np.repeat(np.arange(len(made)), [len(one[0]) for one in made])
        if kept is not None:
            np.savez(kept, inputs=inputs, kinds=kinds, lesson=lesson)
    known = kinds >= 0
    held = lesson >= 0.9 * (lesson.max() + 1)
    weights = fit(inputs[known & ~held], kinds[known & ~held])
    hidden = np.maximum(inputs @ weights["hidden"] + weights["hidden_bias"], 0)
    guess = np.argmax(hidden @ weights["out"] + weights["out_bias"], axis=1)
    for number, name in enumerate(CLASSES):
        mine = known & held & (kinds == number)
        shares = np.bincount(guess[mine], minlength=len(CLASSES)) / max(mine.sum(), 1)
        click.echo(f"{name:<12} {mine.sum():6d}  called " + "  ".join(f"{s:.3f}" for s in shares))
    with beside(WEIGHTS) as path, path.open("wb") as file:
        np.savez(file, **weights)  # type: ignore[arg-type]


if __name__ == "__main__":
    main()
