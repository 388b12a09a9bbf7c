"""Whether a form is laid right under anticipated comping: ``python -m bench.harmony.laid``.

Real changes (fixtures/changes: odd tunes choose, even ones are quoted) and practised forms of
`fixtures.forms.real_practice`, 32 bars at the most, two choruses, dressed by
`fixtures.forms.dressing`. A third of the chords are struck half a beat early (swung at times),
some late or not at all, long ones again; "in patterns" each bar is struck as in
`fixtures.played.takes`, which another pen wrote. Times are human. The grid is the player's own
pulse with the right first beat; as controls it is a heard one whose bars are counted from the wrong
beat, one at half the tempo, and the take begins inside the form.

A chord is right if its symbol is and it begins on the beat on which it begins on the sheet (where a
chord is held over a bar line, either bar's beat). A take is laid right if 95 of 100 attacks have
the right chord. Beside it: attacks whose symbol alone is right, those that come later than three
quarters of a beat after their chord, and plain dominants on which a tritone substitute is claimed.

Results go to bench/results/laid.json.
"""

import json
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import click

from bench.scoring.provenance import provenance
from fixtures.forms.dressing import chords_of, dressed
from fixtures.forms.real_practice import CHOOSING, QUOTED
from fixtures.played.takes import RHYTHMS
from stackline.shared.files import write_text
from stackline.shared.harmony import ChordSymbol
from stackline.shared.notes import Attack, Beat, BeatGrid, Note
from stackline.theory.given.given import given_spans
from stackline.theory.labelling.heard import heard_spans
from stackline.theory.labelling.step_scores import scored
from stackline.theory.sheet.changes import Changes, PlacedChord, place_chords
from stackline.theory.sheet.changes_text import parse_changes
from stackline.theory.sounding import soundings

RESULTS = Path(__file__).parents[1] / "results"
REAL = Path(__file__).parents[2] / "fixtures" / "changes" / "real_changes.json"
CHOOSING_SEED, QUOTED_SEED = 71_000, 72_000
BARS, LEAST_BARS, CHORUSES, PER_BAR = 32, 28, 2, 4
EARLY, LATE, LEFT_OUT, AGAIN = 1 / 3, 0.08, 0.05, 0.4
TIMING_S = 0.015
RIGHT_ATTACKS, NEAR_BEATS, LATE_BEATS = 0.95, 0.25, 0.75
COMPED = (
    "rootless",
    "rooted",
    "shells",
    "fourths",
    "upper structures",
    "spread",
    "free with 3 and 7",
)
GRIDS = ("told", "two beats off", "half tempo", "begun inside")
PATTERNS = "told, in patterns"  # bars struck as in `fixtures.played.takes`


@dataclass(frozen=True, kw_only=True)
class Comped:
    """One take: attacks, the beat of the form that each was played for, its pulse, its changes."""

    attacks: tuple[Attack, ...]
    beats: tuple[float, ...]
    grid: BeatGrid
    changes: Changes
    zero_s: float
    beat_s: float


def real_forms(remainder: int) -> Iterator[list[tuple[str, int]]]:
    """Symbols and beats of the real tunes with odd (1) or even (0) numbers, 32 bars at most."""
    tunes = json.loads(REAL.read_text(encoding="utf-8"))["tunes"]
    for number, text in tunes.items():
        if int(number) % 2 == remainder:
            chords = [
                (word.rpartition(":")[0], int(word.rpartition(":")[2])) for word in text.split()
            ]
            if sum(beats for _, beats in chords) >= LEAST_BARS * PER_BAR:
                yield _cut(chords, BARS * PER_BAR)


def own_forms(forms: dict[str, str]) -> Iterator[list[tuple[str, int]]]:
    """Practised forms, four beats a chord."""
    for text in forms.values():
        yield _cut([(word, PER_BAR) for word in text.split()], BARS * PER_BAR)


def _cut(chords: Sequence[tuple[str, int]], most: int) -> list[tuple[str, int]]:
    found, beat = [], 0
    for symbol, beats in chords:
        if beat < most:
            found.append((symbol, min(beats, most - beat)))
        beat += beats
    return found


def as_changes(form: Sequence[tuple[str, int]]) -> Changes:
    """A form as a lead sheet has it: bars, chords held over bar lines written again."""
    bars: list[list[tuple[str, int]]] = [[]]
    for symbol, beats in form:
        while beats:
            room = PER_BAR - sum(one for _, one in bars[-1])
            if not room:
                bars.append([])
                continue
            bars[-1].append((symbol, min(beats, room)))
            beats -= min(beats, room)
    texts = [" ".join(symbol + " /" * (beats - 1) for symbol, beats in bar) for bar in bars]
    return parse_changes("| " + " | ".join(texts) + " |")


def comped(form: Sequence[tuple[str, int]], way: str, rng: random.Random, grid: str) -> Comped:
    """A take of two choruses."""
    turns = [one for _ in range(CHORUSES) for one in form]
    start = rng.randrange(len(form) // 4, len(form) // 2) if grid == "begun inside" else 0
    beat_s, swing = 60.0 / rng.uniform(80, 220), rng.choice((0.5, 0.5, 0.4, 1 / 3))
    sounding = [one for one in turns if one[0] != "N.C."]
    played = iter(dressed(chords_of(" ".join(symbol for symbol, _ in sounding)), way, rng))
    rows: list[tuple[float, float, tuple[int, ...]]] = []
    patterns = _in_patterns(sum(beats for _, beats in turns), swing, rng)
    beat = 0
    for i, (symbol, beats) in enumerate(turns):
        if symbol != "N.C.":
            pitches = next(played).pitches
            places = _places(beat, beats, swing, rng)
            if grid == PATTERNS:
                places = [(at, of) for at, of in patterns if beat <= of < beat + beats]
            rows += [(at, of, pitches) for at, of in places if i >= start]
        beat += beats
    first = sum(beats for _, beats in turns[:start])
    first -= first % PER_BAR
    lead_s = 0.3 + PER_BAR * beat_s
    times = sorted(
        (lead_s + (at - first) * beat_s + rng.gauss(0, TIMING_S), of, p) for at, of, p in rows
    )
    attacks = tuple(_attack(time, pitches, beat_s) for time, _, pitches in times)
    count = beat - first + 2 * PER_BAR
    return Comped(
        attacks=attacks, beats=tuple(of for _, of, _ in times),
        grid=_grid(lead_s, beat_s, count, grid), changes=as_changes(form),
        zero_s=lead_s - first * beat_s, beat_s=beat_s,
    )  # fmt: skip


def _places(beat: int, beats: int, swing: float, rng: random.Random) -> list[tuple[float, float]]:
    """Where one chord is struck, and the beat that each of it belongs to."""
    draw = rng.random()
    if draw < LEFT_OUT:
        return []
    early, late = draw < LEFT_OUT + EARLY, draw > 1 - LATE
    first = beat - swing if early else beat + (1 if late and beats > 1 else 0)
    again = [at for at in range(beat + 2, beat + beats - 1) if rng.random() < AGAIN / 2]
    return [
        (first, beat),
        *((at + (1 - swing if rng.random() < 0.5 else 0), at) for at in again),
    ]


def _in_patterns(beats: int, swing: float, rng: random.Random) -> list[tuple[float, float]]:
    """Bars of comping: an off-beat belongs to the beat that it comes before."""
    found = []
    for bar in range(0, beats, PER_BAR):
        for place in rng.choice(RHYTHMS):
            at, off = bar + int(place), place % 1
            found.append((at + 1 - swing, at + 1) if off else (float(at), float(at)))
    return [one for one in found if one[1] < beats]


def _attack(time: float, pitches: Sequence[int], beat_s: float) -> Attack:
    onset = round(max(time, 0.0), 4)
    struck = tuple(
        Note(onset_s=onset, offset_s=onset + 0.8 * beat_s, midi=p, velocity=64, confidence=0.97)
        for p in sorted(pitches)
    )
    return Attack(onset_s=onset, spread_s=0.0, struck=struck)


def _grid(lead_s: float, beat_s: float, count: int, kind: str) -> BeatGrid:
    """The pulse from a bar before the first; see the module for the kinds."""
    times = [lead_s + (i - PER_BAR) * beat_s for i in range(count)]
    if kind == "half tempo":
        times, beat_s = times[::2], 2 * beat_s
    off = 2 if kind == "two beats off" else 0
    beats = [Beat(time_s=max(t, 0.0), number=(i + off) % PER_BAR + 1) for i, t in enumerate(times)]
    return BeatGrid(
        beats=tuple(beats),
        tempo_bpm=60.0 / beat_s, beats_per_bar=PER_BAR, confidence=0.9,
        source="heard" if kind in ("two beats off", "half tempo") else "hint",
    )  # fmt: skip


@dataclass
class Tally:
    """Counts over takes; shares are made of them by `shares`."""

    takes: int = 0
    laid: int = 0
    attacks: int = 0
    right: int = 0
    named: int = 0
    delayed: int = 0
    dominants: int = 0
    claimed: int = 0

    def shares(self) -> dict[str, float]:
        """The figures of the module's text."""
        return {
            "takes": self.takes, "laid right": self.laid / self.takes, "attacks": self.attacks,
            "chord right": self.right / self.attacks, "symbol right": self.named / self.attacks,
            "delayed": self.delayed / self.attacks, "plain dominants": self.dominants,
            "tritone substitute claimed": self.claimed / max(self.dominants, 1),
        }  # fmt: skip

    def count(self, take: Comped) -> None:
        """Lay one take and count."""
        steps = scored(soundings(take.attacks))
        end_s = take.attacks[-1].onset_s + 2.0
        spans = given_spans(steps, heard_spans(steps, end_s), take.grid, take.changes, end_s)
        placed = place_chords(take.changes, PER_BAR)
        good = 0
        for attack, of, span in zip(take.attacks, take.beats, spans, strict=True):
            symbol, starts = _truth(placed, of)
            if span is None or symbol is None:
                continue
            start = (span.start_s - take.zero_s) / take.beat_s
            named = span.symbol.text == symbol.text
            good += named and any(abs(start - one) < NEAR_BEATS for one in starts)
            self.named += named
            self.delayed += (attack.onset_s - span.start_s) / take.beat_s > LATE_BEATS
            if symbol.quality == "7":
                self.dominants += 1
                self.claimed += any("tritone substitute" in one.reason for one in span.alternatives)
        self.takes, self.attacks = self.takes + 1, self.attacks + len(take.attacks)
        self.right += good
        self.laid += good >= RIGHT_ATTACKS * len(take.attacks)


def _truth(placed: Sequence[PlacedChord], of: float) -> tuple[ChordSymbol | None, list[float]]:
    """The symbol at a beat of the endless form; where it, or the same chord beside it, begins."""
    length = (placed[-1].bar + 1) * PER_BAR
    starts = [one.bar * PER_BAR + float(one.beat) for one in placed]
    turn, rest = divmod(of, length)
    at = max(i for i, start in enumerate(starts) if start <= rest + 1e-6)
    beside = [at - 1, at, (at + 1) % len(placed)]
    same = [i for i in beside if placed[i].symbol == placed[at].symbol]
    return placed[at].symbol, [
        starts[i] + (turn + (i == 0 and at == len(placed) - 1)) * length for i in same
    ]


def figures(forms: Sequence[list[tuple[str, int]]], seed: int, grid: str) -> dict[str, float]:
    """Each form in two drawn ways."""
    tally = Tally()
    for i, form in enumerate(forms):
        rng = random.Random(seed + i)
        for way in rng.sample(COMPED, 2):
            tally.count(comped(form, way, rng, grid))
    return tally.shares()


@click.command()
@click.option("--choosing", is_flag=True, help="The sets that choices are made on; writes nothing.")
def main(choosing: bool) -> None:
    """Print every figure; write those that are quoted."""
    seed = CHOOSING_SEED if choosing else QUOTED_SEED
    sets = {
        "real changes": list(real_forms(1 if choosing else 0)),
        "own forms": list(own_forms(CHOOSING if choosing else QUOTED)),
    }
    found = {
        f"{name}, {grid}": figures(forms, seed, grid)
        for name, forms in sets.items()
        for grid in (*GRIDS, PATTERNS)
    }
    for name, row in found.items():
        print(f"{name:32s} " + "  ".join(f"{key} {value:.3f}" for key, value in row.items()))
    if not choosing:
        data = json.dumps({**provenance(), "figures": found}, indent=1)
        write_text(RESULTS / "laid.json", data + "\n")


if __name__ == "__main__":
    main()
