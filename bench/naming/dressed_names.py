"""Names on changes as they are practised, and on real changes.

Run ``python -m bench.naming.dressed_names``. Forms of `fixtures.forms.real_practice` and the real
changes of fixtures/changes, each dressed in the ways of `fixtures.forms.dressing`; truth notes, no
bass beside the voicings. Right means root and family of the truth. "Sure" is said with 0.9 and
more. Error of calibration: the mean distance between what is said and what is right, over ten bins
of what is said, weighed by their size.

``--choosing`` shows the sets that choices are made on (CHOOSING, odd tunes); what is written to
bench/results/names.json stands on QUOTED and on even tunes. Controls: the voicings one by one,
without what stands before and after, and in shuffled order.
"""

import json
import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path

import click
import numpy as np

from bench.naming.labels import steps_of
from bench.scoring.provenance import provenance
from fixtures.forms.dressing import MIXED, WAYS, Dressed, chords_of, dressed
from fixtures.forms.real_practice import CHOOSING, QUOTED
from stackline.shared.files import write_text
from stackline.theory.chords.qualities import FAMILIES
from stackline.theory.labelling.labeller import label
from stackline.theory.labelling.step_scores import scored

RESULTS = Path(__file__).parent.parent / "results"
CHANGES = Path(__file__).parent.parent.parent / "fixtures" / "changes" / "real_changes.json"
CHOOSING_SEED, QUOTED_SEED = 61_000, 62_000
KEYS = 3  # in how many keys each form is dressed
SURE = 0.9
BINS = 10
ALONE, SHUFFLED = "chords alone", "shuffled"
TOGETHER = "all ways but free"  # free voicings without guide tones leave nearly any name open

Take = list[Dressed]
Row = tuple[bool, float, bool]  # right, what was said, whether the root is lowest


@dataclass(frozen=True, kw_only=True)
class Figures:
    """Shares of n chords, 0..1. sure: said with SURE or more; the rest as defined above."""

    n: int
    right: float
    sure: float
    right_where_sure: float
    calibration_error: float

    def __str__(self) -> str:
        return (
            f"n {self.n:5d}  right {self.right:.3f}  sure {self.sure:.3f}  "
            f"right where sure {self.right_where_sure:.3f}  "
            f"calibration error {self.calibration_error:.3f}"
        )


def rows_of(takes: Sequence[Take]) -> list[Row]:
    """Every chord of every take: whether it is named right, and how surely it is said."""
    rows = []
    for played in takes:
        for one, chances in zip(played, label(scored(steps_of(played))).chords, strict=True):
            state = one.root_pc * len(FAMILIES) + FAMILIES.index(one.family)
            rows.append((int(chances.argmax()) == state, float(chances.max()), one.rooted))
    return rows


def figures(rows: Sequence[Row]) -> Figures:
    """Count rows."""
    right = np.array([row[0] for row in rows])
    said = np.array([row[1] for row in rows])
    sure = said >= SURE
    return Figures(
        n=len(rows),
        right=float(right.mean()),
        sure=float(sure.mean()),
        right_where_sure=float(right[sure].mean()) if sure.any() else float("nan"),
        calibration_error=calibration_error(right, said),
    )


def calibration_error(right: np.ndarray, said: np.ndarray) -> float:
    """Expected calibration error over BINS equal bins (Naeini, Cooper and Hauskrecht, 2015)."""
    places = np.minimum((said * BINS).astype(int), BINS - 1)
    return float(
        sum(
            abs(right[places == b].mean() - said[places == b].mean()) * np.mean(places == b)
            for b in range(BINS)
            if (places == b).any()
        )
    )


@cache
def real_changes() -> Mapping[int, str]:
    """Tune number -> its chords in a row; places without a chord are passed over."""
    data = json.loads(CHANGES.read_text(encoding="utf-8"))["tunes"]
    rows = {}
    for number, text in data.items():
        symbols = [word.rsplit(":", 1)[0] for word in text.split()]
        rows[int(number)] = " ".join(one for one in symbols if one != "N.C.")
    return rows


def form_takes(forms: Mapping[str, str], way: str, seed: int) -> list[Take]:
    """Each form dressed in one way in a few drawn keys."""
    rng = random.Random(seed)
    return [
        dressed(chords_of(text, up=up), way, rng)
        for text in forms.values()
        for up in rng.sample(range(12), KEYS)
    ]


def tune_takes(odd: bool, way: str, seed: int) -> list[Take]:
    """The real changes with odd or even numbers, dressed in one way."""
    rng = random.Random(seed)
    return [
        dressed(chords_of(text), way, rng)
        for number, text in real_changes().items()
        if number % 2 == odd
    ]


def alone(takes: Sequence[Take]) -> list[Take]:
    """Every voicing as a take of its own."""
    return [[one] for take in takes for one in take]


def shuffled(takes: Sequence[Take], seed: int) -> list[Take]:
    """All voicings in one drawn order, cut into takes of the same lengths."""
    every = [one for take in takes for one in take]
    random.Random(seed).shuffle(every)
    ends = np.cumsum([len(take) for take in takes])
    return [every[end - len(take) : end] for end, take in zip(ends, takes, strict=True)]


def sets(choosing: bool, seed: int) -> Iterator[tuple[str, str, list[Take]]]:
    """Source, way and takes of everything that is asked."""
    for way in (*WAYS, MIXED):
        yield "forms", way, form_takes(CHOOSING if choosing else QUOTED, way, seed)
        yield "real changes", way, tune_takes(choosing, way, seed)


def run(choosing: bool, seed: int) -> dict[str, Figures]:
    """Every figure, by source and way."""
    found = {}
    every: dict[str, list[Row]] = {}
    for source, way, takes in sets(choosing, seed):
        rows = rows_of(takes)
        found[f"{source}, {way}"] = figures(rows)
        if way != "free":
            every.setdefault(f"{source}, {TOGETHER}", []).extend(rows)
        if way == MIXED:
            found[f"{source}, {way}, the rooted"] = figures([row for row in rows if row[2]])
        if way == "rootless":
            found[f"{source}, {way}, {ALONE}"] = figures(rows_of(alone(takes)))
            found[f"{source}, {way}, {SHUFFLED}"] = figures(rows_of(shuffled(takes, seed)))
    return found | {name: figures(rows) for name, rows in every.items()}


@click.command()
@click.option("--choosing", is_flag=True, help="The sets to choose by; nothing is written.")
@click.option("--out", type=click.Path(path_type=Path), default=RESULTS / "names.json")
def main(choosing: bool, out: Path) -> None:
    """Name dressed changes from their true notes."""
    seed = CHOOSING_SEED if choosing else QUOTED_SEED
    found = run(choosing, seed)
    for name, one in found.items():
        click.echo(f"{name:<45} {one}")
    if not choosing:
        facts = provenance() | {"seed": seed, "keys": KEYS}
        rows = {name: asdict(one) for name, one in found.items()}
        write_text(out, json.dumps({"made": facts, "figures": rows}, indent=1) + "\n")


if __name__ == "__main__":
    main()
