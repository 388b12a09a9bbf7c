"""What the labeller makes of comping takes, from their true notes.

Run ``python -m bench.naming.take_names``.

`bench.accuracy` names chords in a few takes of each scene; which progressions come up in eight
takes moves its share by several points. Here nothing is rendered, so many takes can be read, in
both walks of `fixtures.played.chord_cycles`:

    any key, any tension   every cycle once, in a random key, any tensions on any dominant
    tensions by way        the same walk, a dominant's tensions go where the dominant goes
    as practised           cycles again and again in a key, then in the next by a pattern, with
                           tensions by way

The low roots that are touched after some chords are heard, as in the takes of `bench.accuracy`.
Right: root and family of the truth. "Or the same notes": or the truth is an alternative whose
reason says that it is the same notes, which only context can settle. Results:
bench/results/take_names.json.
"""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

import click

from bench.scoring.provenance import provenance
from fixtures.played.takes import LISTED, PRACTISED, TENSIONS_BY_WAY, Style, make_take
from fixtures.played.truth import TrueAttack, TrueChord, TrueTake
from stackline.listen.attacks.attacks import find_attacks
from stackline.shared.files import write_text
from stackline.shared.harmony import ChordSymbol, Voicing
from stackline.shared.notes import BeatGrid, Note
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.labelling.reasons import SAME_NOTES
from stackline.theory.reading import read

FIRST_SEED = 77_000
RESULTS = Path(__file__).parent.parent / "results"
WALKS: dict[str, Style] = {
    "any key, any tension": LISTED,
    "tensions by way": TENSIONS_BY_WAY,
    "as practised": PRACTISED,
}
TAKE_S = 45.0
SURE = 0.9


@dataclass(frozen=True, kw_only=True)
class Names:
    """Shares of chords, 0..1, of `chords` that are meant. sure: named with 0.9 or more."""

    chords: int
    root: float
    root_and_family: float
    or_the_same_notes: float
    sure: float
    right_where_sure: float


def true_notes(take: TrueTake) -> tuple[Note, ...]:
    """The notes of a take as a perfect ear would give them."""
    return tuple(
        Note(
            onset_s=note.onset_s, offset_s=note.offset_s, midi=note.midi,
            velocity=note.velocity, confidence=1.0,
        )
        for note in take.notes
    )  # fmt: skip


def score_names(takes: Sequence[TrueTake]) -> Names:
    """Read every take by itself and count. Raises ValueError if no chord is meant."""
    rows = [_row(attack.chord, voicing) for take in takes for attack, voicing in _read(take)
            if attack.chord is not None and attack.kind == "listed"]  # fmt: skip
    if not rows:
        raise ValueError("no chord is meant in these takes")
    root, right, same, sure = (sum(column) for column in zip(*rows, strict=True))
    sure_and_right = sum(one[1] and one[3] for one in rows)
    return Names(
        chords=len(rows),
        root=root / len(rows),
        root_and_family=right / len(rows),
        or_the_same_notes=same / len(rows),
        sure=sure / len(rows),
        right_where_sure=sure_and_right / max(sure, 1),
    )


def _read(take: TrueTake) -> list[tuple[TrueAttack, Voicing | None]]:
    """Each true attack and the reading of the heard one that has its first note."""
    attacks = find_attacks(true_notes(take))
    voicings = read(attacks, BeatGrid(), end_s=take.duration_s).voicings
    by_onset = {voicing.attack.onset_s: voicing for voicing in voicings}
    return [(attack, by_onset.get(attack.onset_s)) for attack in take.attacks]


def _row(truth: TrueChord, voicing: Voicing | None) -> tuple[bool, bool, bool, bool]:
    """Root right, root and family right, or said to be the same notes, sure."""
    if voicing is None:
        return False, False, False, False
    found = voicing.chord
    same = any(_is(one.symbol, truth) and one.reason.startswith(SAME_NOTES)
               for one in found.alternatives)  # fmt: skip
    right = _is(found.symbol, truth)
    root = pitch_class_of(found.symbol.root) == truth.root_pc
    return root, right, right or same, found.confidence >= SURE


def _is(symbol: ChordSymbol, truth: TrueChord) -> bool:
    """Whether a symbol has the root and family of the truth."""
    family = quality(symbol.quality).family == quality(truth.quality).family
    return pitch_class_of(symbol.root) == truth.root_pc and family


@click.command()
@click.option("--takes", default=120, show_default=True, type=click.IntRange(1))
@click.option("--first-seed", default=FIRST_SEED, show_default=True)
@click.option("--out", type=click.Path(path_type=Path), default=RESULTS / "take_names.json")
def main(takes: int, first_seed: int, out: Path) -> None:
    """Name the chords of made takes from their true notes."""
    found = {}
    for walk, style in WALKS.items():
        made = [make_take(first_seed + i, style, duration_s=TAKE_S) for i in range(takes)]
        found[walk] = asdict(score_names(made))
        click.echo(f"{walk:<24}" + "".join(f"  {k} {v:.3f}" for k, v in found[walk].items()))
    facts = provenance() | {"takes": takes, "take_s": TAKE_S, "first_seed": first_seed}
    write_text(out, json.dumps({"made": facts, "walks": found}, indent=1) + "\n")


if __name__ == "__main__":
    main()
