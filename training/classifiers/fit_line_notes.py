"""Fits `line_notes`: ``python -m training.classifiers.fit_line_notes``.

Material: made takes of `fixtures.played`, as a perfect ear would give them and, every second seed,
as a poor one would (notes lost, octaves and fifths added, onsets and lengths shaken). In them
lines in the four ways of `line_players` over a left hand, alone, and as block chords, between
which some notes pass alone;
comping of one hand and of two, from lists and free, over a walking bass, as practised, with
faults; and takes that go from two hands to a line and back. Seeds begin at 610 000;
figures are quoted on others (`bench.sorting.lines`). Lone notes of the free takes, and those that
pass between block chords, count for nothing: nobody can say what they are.

Model: inputs standardised, one hidden layer of rectified units, cross-entropy with weight decay,
L-BFGS from one seed. The standardisation is folded into the weights. ``--without WAY`` leaves a
way out, for `bench.sorting.lines` to quote what ways that were not seen give.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import click
import numpy as np
from scipy.optimize import minimize

from fixtures.played.lines.line_players import WAYS
from fixtures.played.lines.line_takes import (
    add_line,
    as_heard,
    block_chorus,
    joined_takes,
    left_hand,
    line_alone,
    over_comping,
    over_walking_bass,
)
from fixtures.played.practised import make_practised
from fixtures.played.takes import FREE, LISTED, PRACTISED, REPEATED, make_take
from fixtures.played.truth import TrueTake
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.attacks.line_features import line_features
from stackline.listen.attacks.line_notes import WEIGHTS
from stackline.shared.files import beside
from stackline.shared.notes import Note

FIRST_SEED = 610_000
HIDDEN, DECAY, STEPS = 24, 1e-4, 400
LOST, ADDED, LATE_S, LENGTHS = 0.03, 0.02, 0.005, 0.3  # of a poor ear
ADDED_AT = (12, 19, -12, 7)


def takes(seed: int, without: str = "") -> Iterator[TrueTake]:
    """One of each kind."""
    two_hands = make_take(seed, LISTED, duration_s=20.0)
    for way in WAYS:
        if way != without:
            yield over_comping(seed, way)
            yield line_alone(seed, way, duration_s=20.0)
            yield block_chorus(seed, way, duration_s=15.0)
            yield block_chorus(seed + 1, way, duration_s=20.0, passing=0.2 + 0.3 * (seed % 3) / 2)
            yield joined_takes(two_hands, over_comping(seed + 1, way, duration_s=20.0))
    walking = over_walking_bass(seed)
    yield walking
    if without != "scales":
        yield add_line(walking, "scales", seed)
    yield left_hand(seed)
    yield make_practised(seed).take
    for style in (LISTED, FREE, PRACTISED, REPEATED):
        yield make_take(seed, style)


def examples(take: TrueTake, rng: np.random.Generator, *, poor: bool) -> "Examples":
    """The struck notes of a take that say something."""
    kinds = {(note.onset_s, note.midi): str(attack.kind) for attack in take.attacks
             for note in attack.notes}  # fmt: skip
    heard = [(note, kinds[note.onset_s, note.midi]) for note in as_heard(take)]
    if poor:
        heard = [one for pair in heard for one in _poorly(rng, *pair)]
    kind_of = dict(heard)
    attacks = find_attacks([note for note, _ in heard])
    kinds_struck = [kind_of[note] for attack in attacks for note in attack.struck]
    known = np.array([kind not in ("single", "added") for kind in kinds_struck])
    wanted = np.array([kind == "line" for kind in kinds_struck])
    return Examples(inputs=line_features(attacks)[known], wanted=wanted[known])


@dataclass(frozen=True, kw_only=True, eq=False)
class Examples:
    """inputs: (n, n_features); wanted: (n,), whether of a line."""

    inputs: np.ndarray
    wanted: np.ndarray


def _poorly(rng: np.random.Generator, note: Note, kind: str) -> Iterator[tuple[Note, str]]:
    """A note as a poor ear gives it: lost, shaken, with another beside it."""
    if rng.random() < LOST:
        return
    onset_s = max(0.0, note.onset_s + rng.normal(0, LATE_S))
    length_s = max(0.05, (note.offset_s - note.onset_s) * np.exp(rng.normal(0, LENGTHS)))
    heard = replace(note, onset_s=onset_s, offset_s=onset_s + length_s)
    yield heard, kind
    midi = note.midi + int(rng.choice(ADDED_AT))
    if rng.random() < ADDED and 21 <= midi <= 108:
        yield replace(heard, midi=midi), "added"


def fit(found: Examples) -> dict[str, np.ndarray]:
    """The weights, as `stackline.listen.one_layer` reads them."""
    middle, spread = found.inputs.mean(axis=0), found.inputs.std(axis=0) + 1e-2
    x = ((found.inputs - middle) / spread).astype(np.float32)
    y = found.wanted.astype(np.float32)
    rng, n_in = np.random.default_rng(1), x.shape[1]
    start = np.concatenate([rng.normal(0, n_in**-0.5, n_in * HIDDEN), np.zeros(HIDDEN),
                            rng.normal(0, HIDDEN**-0.5, HIDDEN), np.zeros(1)])  # fmt: skip
    best = minimize(_loss, start, (x, y), jac=True, method="L-BFGS-B",
                    options={"maxiter": STEPS}).x  # fmt: skip
    hidden, bias, out, out_bias = _parts(best, n_in)
    return {
        "hidden": (hidden / spread[:, None]).astype(np.float32),
        "hidden_bias": (bias - (middle / spread) @ hidden).astype(np.float32),
        "out": out.astype(np.float32), "out_bias": np.float32(out_bias[0]),
    }  # fmt: skip


def _parts(values: np.ndarray, n_in: int) -> tuple[np.ndarray, ...]:
    ends = np.cumsum([n_in * HIDDEN, HIDDEN, HIDDEN])
    hidden, bias, out, out_bias = np.split(values, ends)
    return hidden.reshape(n_in, HIDDEN), bias, out, out_bias


def _loss(values: np.ndarray, x: np.ndarray, y: np.ndarray) -> tuple[float, np.ndarray]:
    """Mean cross-entropy with decay, and its slopes."""
    hidden, bias, out, out_bias = (one.astype(np.float32) for one in _parts(values, x.shape[1]))
    inner = np.maximum(x @ hidden + bias, 0.0)
    odds = inner @ out + out_bias[0]
    loss = float(np.mean(np.logaddexp(0.0, odds) - y * odds, dtype=float))
    back = (1.0 / (1.0 + np.exp(-odds)) - y) / len(y)
    behind = np.outer(back, out) * (inner > 0)
    slopes = (x.T @ behind + DECAY * hidden, behind.sum(axis=0), inner.T @ back + DECAY * out,
              back.sum(keepdims=True))  # fmt: skip
    loss += 0.5 * DECAY * float(np.sum(hidden**2) + np.sum(out**2))
    return loss, np.concatenate([slope.ravel() for slope in slopes]).astype(float)


@click.command()
@click.option("--seeds", type=click.IntRange(1), default=40, show_default=True)
@click.option("--without", type=click.Choice(list(WAYS)), help="A way to leave out.")
@click.option("--out", type=click.Path(path_type=Path), default=WEIGHTS, show_default=True)
def main(seeds: int, without: str | None, out: Path) -> None:
    """Fit the weights and write them."""
    found: list[Examples] = []
    for seed in range(FIRST_SEED, FIRST_SEED + seeds):
        rng = np.random.default_rng([seed, 5])
        found += [examples(take, rng, poor=bool(seed % 2)) for take in takes(seed, without or "")]
    every = Examples(
        inputs=np.concatenate([one.inputs for one in found]),
        wanted=np.concatenate([one.wanted for one in found]),
    )
    click.echo(f"{len(every.wanted)} notes, {every.wanted.mean():.3f} of lines")
    weights = fit(every)
    with beside(out) as path, path.open("wb") as file:
        np.savez(file, **weights)  # type: ignore[arg-type]
    click.echo(f"wrote {out}")


if __name__ == "__main__":
    main()
