"""Fits what follows the piano ear's network.

``python -m training.classifiers.fit_piano_judge --bank FOLDER``. Material: `judge_material`, each
recording heard by the network; every candidate is an example, struck if a true note of its key
lies within 50 ms (the nearest candidate only).

Fits, one on the other: the second and the third look of `piano_judge`; the velocities
of `piano_velocity`; and `piano_trust`, from recordings that the looks have not
seen (a sixth) and from takes on the bank's ``dev`` instruments, on seeds that no figure is
quoted for. A look is several small networks of one hidden layer side by side: standardised
inputs, rectified units, cross-entropy, AdamW with one cycle of the learning rate, each on its own
draw of the examples. Recordings without octaves count several times, since that is how
people play. Fit again whenever the network changes.
"""

import pickle
from concurrent.futures import ProcessPoolExecutor
from contextlib import ExitStack
from dataclasses import dataclass, replace
from functools import cached_property, partial
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory

import click
import numpy as np
import torch

from fixtures.played.truth import TrueNote
from fixtures.sounded.bank import load_bank
from fixtures.sounded.scenes import PLAYED, Studio, record_scene
from stackline.listen.ear import silent
from stackline.listen.one_layer import OneLayer
from stackline.listen.piano import piano_judge, piano_trust, piano_velocity
from stackline.listen.piano.features import SAMPLE_RATE_HZ
from stackline.listen.piano.piano_decoding import Candidates, candidates, margins
from stackline.listen.piano.piano_ear import RULES, PianoEar
from stackline.listen.piano.piano_habits import attack_starts, groups_of, habit_inputs
from stackline.listen.piano.piano_judge import CONTEXT_INPUTS, inputs, second_inputs, third_inputs
from stackline.listen.piano.piano_trust import trust_inputs
from stackline.listen.piano.piano_velocity import velocity_inputs
from stackline.listen.recording.tuning import estimate_tuning
from stackline.shared.files import beside
from stackline.shared.sound import Audio, Tuning
from stackline.shared.units import LOWEST_MIDI
from training.classifiers.judge_material import made_of_partials, recordings

TOLERANCE_S = 0.05
ASIDE_EACH = 6
PARTS, PROCESSES = 16, 2
BATCH, RATE, DECAY, DROPPED = 512, 4e-3, 0.1, 0.1
UNITS, MEMBERS, EPOCHS = 32, 4, 12
FEW_OCTAVES, PLAIN_TIMES = 0.06, 4  # a recording with fewer octaves a note counts so often
RIDGE = 50.0
TRUST_SEED, TRUST_TAKES, TRUST_S = 70_000, 4, 45.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Heard:
    """One recording: its candidates, what the judge sees of them, and how they were struck.

    struck: (n,) 1 or 0. velocity: (n,) 1 to 127, 0 for what was not struck.
    """

    found: Candidates
    columns: np.ndarray
    struck: np.ndarray
    velocity: np.ndarray

    @cached_property
    def habits(self) -> np.ndarray:
        """Habits from the network's evidence, (n, N_HABITS)."""
        return habit_inputs(self.found.time_s, self.found.key, self.found.evidence)


def hear(
    ear: PianoEar, sound: np.ndarray, notes: tuple[TrueNote, ...], *, tuned: bool = True
) -> Heard:
    """All candidates of a recording. tuned: the material's own, whose tuning is known."""
    audio = Audio(name="made", samples=sound, sample_rate_hz=SAMPLE_RATE_HZ, sha256="")
    tuning = Tuning(offset_cents=0.0, confidence=0.0) if tuned else estimate_tuning(audio)
    parts, columns = [], []
    for answer in ear.answers(audio, tuning, silent):
        some = candidates(answer.logits, answer.first_frame, answer.own)
        parts.append(some)
        columns.append(inputs(answer.logits, answer.seen, some.row, some.key))
    found = Candidates.joined(parts)
    ordered = np.concatenate(columns)[Candidates.order(parts)]
    velocity = velocities(found, notes)
    struck = (velocity > 0).astype(np.float32)
    return Heard(found=found, columns=ordered, struck=struck, velocity=velocity)


def velocities(found: Candidates, notes: tuple[TrueNote, ...]) -> np.ndarray:
    """The true velocity at the candidate nearest to each note of its key within 50 ms, else 0."""
    velocity = np.zeros(len(found.key), np.float32)
    for note in notes:
        off = np.abs(found.time_s - note.onset_s)
        off[(found.key != note.midi - LOWEST_MIDI) | (velocity > 0)] = np.inf
        if len(off) and off.min() <= TOLERANCE_S:
            velocity[off.argmin()] = note.velocity
    return velocity


def octave_share(one: Heard) -> float:
    """The share of struck notes with their octave struck above them."""
    struck = one.struck > 0
    group = groups_of(one.found.time_s)[struck]
    notes = set(zip(group.tolist(), one.found.key[struck].tolist(), strict=True))
    return float(np.mean([(at, key + 12) in notes for at, key in notes])) if notes else 0.0


def repeated(heard: list[Heard]) -> list[Heard]:
    """All recordings, those with few octaves several times."""
    plain = [one for one in heard if octave_share(one) < FEW_OCTAVES]
    return heard + plain * (PLAIN_TIMES - 1)


def fit_member(
    given: np.ndarray, base: np.ndarray, wanted: np.ndarray, seed: int
) -> tuple[np.ndarray, ...]:
    """One small network whose output, added to `base`, is the log odds of `wanted`.

    Weights into and biases of its hidden units, weights and bias out of them, for inputs as
    they are (the standardisation is folded in).
    """
    torch.manual_seed(seed)
    mean, spread = given.mean(axis=0), given.std(axis=0) + 1e-2
    x, y = torch.tensor((given - mean) / spread).float(), torch.tensor(wanted).float()
    start = torch.tensor(base).float()
    hidden, out = torch.nn.Linear(given.shape[1], UNITS), torch.nn.Linear(UNITS, 1)
    network = torch.nn.Sequential(torch.nn.Dropout(DROPPED), hidden, torch.nn.ReLU(), out)
    optimiser = torch.optim.AdamW(network.parameters(), lr=RATE, weight_decay=DECAY)
    drawn = torch.randint(len(x), (len(x),))
    steps = EPOCHS * (len(x) // BATCH)
    schedule = torch.optim.lr_scheduler.OneCycleLR(optimiser, RATE, total_steps=steps + 1)
    for _ in range(EPOCHS):
        order = drawn[torch.randperm(len(x))]
        for first in range(0, len(order) - BATCH + 1, BATCH):
            batch = order[first : first + BATCH]
            odds = start[batch] + network(x[batch])[:, 0]
            optimiser.zero_grad()
            torch.nn.functional.binary_cross_entropy_with_logits(odds, y[batch]).backward()
            optimiser.step()
            schedule.step()
    into = hidden.weight.detach().numpy().T / spread[:, None]
    bias = hidden.bias.detach().numpy() - mean @ into
    return into, bias, out.weight.detach().numpy()[0], np.array(out.bias.item())


def joined(members: list[tuple[np.ndarray, ...]]) -> OneLayer:
    """Members side by side: their mean."""
    into, bias, out, out_bias = zip(*members, strict=True)
    return OneLayer(
        hidden=np.concatenate(into, axis=1).astype(np.float32),
        hidden_bias=np.concatenate(bias).astype(np.float32),
        out=(np.concatenate(out) / len(members)).astype(np.float32),
        out_bias=np.array(np.mean(out_bias), np.float32),
    )


def widened(member: tuple[np.ndarray, ...], seen: np.ndarray) -> tuple[np.ndarray, ...]:
    """A member that saw only some inputs (`seen`, bool), as one that is shown all."""
    into = np.zeros((len(seen), UNITS))
    into[seen] = member[0]
    return into, *member[1:]


def fit_second(heard: list[Heard]) -> OneLayer:
    """Half of the members see the network's evidence and the habits, the others the habits and
    the candidate's own evidence alone: on instruments unlike all others these err less.
    """
    table = np.concatenate([second_inputs(one.columns, one.habits) for one in heard])
    evidence = np.concatenate([one.found.evidence for one in heard])
    wanted = np.concatenate([one.struck for one in heard])
    n_columns = heard[0].columns.shape[1]
    wide, narrow = np.zeros((2, table.shape[1]), bool)
    wide[:CONTEXT_INPUTS] = narrow[:1] = True
    wide[n_columns - piano_judge.ATTACK_INPUTS :] = narrow[n_columns:] = True
    members = [
        widened(fit_member(table[:, seen], evidence, wanted, 10 * i + j), seen)
        for i, seen in enumerate((wide, narrow))
        for j in range(MEMBERS)
    ]
    return joined(members)


def fit_third(heard: list[Heard], second: OneLayer) -> OneLayer:
    """The third look, at what the second leaves."""
    odds = [after_second(one, second) for one in heard]
    table = np.concatenate([seen_third(one, some) for one, some in zip(heard, odds, strict=True)])
    wanted = np.concatenate([one.struck for one in heard])
    base = np.concatenate(odds)
    return joined([fit_member(table, base, wanted, 100 + i) for i in range(MEMBERS)])


def after_second(one: Heard, second: OneLayer) -> np.ndarray:
    """Log odds of a recording's candidates after the second look."""
    return np.asarray(one.found.evidence + second(second_inputs(one.columns, one.habits)))


def seen_third(one: Heard, odds: np.ndarray) -> np.ndarray:
    """What the third look sees."""
    after = habit_inputs(one.found.time_s, one.found.key, odds)
    return third_inputs(one.found.evidence, odds, one.habits, after)


def attacks_of(one: Heard, second: OneLayer, third: OneLayer) -> list[tuple[np.ndarray, bool]]:
    """What trust rests on, and exactness, of each attack that is heard."""
    if not len(one.struck):
        return []
    odds = after_second(one, second)
    every = replace(one.found, evidence=odds + third(seen_third(one, odds)))
    margin = margins(every, groups_of(every.time_s), RULES)
    found = []
    for part in np.split(np.arange(len(margin)), attack_starts(every.time_s)):
        kept = margin[part] >= 0
        if kept.any():
            exact = bool(np.array_equal(kept, one.struck[part] > 0))
            seen = trust_inputs(one.found.evidence[part], every.evidence[part], margin[part])
            found.append((seen, exact))
    return found


def fit_trust(attacks: list[tuple[np.ndarray, bool]]) -> np.ndarray:
    """Weights of `piano_trust`, by logistic regression (Newton's steps, slight ridge)."""
    x = np.stack([seen for seen, _ in attacks])
    exact = np.array([right for _, right in attacks], float)
    weights = np.zeros(x.shape[1])
    for _ in range(30):
        chance = 1 / (1 + np.exp(-x @ weights))
        slope = x.T @ (exact - chance) - 1e-2 * weights
        bend = (x * (chance * (1 - chance))[:, None]).T @ x + 1e-2 * np.eye(len(weights))
        weights += np.linalg.solve(bend, slope)
    return weights


def fit_velocity(heard: list[Heard]) -> np.ndarray:
    """Weights of `piano_velocity`, by ridge regression against each take's mean."""
    tables, wanted = [], []
    for one in heard:
        struck = one.velocity > 0
        if struck.any():
            table = velocity_inputs(one.found.velocity[struck], one.columns[struck])
            tables.append(table - table.mean(axis=0))
            wanted.append(one.velocity[struck] - one.velocity[struck].mean())
    x, y = np.concatenate(tables), np.concatenate(wanted)
    spread = x.std(axis=0) + 1e-2
    x = x / spread
    weights: np.ndarray = np.linalg.solve(x.T @ x + RIDGE * np.eye(x.shape[1]), x.T @ y) / spread
    return weights.astype(np.float32)


def some(bank: Path, indices: range, made: int, cache: Path) -> list[Heard]:
    """Some of the recordings, heard."""
    torch.set_num_threads(1)
    loaded, ear = load_bank(bank, split="train"), PianoEar()
    players = made_of_partials(loaded, made, cache)
    heard = [hear(ear, *one) for one in recordings(loaded, players, indices)]
    click.echo(f"heard {len(heard)} recordings from {indices.start}")
    return heard


def trust_takes(bank: Path) -> list[Heard]:
    """Takes on the dev instruments, in every scene, on seeds of their own."""
    company, players = (load_bank(bank, split=split) for split in ("train", "dev"))
    studio = Studio(players=players, company=company, split="dev")
    ear, found = PianoEar(), []
    for scene in PLAYED:
        for one in record_scene(
            scene, studio, takes=TRUST_TAKES, duration_s=TRUST_S, first_seed=TRUST_SEED
        ):
            notes = one.take.notes if one.take else ()
            found.append(hear(ear, one.samples.astype(np.float32), notes, tuned=False))
    return found


def material(bank: Path, count: int, made: int, cache: Path) -> tuple[list[Heard], list[Heard]]:
    """Every recording and every take for the trust, heard; from the cache if they are there."""
    kept = cache / "heard.pickle"
    if kept.is_file():
        heard = list(pickle.loads(kept.read_bytes()))
    else:
        made_of_partials(load_bank(bank, split="train"), made, cache)  # once, for all that follow
        part = partial(some, bank, made=made, cache=cache)
        with ProcessPoolExecutor(PROCESSES, mp_context=get_context("spawn")) as pool:
            parts = [pool.submit(part, range(i, count, PARTS)) for i in range(PARTS)]
            heard = [one for done in parts for one in done.result()]
        kept.write_bytes(pickle.dumps(heard))
    kept = cache / "trust.pickle"
    if not kept.is_file():
        kept.write_bytes(pickle.dumps(trust_takes(bank)))
    return heard, list(pickle.loads(kept.read_bytes()))


def save(second: OneLayer, third: OneLayer, velocity: np.ndarray, trust: np.ndarray) -> None:
    """Write the weights that ship."""
    layers = {f"{name}_{key}": value for name, look in (("second", second), ("third", third))
              for key, value in vars(look).items()}  # fmt: skip
    for path, arrays in (
        (piano_judge.WEIGHTS, layers),
        (piano_velocity.WEIGHTS, {"weights": velocity}),
        (piano_trust.WEIGHTS, {"weights": trust}),
    ):
        with beside(path) as temporary, temporary.open("wb") as file:
            np.savez(file, **arrays)


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
@click.option("--count", default=256, show_default=True, help="Recordings to make.")
@click.option("--made", default=18, show_default=True, help="Pianos made of partials.")
@click.option("--cache", type=click.Path(path_type=Path), help="Folder to keep material in.")
def main(bank: Path, count: int, made: int, cache: Path | None) -> None:
    """Make the material, fit, and write the weights."""
    with ExitStack() as stack:
        folder = cache or Path(stack.enter_context(TemporaryDirectory()))
        heard, takes = material(bank, count, made, folder)
    shown = [one for i, one in enumerate(heard) if i % ASIDE_EACH]
    second = fit_second(repeated(shown))
    third = fit_third(repeated(shown), second)
    aside, dev = ([row for one in some for row in attacks_of(one, second, third)]
                  for some in (heard[::ASIDE_EACH], takes))  # fmt: skip
    for name, rows in (("kept aside", aside), ("dev takes", dev)):
        click.echo(f"{name}: {len(rows)} attacks, {np.mean([row[1] for row in rows]):.3f} exact")
    save(second, third, fit_velocity(shown), fit_trust(aside + dev))


if __name__ == "__main__":
    main()
