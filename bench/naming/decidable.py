"""How many names could be right at best: what the notes and the neighbours' roots leave open.

Run ``python -m bench.naming.decidable``. One who knows the whole list of stacks that
`fixtures.forms.dressing` may take, the true roots of the chord before and the chord after (more
than anybody has who hears the notes alone), and how often each move of roots leads to each
family in all other forms or tunes of the set, takes the likeliest chord that could have
been dressed so. What is still wrong cannot be decided: the same notes stand for two chords, and the
rarer was meant. Quoted sets of `bench.naming.dressed_names`; results: bench/results/decidable.json.

    notes      by the notes and how common a chord's family is
    roots      and the roots of both neighbours
    one chord  share of voicings that could have been dressed from one root and family alone
    at most    an upper bound for whatever goes by the notes and the neighbours' roots: for each
               pair of these, moved to one root, the chord that this very set has most often
"""

import json
import math
import random
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path

import click

from bench.naming.dressed_names import KEYS, QUOTED_SEED, RESULTS, Take, form_takes, tune_takes
from bench.scoring.provenance import provenance
from fixtures.forms.dressing import CLASSES, WAYS, Dressed
from fixtures.forms.real_practice import QUOTED
from stackline.shared.files import write_text
from stackline.theory.chords.qualities import quality

DRAWS = 2000  # of 24 free voicings each, for every class of chord
SEED = 63_000
UNSEEN = 0.5  # a move that no other tune holds, in chords
Figure = tuple[frozenset[int] | tuple[int, ...], int]  # stack or set, and its lowest interval
Seen = tuple[str, str, int]  # a family; "from" or "to" a neighbour; semitones up to the later root


@dataclass(frozen=True, kw_only=True)
class Decided:
    """Shares of n voicings, 0..1; see the module's text."""

    n: int
    one_chord: float
    notes: float
    roots: float
    at_most: float


def figure(pitches: Sequence[int], root_pc: int, way: str) -> Figure:
    """What can be seen of a voicing over a root: its gaps, of a free one which notes."""
    low = pitches[0]
    if way.startswith("free"):
        return frozenset((pitch - root_pc) % 12 for pitch in pitches), (low - root_pc) % 12
    return tuple(pitch - low for pitch in pitches), (low - root_pc) % 12


@cache
def dressings(way: str) -> Mapping[str, Mapping[Figure, float]]:
    """For each class of chord, how often each figure is an option of the way."""
    rng = random.Random(SEED)
    found = {}
    for kind in sorted(set(CLASSES.values())):
        counts: Counter[Figure] = Counter()
        for _ in range(DRAWS if way.startswith("free") else 1):
            for stack in WAYS[way](0, kind, rng):
                counts[figure(tuple(sorted(set(stack))), 0, way)] += 1
        total = sum(counts.values())
        found[kind] = {one: count / total for one, count in counts.items()}
    return found


@cache
def family_of(kind: str) -> str:
    """The family of a class of chord."""
    return quality(next(key for key, value in CLASSES.items() if value == kind)).family


def candidates(one: Dressed, way: str) -> dict[tuple[int, str], float]:
    """Every root and family that could have been dressed so, with how often it would be."""
    found: dict[tuple[int, str], float] = {}
    for kind, options in dressings(way).items():
        for root in range(12):
            share = options.get(figure(one.pitches, root, way), 0.0)
            if share:
                chord = root, family_of(kind)
                found[chord] = max(found.get(chord, 0.0), share)
    return found


def counted(takes: Sequence[Take]) -> Counter[Seen]:
    """How often each family comes, each with the steps of roots that lead to it and from it."""
    found: Counter[Seen] = Counter()
    for take in takes:
        for i, one in enumerate(take):
            found.update(
                [
                    (one.family, "", 0),
                    *((one.family, *step) for step in steps(take, i, one.root_pc)),
                ]
            )
    return found


def steps(take: Take, i: int, root_pc: int) -> list[tuple[str, int]]:
    """The steps of roots that a chord on some root would have in the place of chord i."""
    found = []
    if i:
        found.append(("from", (root_pc - take[i - 1].root_pc) % 12))
    if i + 1 < len(take):
        found.append(("to", (take[i + 1].root_pc - root_pc) % 12))
    return found


def likeliest(
    take: Take, i: int, options: Mapping[tuple[int, str], float], seen: Counter[Seen], roots: bool
) -> tuple[int, str]:
    """The option that the counts favour, by families alone or by the neighbours' roots too."""

    def weight(option: tuple[int, str]) -> float:
        root, family = option
        total = seen[family, "", 0] + 12 * UNSEEN
        found = math.log(options[option]) + math.log(total)
        for step in steps(take, i, root) if roots else ():
            found += math.log((seen[(family, *step)] + UNSEEN) / total)
        return found

    return max(sorted(options), key=weight)


def decided(groups: Sequence[Sequence[Take]], way: str) -> Decided:
    """What can be decided. groups: the takes of each form or tune, left out of their own counts."""
    every = counted([take for group in groups for take in group])
    alone = by_notes = by_roots = n = 0
    for group in groups:
        seen = every - counted(group)
        for take in group:
            for i, one in enumerate(take):
                options, truth = candidates(one, way), (one.root_pc, one.family)
                alone += len(options) == 1
                by_notes += likeliest(take, i, options, seen, roots=False) == truth
                by_roots += likeliest(take, i, options, seen, roots=True) == truth
                n += 1
    most = at_most([take for group in groups for take in group], way) / n
    return Decided(n=n, one_chord=alone / n, notes=by_notes / n, roots=by_roots / n, at_most=most)


def at_most(takes: Sequence[Take], way: str) -> int:
    """How many voicings the best rule by notes and neighbours' roots could name, at most."""
    meant: dict[object, Counter[tuple[int, str]]] = {}
    for take in takes:
        for i, one in enumerate(take):
            low = one.pitches[0] % 12
            seen = figure(one.pitches, low, way), tuple(steps(take, i, low))
            truth = (one.root_pc - low) % 12, one.family
            meant.setdefault(seen, Counter())[truth] += 1
    return sum(max(counts.values()) for counts in meant.values())


def run(seed: int = QUOTED_SEED) -> dict[str, Decided]:
    """Every figure, by source and way."""
    found = {}
    for way in WAYS:
        if way == "free":  # without guide tones nearly every chord could have been meant
            continue
        forms = form_takes(QUOTED, way, seed)
        found[f"forms, {way}"] = decided(
            [forms[i : i + KEYS] for i in range(0, len(forms), KEYS)], way
        )
        found[f"real changes, {way}"] = decided(
            [[take] for take in tune_takes(False, way, seed)], way
        )
    return found


@click.command()
@click.option("--out", type=click.Path(path_type=Path), default=RESULTS / "decidable.json")
def main(out: Path) -> None:
    """What could be decided at best on the quoted sets."""
    found = run()
    for name, one in found.items():
        click.echo(
            f"{name:<35}" + "".join(f"  {key} {value:.3f}" for key, value in asdict(one).items())
        )
    rows = {name: asdict(one) for name, one in found.items()}
    write_text(out, json.dumps({"made": provenance(), "figures": rows}, indent=1) + "\n")


if __name__ == "__main__":
    main()
