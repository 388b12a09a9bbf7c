"""Fits the piano ear's judges: ``python -m training.fit_piano_judge --bank FOLDER``.

Material: `training.judge_material`, each recording heard by the network; every candidate is
an example, struck if a true note of its key lies within 50 ms (the nearest candidate only).

Three fits, one on the other: `listen.piano_judge` on all candidates; `listen.piano_habits`
on what that one leaves uncertain above struck keys; and the chance that an attack is exact,
from recordings that the first two have not seen (a tenth). Models: standardised inputs, one
hidden layer of rectified units, cross-entropy, AdamW with one cycle of the learning rate; the
standardisation is folded into the weights. Fit again whenever the network changes.
"""

import pickle
from dataclasses import dataclass, replace
from pathlib import Path

import click
import numpy as np
import torch

from bench.truth import TrueNote
from listen import piano_habits, piano_judge
from listen.ear import silent
from listen.features import SAMPLE_RATE_HZ
from listen.piano_decoding import Candidates, candidates, margins
from listen.piano_ear import RULES, PianoEar
from listen.piano_habits import Habits, attack_starts, groups_of, habit_inputs
from listen.piano_judge import Judge, inputs
from shared.files import beside
from shared.sound import Audio, Tuning
from shared.units import LOWEST_MIDI
from training.bank import load_bank
from training.judge_material import made_of_partials, recordings

TOLERANCE_S = 0.05
ASIDE_EACH = 10
BATCH, RATE, DECAY = 512, 4e-3, 1e-2
JUDGE, HABITS = (48, 24), (24, 30)  # hidden units, epochs


@dataclass(frozen=True, kw_only=True, eq=False)
class Heard:
    """One recording: its candidates, what the judge sees of them, and which were struck."""

    found: Candidates
    columns: np.ndarray
    struck: np.ndarray


def hear(ear: PianoEar, sound: np.ndarray, notes: tuple[TrueNote, ...]) -> Heard:
    """All candidates of a recording."""
    audio = Audio(name="made", samples=sound, sample_rate_hz=SAMPLE_RATE_HZ, sha256="")
    parts, columns = [], []
    for answer in ear.answers(audio, Tuning(offset_cents=0.0, confidence=0.0), silent):
        some = candidates(answer.logits, answer.first_frame, answer.own)
        parts.append(some)
        columns.append(inputs(answer.logits, answer.seen, some.row, some.key))
    found = Candidates.joined(parts)
    ordered = np.concatenate(columns)[Candidates.order(parts)]
    return Heard(found=found, columns=ordered, struck=labels(found, notes))


def labels(found: Candidates, notes: tuple[TrueNote, ...]) -> np.ndarray:
    """1 for the candidate nearest to each true note of its key within 50 ms, else 0."""
    struck = np.zeros(len(found.key), np.float32)
    for note in notes:
        off = np.abs(found.time_s - note.onset_s)
        off[(found.key != note.midi - LOWEST_MIDI) | (struck > 0)] = np.inf
        if len(off) and off.min() <= TOLERANCE_S:
            struck[off.argmin()] = 1.0
    return struck


def fit(
    given: np.ndarray, base: np.ndarray, wanted: np.ndarray, units: int, epochs: int
) -> dict[str, np.ndarray]:
    """Layers whose output, added to `base`, is the log odds of `wanted`."""
    torch.manual_seed(0)
    mean, spread = given.mean(axis=0), given.std(axis=0) + 1e-2
    x, y = torch.tensor((given - mean) / spread), torch.tensor(wanted)
    start = torch.tensor(base.astype(np.float32))
    hidden, out = torch.nn.Linear(given.shape[1], units), torch.nn.Linear(units, 1)
    network = torch.nn.Sequential(hidden, torch.nn.ReLU(), out)
    optimiser = torch.optim.AdamW(network.parameters(), lr=RATE, weight_decay=DECAY)
    steps = epochs * (len(x) // BATCH)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, RATE, total_steps=steps + 1)
    for _ in range(epochs):
        order = torch.randperm(len(x))
        for first in range(0, len(order) - BATCH + 1, BATCH):
            batch = order[first : first + BATCH]
            odds = start[batch] + network(x[batch])[:, 0]
            optimiser.zero_grad()
            torch.nn.functional.binary_cross_entropy_with_logits(odds, y[batch]).backward()
            optimiser.step()
            schedule.step()
    into = hidden.weight.detach().numpy().T / spread[:, None]
    return {
        "hidden": into.astype(np.float32),
        "hidden_bias": (hidden.bias.detach().numpy() - mean @ into).astype(np.float32),
        "out": out.weight.detach().numpy()[0].astype(np.float32),
        "out_bias": np.array(out.bias.item(), np.float32),
    }


def fit_judge(heard: list[Heard]) -> Judge:
    """The second look, without its chance of exactness."""
    given = np.concatenate([one.columns for one in heard])
    wanted = np.concatenate([one.struck for one in heard])
    layers = fit(given, np.zeros(len(given)), wanted, *JUDGE)
    return Judge(**layers, exactness=np.array([0.5, 0.5, -1.0]))


def fit_habits(heard: list[Heard], judge: Judge) -> Habits:
    """The third look, at what the second leaves."""
    given, base, wanted = [], [], []
    for one in heard:
        odds = judge(one.columns)
        rows, table = habit_inputs(one.found.time_s, one.found.key, odds)
        given.append(table)
        base.append(odds[rows])
        wanted.append(one.struck[rows])
    return Habits(**fit(*(np.concatenate(part) for part in (given, base, wanted)), *HABITS))


def final_odds(one: Heard, judge: Judge, habits: Habits) -> np.ndarray:
    """Log odds of a recording's candidates after both looks."""
    odds = judge(one.columns)
    rows, table = habit_inputs(one.found.time_s, one.found.key, odds)
    odds[rows] += habits(table)
    return odds


def attacks_of(one: Heard, odds: np.ndarray) -> list[tuple[float, float, bool]]:
    """Weakest kept, strongest dropped and exactness of each attack that is heard."""
    rows = []
    every = replace(one.found, evidence=odds)
    margin = margins(every, groups_of(every.time_s), RULES)
    for part in np.split(np.arange(len(odds)), attack_starts(every.time_s)):
        kept = margin[part] >= 0
        if kept.any():
            dropped = float(margin[part][~kept].max(initial=-10.0))
            exact = bool(np.array_equal(kept, one.struck[part] > 0))
            rows.append((float(margin[part][kept].min()), dropped, exact))
    return rows


def fit_exactness(rows: list[tuple[float, float, bool]]) -> np.ndarray:
    """Weights of `Judge.exactness`, by logistic regression (Newton's steps, slight ridge)."""
    table = np.array(rows, float)
    x = np.minimum(np.stack((table[:, 0], -table[:, 1], np.ones(len(table))), axis=1), 10)
    weights = np.zeros(3)
    for _ in range(30):
        chance = 1 / (1 + np.exp(-x @ weights))
        slope = x.T @ (table[:, 2] - chance) - 1e-3 * weights
        bend = (x * (chance * (1 - chance))[:, None]).T @ x + 1e-3 * np.eye(3)
        weights += np.linalg.solve(bend, slope)
    return weights


def material(bank: Path, count: int, made: int, cache: Path | None) -> list[Heard]:
    """Every recording, heard; from the cache if it is there."""
    kept = None if cache is None else cache / "heard.pickle"
    if kept is not None and kept.is_file():
        return list(pickle.loads(kept.read_bytes()))
    loaded, ear, heard = load_bank(bank, split="train"), PianoEar(), []
    players = made_of_partials(loaded, made, cache)
    for index, (sound, notes) in enumerate(recordings(loaded, players, count)):
        heard.append(hear(ear, sound, notes))
        if index % 20 == 0:
            click.echo(f"recording {index} of {count}")
    if kept is not None:
        kept.write_bytes(pickle.dumps(heard))
    return heard


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
@click.option("--count", default=320, show_default=True, help="Recordings to make.")
@click.option("--made", default=18, show_default=True, help="Pianos made of partials.")
@click.option("--cache", type=click.Path(path_type=Path), help="Folder to keep material in.")
def main(bank: Path, count: int, made: int, cache: Path | None) -> None:
    """Make the material, fit, and write the weights."""
    heard = material(bank, count, made, cache)
    kept = [one for i, one in enumerate(heard) if i % ASIDE_EACH]
    judge = fit_judge(kept)
    habits = fit_habits(kept, judge)
    rows = [row for one in heard[::ASIDE_EACH]
            for row in attacks_of(one, final_odds(one, judge, habits))]  # fmt: skip
    exactness = fit_exactness(rows)
    exact = np.mean([row[2] for row in rows])
    click.echo(f"{len(heard)} recordings; kept aside: {len(rows)} attacks, {exact:.3f} exact")
    for path, layers in (
        (piano_judge.WEIGHTS, vars(judge) | {"exactness": exactness}),
        (piano_habits.WEIGHTS, vars(habits)),
    ):
        with beside(path) as temporary, temporary.open("wb") as file:
            np.savez(file, **layers)


if __name__ == "__main__":
    main()
