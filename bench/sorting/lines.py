"""How often a voicing is left whole by a line over it: ``python -m bench.sorting.lines``.

Made takes with known comping of a left hand, and lines over it in the four ways of
`fixtures.played.lines`; block choruses; lines alone; comping without any line. True notes
go in. Seeds from 710 000 took no part in the fitting (`training.classifiers.fit_line_notes`, from
610 000). ``--weights FILE --way WAY`` quotes a way with weights that were fitted without it.
``--tunes`` plays fiddle tunes of Ryan's Mammoth Collection (1883, public domain; from music21's
corpus) as the line: lines that nobody here made.

Counted are attacks of the comping with a chord that is meant. A voicing is exact if its notes are
those struck and its degree stack is that of the truth; "without the line" is the same comping read
without the line over it. "Untouched": line detection switched off, as before it existed.
"Rule": a lone top note with lone neighbours within 0.7 s and a fifth is a line's; so is the top of
a chord with such neighbours on both sides. Results: bench/results/lines.json.
"""

import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import click
import numpy as np

from bench.scoring.provenance import provenance
from fixtures.played.lines.line_players import WAYS, Ground, LineNote
from fixtures.played.lines.line_takes import add_line, as_heard, block_chorus, left_hand, line_alone
from fixtures.played.practised import make_practised
from fixtures.played.takes import FREE, LISTED, PRACTISED, REPEATED, make_take
from fixtures.played.truth import TrueAttack, TrueTake
from stackline.listen.attacks.attacks import find_attacks
from stackline.listen.attacks.line_notes import classifier, line_chances
from stackline.listen.one_layer import OneLayer, load
from stackline.shared.files import write_text
from stackline.shared.harmony import Voicing
from stackline.shared.notes import BeatGrid, Note
from stackline.theory.chords.symbols import make_symbol
from stackline.theory.reading import read
from stackline.theory.stacks.chord_degrees import degrees_over

FIRST_SEED = 710_000
RESULTS = Path(__file__).parent.parent / "results"
FLAT = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
SAME_S = 0.1
Marker = Callable[[Sequence[Note]], tuple[Note, ...]]


@dataclass(kw_only=True)
class Counts:
    """takes and minutes of them; meant: attacks of the comping with a chord; notes_exact and
    stack_exact of these; told: voicings read. before and kept: exact stacks of the same comping
    without the line, and how many of these are exact with it. wrong: notes given to the wrong one
    of two; notes: all.
    """

    takes: int = 0
    minutes: float = 0.0
    meant: int = 0
    notes_exact: int = 0
    stack_exact: int = 0
    told: int = 0
    before: int = 0
    kept: int = 0
    wrong: int = 0
    notes: int = 0

    def __str__(self) -> str:
        kept = f"kept {self.kept}/{self.before} {self.kept / max(self.before, 1):.3f}"
        return (
            f"{kept}  notes exact {self.notes_exact}/{self.meant} "
            f"{self.notes_exact / max(self.meant, 1):.3f}  told {self.told}  "
            f"wrong notes {self.wrong / max(self.notes, 1):.3f} of {self.notes}"
        )


def by_network(network: OneLayer) -> Marker:
    """Lines marked by a network."""

    def mark(notes: Sequence[Note]) -> tuple[Note, ...]:
        attacks = find_attacks(notes)
        struck = [note for attack in attacks for note in attack.struck]
        chances = line_chances(attacks, network)
        return tuple(replace(one, line=float(p)) for one, p in zip(struck, chances, strict=True))

    return mark


def by_rule(notes: Sequence[Note]) -> tuple[Note, ...]:
    """A top note with lone neighbours near in time and pitch is of a line."""
    attacks = find_attacks(notes)
    found: list[Note] = []
    for i, attack in enumerate(attacks):
        top = attack.struck[-1]
        near = [
            0 <= j < len(attacks)
            and len(attacks[j].struck) == 1
            and abs(attacks[j].onset_s - attack.onset_s) <= 0.7
            and abs(attacks[j].struck[0].midi - top.midi) <= 7
            for j in (i - 1, i + 1)
        ]
        is_line = all(near) or (len(attack.struck) == 1 and any(near))
        found += [replace(n, line=float(n is top and is_line)) for n in attack.struck]
    return tuple(found)


def untouched(notes: Sequence[Note]) -> tuple[Note, ...]:
    """No line is looked for."""
    return tuple(notes)


def voicings_of(notes: Sequence[Note], mark: Marker, end_s: float) -> tuple[Voicing, ...]:
    """The reading of a take's notes."""
    return read(find_attacks(mark(notes)), BeatGrid(), end_s=end_s).voicings


def stack_exact(attack: TrueAttack, voicing: Voicing | None) -> tuple[bool, bool]:
    """Whether a voicing's struck notes, and its degrees over the chord that is meant, are right."""
    if voicing is None or attack.chord is None:
        return False, False
    pitches = tuple(tone.midi for tone in voicing.tones if not tone.held)
    if pitches != attack.pitches:
        return False, False
    meant = make_symbol(FLAT[attack.chord.root_pc], attack.chord.quality)
    return True, voicing.stack == degrees_over(meant, voicing.pitches)


def _at(attack: TrueAttack, voicings: Sequence[Voicing], times: np.ndarray) -> Voicing | None:
    """The voicing read at an attack: the nearest within 0.1 s."""
    if not len(times):
        return None
    best = int(np.argmin(np.abs(times - attack.onset_s)))
    return voicings[best] if abs(times[best] - attack.onset_s) <= SAME_S else None


def exact_ones(
    take: TrueTake, voicings: Sequence[Voicing]
) -> tuple[dict[TrueAttack, bool], dict[TrueAttack, bool]]:
    """Of each attack with a chord that is meant: notes exact, stack exact."""
    times = np.array([voicing.attack.onset_s for voicing in voicings])
    meant = [one for one in take.attacks if one.chord is not None and one.kind == "listed"]
    pairs = {one: stack_exact(one, _at(one, voicings, times)) for one in meant}
    return {one: pair[0] for one, pair in pairs.items()}, {one: p[1] for one, p in pairs.items()}


def count(
    counts: Counts,
    bare: TrueTake,
    lined: TrueTake,
    mark: Marker,
    heard: Callable[[TrueTake], tuple[Note, ...]] = as_heard,
) -> None:
    """One take with and without its line."""
    without = exact_ones(bare, voicings_of(heard(bare), untouched, bare.duration_s))[1]
    voicings = voicings_of(heard(lined), mark, lined.duration_s)
    notes, stacks = exact_ones(lined, voicings)
    keys = {one.onset_s: hit for one, hit in stacks.items()}
    before = [one for one, hit in without.items() if hit]
    counts.takes += 1
    counts.minutes += lined.duration_s / 60.0
    counts.meant += len(notes)
    counts.notes_exact += sum(notes.values())
    counts.stack_exact += sum(stacks.values())
    counts.told += len(voicings)
    counts.before += len(before)
    counts.kept += sum(keys.get(one.onset_s, False) for one in before)
    if heard is as_heard:
        _count_notes(counts, lined, mark)


def _count_notes(counts: Counts, take: TrueTake, mark: Marker) -> None:
    line = {(n.onset_s, n.midi) for a in take.attacks if a.kind == "line" for n in a.notes}
    marked = mark(as_heard(take))
    counts.notes += len(marked)
    counts.wrong += sum(n.is_of_line != ((n.onset_s, n.midi) in line) for n in marked)


def whole_blocks(take: TrueTake, mark: Marker) -> tuple[int, int]:
    """Attacks of a block chorus, and those of which no note is called a line's."""
    attacks = find_attacks(mark(as_heard(take)))
    return len(attacks), sum(not attack.line for attack in attacks)


def fiddle_tunes(tunes: int) -> Callable[[np.random.Generator, Ground, int], list[LineNote]]:
    """A way of playing whose lines are fiddle tunes, an eighth for a written sixteenth."""
    from music21 import corpus

    paths = sorted(str(p) for p in corpus.getPaths() if "ryansMammoth" in str(p))[::23][:tunes]
    melodies = [
        [(float(n.offset) * 2, float(n.quarterLength) * 2, int(n.pitch.midi))
         for n in corpus.parse(path).parts[0].flatten().notes
         if n.isNote and n.quarterLength > 0]
        for path in paths
    ]  # fmt: skip

    def play(rng: np.random.Generator, ground: Ground, beats: int) -> list[LineNote]:
        melody = melodies[rng.integers(len(melodies))]
        up = ground.low - min(midi for _, _, midi in melody)
        return [LineNote(beat=at + 1, length=length, midi=min(midi + up, 100))
                for at, length, midi in melody if at + 1 < beats - 1]  # fmt: skip

    return play


def rows(
    mark: Marker, takes: int, tunes: bool, only: str | None
) -> Iterator[tuple[str, dict[str, float | int]]]:
    """Every figure from true notes."""
    ways = dict(WAYS) | ({"fiddle tunes": fiddle_tunes(24)} if tunes else {})
    ways = {only: ways[only]} if only else ways
    seeds = range(FIRST_SEED, FIRST_SEED + takes)
    for name, way in ways.items():
        counts, alone, blocks = Counts(), Counts(), [0, 0]
        for seed in seeds:
            bare = left_hand(seed)
            count(counts, bare, add_line(bare, way, seed), mark)
            single = line_alone(seed, way)
            count(alone, single, single, mark)
            blocks = [a + b for a, b in zip(blocks, whole_blocks(block_chorus(seed, way), mark),
                                            strict=True)]  # fmt: skip
        yield f"{name} over comping", asdict(counts)
        click.echo(f"{name:<14} over comping  {counts}")
        yield f"{name} alone", asdict(alone)
        click.echo(f"{name:<14} alone         {alone.told / alone.minutes:.2f} voicings a minute")
        yield f"{name} in blocks", {"attacks": blocks[0], "whole": blocks[1]}
        click.echo(f"{name:<14} in blocks     whole {blocks[1]}/{blocks[0]}")
    if only is None:
        yield from no_line(mark, seeds)


def no_line(mark: Marker, seeds: Sequence[int]) -> Iterator[tuple[str, dict[str, float | int]]]:
    """Comping without a line: what line detection takes from it."""
    kinds: dict[str, Callable[[int], TrueTake]] = {
        "one hand": left_hand,
        "two hands": lambda seed: make_take(seed, LISTED),
        "repeated": lambda seed: make_take(seed, REPEATED),
        "as practised": lambda seed: make_take(seed, PRACTISED),
        "practice with faults": lambda seed: make_practised(seed).take,
        "from no list": lambda seed: make_take(seed, FREE),
    }
    for name, make in kinds.items():
        lost = told = 0
        for seed in seeds:
            take = make(seed)
            notes = as_heard(take)
            plain = [v.pitches for v in voicings_of(notes, untouched, take.duration_s)]
            marked = [v.pitches for v in voicings_of(notes, mark, take.duration_s)]
            left = list(marked)
            for one in plain:
                if one in left:
                    left.remove(one)
                else:
                    lost += 1
            told += len(plain)
        yield f"no line, {name}", {"voicings": told, "changed or lost": lost}
        click.echo(f"no line, {name:<22} voicings {told}  changed or lost {lost}")


@click.command()
@click.option("--takes", default=30, show_default=True, type=click.IntRange(1))
@click.option("--by", type=click.Choice(["network", "rule", "untouched"]), default="network")
@click.option("--weights", type=click.Path(path_type=Path), help="Other weights.")
@click.option("--way", type=click.Choice(list(WAYS)), help="One way alone.")
@click.option("--tunes/--no-tunes", default=False, help="Fiddle tunes too (needs music21).")
@click.option("--out", type=click.Path(path_type=Path), help="Write the figures as JSON.")
def main(takes: int, by: str, weights: Path | None, way: str | None, tunes: bool,
         out: Path | None) -> None:  # fmt: skip
    """Line and comping apart, from true notes."""
    network = load(weights) if weights else classifier()
    mark = {"network": by_network(network), "rule": by_rule, "untouched": untouched}[by]
    found = dict(rows(mark, takes, tunes, way))
    if out is not None:
        made = provenance() | {"takes": takes, "first_seed": FIRST_SEED, "by": by}
        write_text(out, json.dumps({"made": made, "figures": found}, indent=1) + "\n")


if __name__ == "__main__":
    main()
