"""Whether suggested ways are right, in reach and smooth: ``python -m bench.practising.ways``.

200 progressions of 4 to 8 chords out of real tunes' changes (fixtures/changes, Weimar Jazz
Database, ODbL), each in twelve keys. Every suggestion is looked at with definitions of its own
pen: degrees and what sounds agree, hands by trying each cut, low limits by the published table;
none twice. Each path is held against 2,000 random choices of the
same voicings. Times are of 32 bars that were not asked for before.

Results go to bench/results/ways.json.
"""

import itertools
import json
import random
import time
from pathlib import Path

import click

from bench.scoring.provenance import provenance
from stackline.practice.suggested.suggestions import suggestions
from stackline.practice.targets.target_text import parse_target
from stackline.shared.files import write_text
from stackline.theory.chords.degrees import pitch_class
from stackline.theory.stacks.low_limits import LIMITS
from stackline.theory.ways import choices
from stackline.theory.ways.reach import Reach
from stackline.theory.ways.through import Through, Wanted, ways_through

RESULTS = Path(__file__).parents[1] / "results" / "ways.json"
TUNES = Path(__file__).parents[2] / "fixtures" / "changes" / "real_changes.json"
SEED, PROGRESSIONS, RANDOM, BARS = 91_000, 200, 2_000, 32


def progressions(count: int, seed: int) -> list[str]:
    """Changes as text, one chord a bar, from real tunes."""
    rng = random.Random(seed)
    tunes = [text.split() for text in json.loads(TUNES.read_text())["tunes"].values()]
    found: list[str] = []
    while len(found) < count:
        tune, size = rng.choice(tunes), rng.randint(4, 8)
        symbols = [word.rpartition(":")[0] for word in tune if not word.startswith("N.C.")]
        if len(symbols) >= size:
            start = rng.randrange(len(symbols) - size + 1)
            found.append(" | ".join(symbols[start : start + size]))
    return found


def faults(way: Through, wanted: list[Wanted], reach: Reach) -> list[str]:
    """What is wrong with one way, in words."""
    found = []
    for one, choice in zip(wanted, way.chosen, strict=True):
        pitches = choice.pitches
        degrees = {pitch_class(degree) for degree in choice.build.degrees}
        if {(pitch - one.root_pc) % 12 for pitch in pitches} != degrees:
            found.append("the degrees are not what sounds")
        if not _in_hands(pitches, reach.widest):
            found.append(f"out of reach: {pitches}")
        if any(low < LIMITS.get(high - low, 0) for low, high in itertools.pairwise(pitches)):
            found.append(f"lies low: {pitches}")
    return found


def _in_hands(pitches: tuple[int, ...], widest: int) -> bool:
    return any(
        all(len(hand) <= 5 and (not hand or hand[-1] - hand[0] <= widest)
            for hand in (pitches[:cut], pitches[cut:]))
        for cut in range(len(pitches) + 1)
    )  # fmt: skip


def travelled(rows: tuple[tuple[int, ...], ...]) -> float:
    """Semitones that a voice moves on the mean, counted note by note."""
    steps = []
    for a, b in itertools.pairwise(rows):
        there = sum(min(abs(x - y) for y in b) for x in a)
        back = sum(min(abs(x - y) for x in a) for y in b)
        steps.append((there + back) / (len(a) + len(b)))
    return sum(steps) / len(steps)


def best_random(way: Through, wanted: list[Wanted], reach: Reach, rng: random.Random) -> float:
    """The least motion among random choices of the same family from the same start."""
    rows = [choices.family_row(way.family, one.root_pc, one.quality, reach) for one in wanted]
    pools = [[choice.pitches for choice in row.chosen] for row in rows]
    pools[0] = [way.chosen[0].pitches]
    return min(travelled(tuple(rng.choice(pool) for pool in pools)) for _ in range(RANDOM))


def measure(count: int) -> dict[str, object]:
    """Everything, over `count` progressions in twelve keys."""
    rng, reach = random.Random(SEED + 1), Reach()
    total = wrong = twice = worse = without = paths = 0
    said: list[str] = []
    for text in progressions(count, SEED):
        target = parse_target(text)
        for key in range(12):
            wanted = [
                Wanted(root_pc=one.root_pc(key), quality=one.quality) for one in target.chords
            ]
            ways = ways_through(wanted, reach)
            without += not ways
            total += len(ways)
            twice += len(ways) - len({tuple(one.pitches for one in way.chosen) for way in ways})
            for way in ways:
                here = faults(way, wanted, reach)
                wrong += bool(here)
                said += here[:1]
            if key == 0:
                for way in ways[:6]:
                    paths += 1
                    worse += way.moved > best_random(way, wanted, reach, rng) + 1e-4
    return {"progressions": count, "keys": 12, "ways": total, "wrong": wrong, "twice": twice,
            "without_any": without, "paths_held_against_2000_random": paths,
            "random_was_nearer": worse, "examples": said[:5]}  # fmt: skip


def seconds_for_a_form() -> float:
    """Seconds of the processor for 32 bars of a real tune at the first time of asking."""
    tunes = [text.split() for text in json.loads(TUNES.read_text())["tunes"].values()]
    tune = next(one for one in tunes if len(one) >= BARS)
    text = " | ".join(w.rpartition(":")[0] for w in tune if not w.startswith("N.C."))
    target = parse_target(" | ".join(text.split(" | ")[:BARS]))
    started = time.process_time()
    suggestions(target, 0, Reach())
    return time.process_time() - started


@click.command()
@click.option("--progressions", "count", default=PROGRESSIONS)
def main(count: int) -> None:
    """Measure and write the results."""
    first = seconds_for_a_form()
    found = provenance() | {"processor_s_for_32_bars": round(first, 3)} | measure(count)
    write_text(RESULTS, json.dumps(found, indent=1) + "\n")
    click.echo(json.dumps(found, indent=1))


if __name__ == "__main__":
    main()
