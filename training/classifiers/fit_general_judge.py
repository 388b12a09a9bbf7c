"""Fits `attack_classifier`: ``python -m training.classifiers.fit_general_judge --bank FOLDER``.

Material: takes of `fixtures.played.takes` (listed, free, repeated, low and high voicings) on pianos
and electric pianos of the bank's ``train`` split, recorded clean, in rooms, by phones, with
talk, and with bass and drums; and recordings in which nobody plays. Seeds begin at 500 000,
far from those that the bench quotes figures on. Each recording is heard by the general
ear's network; every candidate of the tracking is an example, struck if a true note of its
key lies within 50 ms (the nearest candidate only).

Most instruments are coloured first: every key's partials are raised and lowered at random
around a curve for the take, nearly alike in all layers, so that the judge does not learn how
strong the octave partial of these few instruments is; on many some keys sound like octaves or
twelfths, which only the third look can know.

Model: two looks (see `stackline.listen.general.attack_classifier`) and a third at the whole take
(`take_classifier`), each of standardised features, one hidden layer of rectified units,
cross-entropy, AdamW with one cycle of the learning rate. The standardisation is folded into the
weights. The third look is fitted on what the others say of recordings that they were not fitted
on: half by half. Instruments named
with --hold-out are left out and the cross-entropy on them is printed; the weights in the tree come
from a run without that switch. Needs torch, 6 GB of memory and, with rendering, half an hour.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import click
import numpy as np
import soxr
import torch

from fixtures.played.takes import FREE, HIGH, LISTED, LOW, REPEATED, make_take
from fixtures.played.truth import TrueNote
from fixtures.sounded import conditions
from fixtures.sounded.bank import Bank, Instrument, load_bank
from fixtures.sounded.company import bass_and_drums, has_speech, speech
from fixtures.sounded.render import render_take
from stackline.listen.ear import silent
from stackline.listen.general import take_classifier
from stackline.listen.general.attack_classifier import (
    LOOKED_AT_AGAIN,
    STRENGTHS,
    WEIGHTS,
    chances,
    company,
    features,
)
from stackline.listen.general.general_ear import FRAME, RATE_HZ, TRACKING, GeneralEar
from stackline.listen.general.partials import partial_levels
from stackline.listen.general.take_classifier import N_PARTIALS, Candidates, habit_inputs
from stackline.listen.general.tracking import Around, candidates
from stackline.listen.one_layer import OneLayer
from stackline.shared.files import beside
from stackline.shared.sound import Audio, Tuning
from stackline.shared.units import LOWEST_MIDI
from training.classifiers.colours import PARTIALS, through_curves
from training.classifiers.quiet import quiet, some_level

FIRST_SEED = 500_000
TAKE_S = 45.0
STYLES = (LISTED, FREE, LISTED, REPEATED, FREE, LISTED, LOW, FREE, HIGH)
RECORDED = ("clean", "room", "phone", "clean", "room", "phone", "band", "talk")
QUIET_EACH = 12  # one recording in so many has no player
COLOURED = 0.7  # share of takes
TAKE_DB = 4.0  # spread of a take's colour
KEY_DB = (1.0, 7.0)  # spread of each key around its take, from and to
BOOSTED = 0.6  # share of coloured instruments with keys that sound like octaves or twelfths
LIKE_OCTAVES, LIKE_TWELFTHS = 0.25, 0.12  # share of such keys there
LOUDEST_BOOST_DB = 16.0
DETUNING_CENTS = 8.0  # what the tuning's estimate may leave
TOLERANCE_S = 0.05
RATE = 4e-3
FOLDS = 2


@dataclass(frozen=True, kw_only=True)
class Look:
    """How one look is fitted. hidden: units. least_spread: added to that of each input."""

    hidden: int
    epochs: int
    batch: int
    decay: float
    least_spread: float


FIRST = Look(hidden=32, epochs=14, batch=1024, decay=1e-3, least_spread=1e-3)
SECOND = FIRST
THIRD = Look(hidden=24, epochs=20, batch=512, decay=1e-1, least_spread=1e-2)


def recordings(bank: Bank, count: int) -> Iterator[tuple[str, np.ndarray, tuple[TrueNote, ...]]]:
    """Instrument, samples at the bank's rate and true notes of `count` recordings."""
    for index in range(count):
        if index % QUIET_EACH == QUIET_EACH - 1:
            rng = np.random.default_rng([FIRST_SEED, index])
            yield "nobody", quiet(rng, index // QUIET_EACH, bank.sample_rate_hz), ()
        else:
            yield _played(bank, index)


def _played(bank: Bank, index: int) -> tuple[str, np.ndarray, tuple[TrueNote, ...]]:
    """One recording in which somebody plays."""
    rng = np.random.default_rng([FIRST_SEED, index])
    players = bank.of_role("piano", "electric_piano")
    player = players[index % len(players)]
    style = STYLES[int(rng.integers(len(STYLES)))]
    take = make_take(FIRST_SEED + index, style, duration_s=TAKE_S)
    cents = float(rng.uniform(-DETUNING_CENTS, DETUNING_CENTS))
    if rng.random() < COLOURED:
        player = coloured(rng, player, bank.sample_rate_hz)
    sound = render_take(take, player, rate_hz=bank.sample_rate_hz, detune_cents=cents)
    sound = conditions.levelled(sound)
    recorded = RECORDED[int(rng.integers(len(RECORDED)))]
    if recorded == "room":
        sound = conditions.room(rng, sound, bank.sample_rate_hz)
    elif recorded == "phone":
        sound = conditions.phone(rng, sound, bank.sample_rate_hz)
    elif recorded == "talk" and has_speech():
        talk = speech(rng, len(sound), bank.sample_rate_hz)
        sound = conditions.mixed(sound, talk, level_db=float(rng.uniform(-22, -6)))
    elif recorded == "band":
        bass, drums = (
            rng.choice(np.array(bank.of_role(role), dtype=object)) for role in ("bass", "drums")
        )
        band = bass_and_drums(rng, take, bass, drums, rate_hz=bank.sample_rate_hz)
        sound = conditions.mixed(sound, band, level_db=float(rng.uniform(-18, -3)))
    return player.name, some_level(rng, sound), take.notes


def coloured(rng: np.random.Generator, player: Instrument, rate_hz: int) -> Instrument:
    """The instrument with other strengths of its partials, each note's loudness kept.

    A key's colour is nearly the same in all layers, so that it can be known again in a take;
    on some instruments some keys sound like octaves or twelfths (`_key_curve`).
    """
    take_db = rng.normal(0.0, TAKE_DB, PARTIALS + 1)
    key_db = float(rng.uniform(*KEY_DB))
    boosts = rng.random() < BOOSTED
    pitches = sorted({int(pitch) for layer in player.layers for pitch in layer.pitches})
    curves = {pitch: take_db + _key_curve(rng, key_db, boosts=boosts) for pitch in pitches}
    return through_curves(rng, player, curves, rate_hz)


def _key_curve(rng: np.random.Generator, key_db: float, *, boosts: bool) -> np.ndarray:
    """Gains in dB of a key's partials, 0 (below the first) to 24 and more."""
    curve = rng.normal(0.0, key_db, PARTIALS + 1)
    if boosts and rng.random() < LIKE_OCTAVES:
        curve[2::2] += rng.uniform(2, LOUDEST_BOOST_DB) * rng.uniform(0.3, 1.0, len(curve[2::2]))
    if boosts and rng.random() < LIKE_TWELFTHS:
        curve[3::3] += rng.uniform(2, LOUDEST_BOOST_DB) * rng.uniform(0.3, 1.0, len(curve[3::3]))
    return curve


@dataclass(frozen=True, kw_only=True, eq=False)
class Examples:
    """Candidates: instrument, recording, frame, key, features, partials, struck or not."""

    name: np.ndarray
    recording: np.ndarray
    frame: np.ndarray
    key: np.ndarray
    inputs: np.ndarray
    levels: np.ndarray
    struck: np.ndarray

    def company(self, chance: np.ndarray) -> np.ndarray:
        """`stackline.listen.general.attack_classifier.company`, recording by recording."""
        parts = []
        for index in np.unique(self.recording):
            mine = self.recording == index
            parts.append(company(self.frame[mine], self.key[mine], chance[mine]))
        return np.concatenate(parts)


def examples(
    ear: GeneralEar, sound: np.ndarray, rate_hz: int, notes: tuple[TrueNote, ...]
) -> Iterator[dict[str, np.ndarray]]:
    """The candidates of one recording, chunk by chunk, by the names of `Examples`."""
    audio = Audio(
        name="made",
        samples=soxr.resample(sound, rate_hz, RATE_HZ),
        sample_rate_hz=RATE_HZ,
        sha256="",
    )
    level = Tuning(offset_cents=0.0, confidence=0.0)
    for around in candidates(ear.activations(audio, level, silent), TRACKING):
        own = around.is_own
        frames, keys = around.rows[own] + around.first_frame, around.keys[own]
        yield {
            "frame": frames,
            "key": keys,
            "levels": partial_levels(audio, level, frames / around.frames_per_s, keys).astype(
                np.float16
            ),
            "inputs": features(around)[own].astype(np.float16),
            "struck": labels(around, notes)[own],
        }


def labels(around: Around, notes: tuple[TrueNote, ...]) -> np.ndarray:
    """1 for the candidate nearest to each true note of its key within 50 ms, else 0."""
    struck = np.zeros(len(around.rows), np.float32)
    times = (around.rows + around.first_frame) / around.frames_per_s - TRACKING.delay_s
    for note in notes:
        off = np.abs(times - note.onset_s)
        off[(around.keys != note.midi - LOWEST_MIDI) | (struck > 0)] = np.inf
        if len(off) and off.min() <= TOLERANCE_S:
            struck[off.argmin()] = 1.0
    return struck


def fit(
    inputs: np.ndarray, struck: np.ndarray, base: np.ndarray | None = None, *, look: Look
) -> dict[str, np.ndarray]:
    """Layers whose output, added to `base` if there is one, is the log odds of `struck`."""
    torch.manual_seed(0)
    torch.set_num_threads(1)
    mean, spread = inputs.mean(axis=0), inputs.std(axis=0) + look.least_spread
    given, wanted = torch.tensor((inputs - mean) / spread), torch.tensor(struck)
    start = torch.tensor((np.zeros(len(inputs)) if base is None else base).astype(np.float32))
    hidden, out = torch.nn.Linear(inputs.shape[1], look.hidden), torch.nn.Linear(look.hidden, 1)
    network = torch.nn.Sequential(hidden, torch.nn.ReLU(), out)
    optimiser = torch.optim.AdamW(network.parameters(), lr=RATE, weight_decay=look.decay)
    steps = look.epochs * (len(given) // look.batch)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, RATE, total_steps=steps + 1)
    loss_of = torch.nn.BCEWithLogitsLoss()
    for _ in range(look.epochs):
        order = torch.randperm(len(given))
        for first in range(0, len(order) - look.batch + 1, look.batch):
            batch = order[first : first + look.batch]
            optimiser.zero_grad()
            loss_of(start[batch] + network(given[batch])[:, 0], wanted[batch]).backward()
            optimiser.step()
            schedule.step()
    into = hidden.weight.detach().numpy().T / spread[:, None]
    return {
        "hidden": into.astype(np.float32),
        "hidden_bias": (hidden.bias.detach().numpy() - mean @ into).astype(np.float32),
        "out": out.weight.detach().numpy()[0].astype(np.float32),
        "out_bias": np.array(out.bias.item(), np.float32),
    }


def fit_looks(found: Examples, which: np.ndarray) -> tuple[OneLayer, OneLayer]:
    """The first and the second look, from some of the examples."""
    inputs = found.inputs[which].astype(np.float32)
    first = OneLayer(**fit(inputs, found.struck[which], look=FIRST))
    likely, inputs, _ = second_inputs(found, first)
    mine = which[likely]
    second = OneLayer(**fit(inputs[mine], found.struck[likely][mine], look=SECOND))
    return first, second


def second_inputs(found: Examples, first: OneLayer) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Which examples get a second look, what it sees of those, and the first chance of all."""
    chance = np.concatenate([chances(first, part.astype(np.float32))
                             for part in np.array_split(found.inputs, 64)])  # fmt: skip
    likely = chance >= LOOKED_AT_AGAIN
    parts = (found.inputs[likely], found.company(chance)[likely], found.levels[likely])
    return likely, np.concatenate(parts, axis=1, dtype=np.float32), chance


def odds_after(found: Examples, first: OneLayer, second: OneLayer) -> np.ndarray:
    """Log odds of all examples after the second look; of those without one, the first's."""
    likely, inputs, chance = second_inputs(found, first)
    chance[likely] = chances(second, inputs)
    chance = np.clip(chance, 1e-6, 1 - 1e-6)
    odds: np.ndarray = np.log(chance / (1 - chance))
    return np.where(likely, odds, -np.inf)


def third_inputs(found: Examples, odds: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which examples get a third look, and what it sees of those."""
    rows, tables = [], []
    for index in np.unique(found.recording):
        mine = np.flatnonzero((found.recording == index) & np.isfinite(odds))
        mine = mine[np.lexsort((found.key[mine], found.frame[mine]))]
        one = Candidates(
            time_s=found.frame[mine] * FRAME / RATE_HZ,
            key=found.key[mine],
            odds=odds[mine],
            levels=found.levels[mine, :N_PARTIALS].astype(np.float32),
            strength=found.inputs[mine][:, STRENGTHS].astype(np.float32),
        )
        some, table = habit_inputs(one)
        rows.append(mine[some])
        tables.append(table)
    return np.concatenate(rows), np.concatenate(tables)


def fit_habits(found: Examples, which: np.ndarray) -> OneLayer:
    """The third look, on what the others leave of recordings that they were not fitted on."""
    odds = np.full(len(found.key), -np.inf)
    for fold in range(FOLDS):
        aside = found.recording // 2 % FOLDS == fold
        odds[aside] = odds_after(found, *fit_looks(found, which & ~aside))[aside]
    rows, table = third_inputs(found, odds)
    mine = which[rows]
    rows, table = rows[mine], table[mine]
    return OneLayer(**fit(table, found.struck[rows], odds[rows], look=THIRD))


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
@click.option("--count", default=600, show_default=True, help="Recordings to make.")
@click.option("--hold-out", multiple=True, help="Instruments to leave out and report on.")
@click.option("--cache", type=click.Path(path_type=Path), help="Keep examples in this .npz.")
def main(bank: Path, count: int, hold_out: tuple[str, ...], cache: Path | None) -> None:
    """Make the material, fit, and write the weights."""
    found = _material(bank, count, cache)
    kept = ~np.isin(found.name, hold_out)
    first, second = fit_looks(found, kept)
    third = fit_habits(found, kept)
    odds = odds_after(found, first, second)
    _tell("second look", odds, found.struck, kept)
    rows, table = third_inputs(found, odds)
    odds[rows] += third(table)
    _tell("third look", odds, found.struck, kept)
    looks = {f"{look}_{name}": value
             for look, layers in (("first", first), ("second", second))
             for name, value in vars(layers).items()}  # fmt: skip
    for path, weights in ((WEIGHTS, looks), (take_classifier.WEIGHTS, vars(third))):
        with beside(path) as temporary, temporary.open("wb") as file:
            np.savez(file, **weights)


def _tell(look: str, odds: np.ndarray, struck: np.ndarray, kept: np.ndarray) -> None:
    """Print the mean cross-entropy of the fitted and of the held out examples."""
    surprise = np.logaddexp(0.0, np.where(struck > 0, -1, 1) * np.clip(odds, -8.0, 8.0))
    click.echo(f"{look}: cross-entropy {surprise[kept].mean():.5f} of {kept.sum()} examples")
    if not kept.all():
        click.echo(f"{look}: held out {surprise[~kept].mean():.5f} of {(~kept).sum()}")


def _material(bank: Path, count: int, cache: Path | None) -> Examples:
    """Every example, from the cache if it is there."""
    if cache is not None and cache.is_file():
        with np.load(cache) as data:
            return Examples(**{name: data[name] for name in Examples.__annotations__})
    ear, loaded = GeneralEar(), load_bank(bank, split="train")
    columns: dict[str, list[np.ndarray]] = {name: [] for name in Examples.__annotations__}
    for index, (name, sound, notes) in enumerate(recordings(loaded, count)):
        for part in examples(ear, sound, loaded.sample_rate_hz, notes):
            size = len(part["key"])
            part |= {"name": np.full(size, name), "recording": np.full(size, index)}
            for column, values in part.items():
                columns[column].append(values)
    found = Examples(**{name: np.concatenate(parts) for name, parts in columns.items()})
    if cache is not None:
        np.savez(cache, **vars(found))
    return found


if __name__ == "__main__":
    main()
