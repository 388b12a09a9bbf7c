"""Whether every sentence said of voicings and moves is true: ``python -m bench.harmony.sentences``.

2,000 voicings in takes of 16: shapes of the table over phrases of progressions, the same with
voices moved, doubled, left out or held, free voicings under drawn chords, planed stacks, names said
with little confidence. Each is explained, and each move to the next; `voicing_sentences` and
`move_sentences` read what is said. As a check of these, sentences are turned wrong (a degree, a
direction, a hand, a size), and they must notice.

Results go to bench/results/sentences.json.
"""

import json
import random
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

import click

from bench.harmony.move_sentences import check_motion
from bench.harmony.pitch_facts import Stack
from bench.harmony.voicing_sentences import check_voicing
from bench.scoring.provenance import provenance
from fixtures.forms.progressions import generated, voiced
from stackline.shared.files import write_text
from stackline.shared.harmony import ChordSpan, Motion, Voicing
from stackline.shared.notes import Attack, Note
from stackline.shared.units import HIGHEST_MIDI, LOWEST_MIDI
from stackline.theory.chords.qualities import QUALITIES
from stackline.theory.chords.spelling import plain_name
from stackline.theory.chords.symbols import make_symbol
from stackline.theory.explain import explain_motion, explain_voicing
from stackline.theory.motion.motion import motions
from stackline.theory.sounding import Sounding
from stackline.theory.stacks.voicing_maker import make_voicing, mark_locked

RESULTS = Path(__file__).parents[1] / "results"
SEED, VOICINGS, TAKE = 83_000, 2_000, 16
WRONG = (  # a sentence turned wrong: what is found, and what is put in its place
    (r"\bup\b", "down"), (r"\bdown\b", "up"), (r"\bclose\b", "open"), (r"\bthe 3\b", "the #11"),
    (r"\bthe b7\b", "the 7"), (r"\bleft\b", "right"), (r"\bsteps\b", "leaps"),
    (r"\blanded on\b", "landed late on"), (r"\bstays\b", "steps up"), (r"\bcontrary\b", "parallel"),
    (r"\bRootless\b", "Rooted"), (r"\bdrop 2\b", "drop 3"), (r"\boblique\b", "contrary"),
)  # fmt: skip


def takes(seed: int, voicings: int) -> Iterator[tuple[Voicing, ...]]:
    """Made takes until so many voicings are there."""
    rng = random.Random(seed)
    made = 0
    while made < voicings:
        chords = voiced(generated(rng, phrases=5), rng)[:TAKE]
        rows = [_varied(rng, one.root_pc, one.quality, one.pitches) for one in chords]
        on_keys = [row for row in rows if row[2][0] >= LOWEST_MIDI and row[2][-1] <= HIGHEST_MIDI]
        take = mark_locked([_voicing(rng, i, *row) for i, row in enumerate(on_keys)])
        yield take
        made += len(take)


def _varied(
    rng: random.Random, root_pc: int, key: str, pitches: tuple[int, ...]
) -> tuple[int, str, tuple[int, ...]]:
    """The chord as it is, or played in another way, or under another name."""
    draw = rng.random()
    if draw < 0.35:
        return root_pc, key, pitches
    if draw < 0.5:  # a doubling
        return (
            root_pc,
            key,
            tuple(sorted({*pitches, rng.choice(pitches) + rng.choice((12, 24, -12))})),
        )
    if draw < 0.6:  # a note less
        return root_pc, key, pitches[1:] if len(pitches) > 3 else pitches
    if draw < 0.7:  # a voice moved
        moved = list(pitches)
        moved[rng.randrange(len(moved))] += rng.choice((-2, -1, 1, 2))
        return root_pc, key, tuple(sorted(set(moved)))
    if draw < 0.8:  # planed, with its root
        up = rng.choice((-1, 1, 2, 4))
        return (root_pc + up) % 12, key, tuple(pitch + up for pitch in pitches)
    low = rng.randrange(33, 60)
    free = {low, *(low + rng.randrange(1, 36) for _ in range(rng.randrange(1, 7)))}
    return rng.randrange(12), rng.choice(QUALITIES).key, tuple(sorted(free))


def _voicing(
    rng: random.Random, i: int, root_pc: int, key: str, pitches: tuple[int, ...]
) -> Voicing:
    """Under its chord; at times with notes that ring on, a written bass, or an unsure name."""
    onset = 2.0 * i
    struck = pitches if rng.random() < 0.8 or len(pitches) < 3 else pitches[len(pitches) // 2 :]
    notes = {p: Note(onset_s=onset, offset_s=onset + 1.5, midi=p, velocity=64, confidence=0.97)
             for p in pitches}  # fmt: skip
    held = frozenset(set(pitches) - set(struck))
    attack = Attack(
        onset_s=onset, spread_s=0.0, struck=tuple(notes[p] for p in struck),
        held=tuple(notes[p] for p in sorted(held)),
    )  # fmt: skip
    bass = plain_name(rng.randrange(12)) if rng.random() < 0.1 else None
    chord = ChordSpan(
        start_s=onset, end_s=onset + 2.0, symbol=make_symbol(plain_name(root_pc), key, bass),
        source="heard", confidence=rng.choice((0.95, 0.95, 0.95, 0.8, 0.52)),
    )  # fmt: skip
    sounding = Sounding(
        attack=attack, kind="voicing", notes=tuple(notes[p] for p in pitches), held=held
    )
    return make_voicing(sounding, chord)


def stack_of(voicing: Voicing, later: Sequence[Voicing] = ()) -> Stack:
    """A voicing as the checker takes it: numbers, and the chord's symbol."""
    letters = tuple(
        "CDEFGAB".index(tone.name[0]) + 7 * int(re.sub(r"^[A-G][b#]*", "", tone.name))
        for tone in voicing.tones
    )
    return Stack(
        pitches=voicing.pitches,
        symbol=voicing.chord.symbol.text,
        struck=tuple(tone.midi for tone in voicing.tones if not tone.held),
        left=tuple(tone.midi for tone in voicing.tones if tone.hand == "left"),
        letters=letters,
        confidence=voicing.chord.confidence,
        later=tuple(one.pitches for one in later),
    )


@dataclass
class Report:
    """Counts, and what was false: sentence, clause."""

    voicings: int = 0
    moves: int = 0
    clauses: int = 0
    false: list[tuple[str, str]] = field(default_factory=list)
    turned: int = 0
    noticed: int = 0

    def voicing(self, one: Voicing, rng: random.Random) -> None:
        """Explain a voicing and check it."""
        stack, text = stack_of(one), explain_voicing(one)
        self.voicings += 1
        self._keep(text, check_voicing(text, stack))
        self._turn(text, rng, lambda wrong: check_voicing(wrong, stack))

    def move(self, motion: Motion, take: Sequence[Voicing], rng: random.Random) -> None:
        """Explain a move and check it."""
        later = take[motion.to_index + 1 :]
        before, after = stack_of(take[motion.from_index]), stack_of(take[motion.to_index], later)
        text = explain_motion(motion, take)
        self.moves += 1
        self._keep(text, check_motion(text, before, after))
        self._turn(text, rng, lambda wrong: check_motion(wrong, before, after))

    def _keep(self, text: str, false: Sequence[str]) -> None:
        self.clauses += text.count("; ") + 1
        self.false += [(text, clause) for clause in false]

    def _turn(self, text: str, rng: random.Random, check: "object") -> None:
        able = [(a, b) for a, b in WRONG if re.search(a, text)]
        if not able:
            return
        found, other = rng.choice(able)
        self.turned += 1
        self.noticed += bool(check(re.sub(found, other, text, count=1)))  # type: ignore[operator]


def report(seed: int, voicings: int) -> Report:
    """Make, explain, check."""
    found, rng = Report(), random.Random(seed + 1)
    for take in takes(seed, voicings):
        for voicing in take:
            found.voicing(voicing, rng)
        for motion in motions(take, 0.5):
            found.move(motion, take, rng)
    return found


@click.command()
@click.option("--seed", default=SEED, show_default=True)
@click.option("--show", default=10, show_default=True, help="How many false ones to print.")
def main(seed: int, show: int) -> None:
    """Check every sentence of 2,000 made voicings and their moves."""
    found = report(seed, VOICINGS)
    for text, clause in found.false[:show]:
        print(f"false: {clause}\n   in: {text}")
    figures = {
        "voicings": found.voicings, "moves": found.moves, "clauses": found.clauses,
        "false": len(found.false), "turned wrong": found.turned,
        "noticed": found.noticed,
    }  # fmt: skip
    print(figures)
    if seed == SEED:
        data = json.dumps({**provenance(), "figures": figures}, indent=1)
        write_text(RESULTS / "sentences.json", data + "\n")


if __name__ == "__main__":
    main()
