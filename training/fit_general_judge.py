"""Fits `listen.general_judge`: ``python -m training.fit_general_judge --bank FOLDER``.

Material: takes of `bench.takes` (listed, free, repeated, low and high voicings) on pianos
and electric pianos of the bank's ``train`` split, recorded clean, in rooms, by phones, with
talk, and with bass and drums; and recordings in which nobody plays. Seeds begin at 500 000,
far from those that the bench quotes figures on. Each recording is heard by the general
ear's network; every candidate of the tracking is an example, struck if a true note of its
key lies within 50 ms (the nearest candidate only).

Most instruments are coloured first: every key's partials are raised and lowered at random
around a curve for the take, so that the judge does not learn how strong the octave partial
of these few instruments is.

Model: two looks (see `listen.general_judge`), each of standardised features, one hidden
layer of rectified units, cross-entropy, AdamW with one cycle of the learning rate. The
standardisation is folded into the weights. Instruments
named with --hold-out are left out and the cross-entropy on them is told; the weights in
the tree come from a run without that switch. Needs torch.
"""

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import click
import numpy as np
import soxr
import torch

from bench import conditions
from bench.company import bass_and_drums, has_speech, speech
from bench.render import render_take
from bench.takes import FREE, HIGH, LISTED, LOW, REPEATED, make_take
from bench.truth import TrueNote
from listen.ear import silent
from listen.general_ear import RATE_HZ, TRACKING, GeneralEar
from listen.general_judge import LOOKED_AT_AGAIN, WEIGHTS, Layers, company, features
from listen.partials import partial_levels
from listen.tracking import Around, candidates
from shared.files import beside
from shared.sound import Audio, Tuning
from shared.units import LOWEST_MIDI, midi_to_hz
from training.bank import Bank, Instrument, Layer, load_bank

FIRST_SEED = 500_000
TAKE_S, QUIET_S = 45.0, 20.0
STYLES = (LISTED, FREE, LISTED, REPEATED, FREE, LISTED, LOW, FREE, HIGH)
RECORDED = ("clean", "room", "phone", "clean", "room", "phone", "band", "talk")
QUIET = ("hiss", "hum", "applause", "speech", "speech", "silence")
QUIET_EACH = 12  # one recording in so many has no player
COLOURED = 0.7  # share of takes
PARTIALS = (0.5, 1, 2, 3, 4, 6, 8, 12, 24)  # where a colour is drawn, interpolated between
TAKE_DB, KEY_DB = 6.0, 4.0  # spread of a take's colour, and of each key around it
DETUNING_CENTS = 8.0  # what the tuning's estimate may leave
TOLERANCE_S = 0.05
HIDDEN, EPOCHS, BATCH, RATE, DECAY = 32, 14, 1024, 4e-3, 1e-3


def recordings(bank: Bank, count: int) -> Iterator[tuple[str, np.ndarray, tuple[TrueNote, ...]]]:
    """Instrument, samples at the bank's rate and true notes of `count` recordings."""
    players = bank.of_role("piano", "electric_piano")
    for index in range(count):
        rng = np.random.default_rng([FIRST_SEED, index])
        if index % QUIET_EACH == QUIET_EACH - 1:
            yield "nobody", _quiet(rng, index // QUIET_EACH, bank.sample_rate_hz), ()
            continue
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
            bass, drums = (rng.choice(bank.of_role(role)) for role in ("bass", "drums"))
            band = bass_and_drums(rng, take, bass, drums, rate_hz=bank.sample_rate_hz)
            sound = conditions.mixed(sound, band, level_db=float(rng.uniform(-18, -3)))
        yield player.name, _some_level(rng, sound), take.notes


def coloured(rng: np.random.Generator, player: Instrument, rate_hz: int) -> Instrument:
    """The instrument with other strengths of its partials, each note's loudness kept."""
    take_db = rng.normal(0.0, TAKE_DB, len(PARTIALS))
    layers = []
    for layer in player.layers:
        spectra = np.fft.rfft(layer.notes, axis=1)
        frequencies = np.fft.rfftfreq(layer.notes.shape[1], 1 / rate_hz)
        notes = np.empty_like(layer.notes)
        for row, pitch in enumerate(layer.pitches):
            curve_db = take_db + rng.normal(0.0, KEY_DB, len(PARTIALS))
            partial = np.log(np.maximum(frequencies, 1.0) / midi_to_hz(float(pitch)))
            gain_db = np.interp(partial, np.log(PARTIALS), curve_db)
            wave = np.fft.irfft(spectra[row] * 10 ** (gain_db / 20), layer.notes.shape[1])
            loudness = np.sqrt(np.mean(layer.notes[row] ** 2) / max(np.mean(wave**2), 1e-12))
            notes[row] = wave * loudness
        layers.append(Layer(velocity=layer.velocity, pitches=layer.pitches, notes=notes))
    return dataclasses.replace(player, layers=tuple(layers))


def _quiet(rng: np.random.Generator, index: int, rate_hz: int) -> np.ndarray:
    """A recording in which nobody plays."""
    kind, length = QUIET[index % len(QUIET)], round(QUIET_S * rate_hz)
    sound = np.zeros(length, np.float32)
    if kind == "speech" and has_speech():
        sound = speech(rng, length, rate_hz)
    elif kind in ("hiss", "hum", "applause"):
        sound = getattr(conditions, kind)(rng, length, rate_hz)
    if kind != "silence":
        sound = conditions.mixed(
            sound, conditions.hiss(rng, length, rate_hz), level_db=float(rng.uniform(-60, -30))
        )
    return _some_level(rng, sound)


def _some_level(rng: np.random.Generator, sound: np.ndarray) -> np.ndarray:
    return conditions.levelled(sound, peak=10 ** (float(rng.uniform(-24, -1)) / 20))


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
        """`listen.general_judge.company`, recording by recording."""
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


def fit(inputs: np.ndarray, struck: np.ndarray) -> Layers:
    """One look that tells struck candidates from others."""
    torch.manual_seed(0)
    torch.set_num_threads(1)
    mean, spread = inputs.mean(axis=0), inputs.std(axis=0) + 1e-3
    given, wanted = torch.tensor((inputs - mean) / spread), torch.tensor(struck)
    hidden = torch.nn.Linear(inputs.shape[1], HIDDEN)
    out = torch.nn.Linear(HIDDEN, 1)
    network = torch.nn.Sequential(hidden, torch.nn.ReLU(), out)
    optimiser = torch.optim.AdamW(network.parameters(), lr=RATE, weight_decay=DECAY)
    steps = EPOCHS * (len(given) // BATCH)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, RATE, total_steps=steps + 1)
    loss_of = torch.nn.BCEWithLogitsLoss()
    for _ in range(EPOCHS):
        order = torch.randperm(len(given))
        for start in range(0, len(order) - BATCH + 1, BATCH):
            batch = order[start : start + BATCH]
            optimiser.zero_grad()
            loss_of(network(given[batch])[:, 0], wanted[batch]).backward()
            optimiser.step()
            schedule.step()
    into = hidden.weight.detach().numpy().T / spread[:, None]
    return Layers(
        hidden=into.astype(np.float32),
        hidden_bias=(hidden.bias.detach().numpy() - mean @ into).astype(np.float32),
        out=out.weight.detach().numpy()[0].astype(np.float32),
        out_bias=np.float32(out.bias.item()),
    )


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
@click.option("--count", default=420, show_default=True, help="Recordings to make.")
@click.option("--hold-out", multiple=True, help="Instruments to leave out and tell about.")
@click.option("--cache", type=click.Path(path_type=Path), help="Keep examples in this .npz.")
@click.option("--out", type=click.Path(path_type=Path), default=WEIGHTS, show_default=True)
def main(bank: Path, count: int, hold_out: tuple[str, ...], cache: Path | None, out: Path) -> None:
    """Make the material, fit, and write the weights."""
    found = _material(bank, count, cache)
    kept = ~np.isin(found.name, hold_out)
    inputs = found.inputs.astype(np.float32)
    first = fit(inputs[kept], found.struck[kept])
    chance = first(inputs)
    _tell("first look", chance, found.struck, kept)
    likely = chance >= LOOKED_AT_AGAIN
    neighbours = found.company(chance)[likely]
    inputs = np.concatenate(
        (inputs[likely], neighbours, found.levels[likely]), axis=1, dtype=np.float32
    )
    kept, struck = kept[likely], found.struck[likely]
    second = fit(inputs[kept], struck[kept])
    _tell("second look", second(inputs), struck, kept)
    weights = {
        f"{look}_{name}": value
        for look, layers in (("first", first), ("second", second))
        for name, value in vars(layers).items()
    }
    with beside(out) as temporary, temporary.open("wb") as file:
        np.savez(file, **weights)


def _tell(look: str, chance: np.ndarray, struck: np.ndarray, kept: np.ndarray) -> None:
    """Print the mean cross-entropy of the fitted and of the held out examples."""
    surprise = -np.log(np.clip(np.where(struck > 0, chance, 1 - chance), 1e-7, None))
    click.echo(f"{look}: cross-entropy {surprise[kept].mean():.4f} of {kept.sum()} examples")
    if not kept.all():
        click.echo(f"{look}: held out {surprise[~kept].mean():.4f} of {(~kept).sum()}")


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
