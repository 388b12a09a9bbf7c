"""What is recognised in practice and in foreign music: ``python -m bench.practising.recognising``.

Known are the built-in targets and four progressions in symbols. Foreign: choruses of the thirty
even tunes of `fixtures/changes`, each dressed in two ways, and forty chorales by J. S. Bach
(music21's corpus), as notes: nothing may be kept of them. Practice: made takes of the built-in
targets from QUOTED seeds on, with faults in three passes of five: counted is whether the target
that is played comes first, and whether it is sure enough to be kept without asking. The weights
were fitted on other seeds and the odd tunes.

Results go to bench/results/recognising.json.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from bench.scoring.provenance import provenance
from fixtures.forms.dressing import WAYS
from fixtures.forms.symbol_ways import PROGRESSIONS
from fixtures.played.foreign import Held, score, tune, tunes
from fixtures.played.practised import make_practised
from fixtures.played.sessions import heard
from fixtures.played.truth import TrueTake
from stackline.pipeline import read_notes
from stackline.practice.finding.recognising import SURE, recognise
from stackline.practice.targets.target_file import built_in
from stackline.practice.targets.target_text import parse_target
from stackline.practice.targets.targets import Target
from stackline.shared.files import write_text
from stackline.shared.notes import BeatGrid
from stackline.shared.take import Recognised

RESULTS = Path(__file__).parent.parent / "results" / "recognising.json"
QUOTED = 96_500
CHORALES = 40
SYMBOLS = 4


def known() -> tuple[Target, ...]:
    """What a player may have: the built-in targets, and progressions of their own."""
    own = (parse_target(text, name=text) for text, _ in PROGRESSIONS[:SYMBOLS])
    return (*own, *built_in())


def found_in(take: TrueTake, targets: tuple[Target, ...]) -> tuple[Recognised, ...]:
    """What is recognised in a made take, its notes known."""
    return recognise(read_notes(heard(take), beats=BeatGrid(), line="none"), targets)


def foreign() -> Iterator[TrueTake]:
    """Sixty choruses and forty chorales."""
    ways = list(WAYS)
    for i, number in enumerate(one for one in sorted(tunes()) if one % 2 == 0):
        for turn in (0, 1):
            yield tune(number, ways[(i + 5 * turn) % len(ways)], QUOTED + i)
    from music21 import corpus

    for i, path in enumerate(sorted(map(str, corpus.getComposer("bach")))[:CHORALES]):
        yield score(Path(path).stem, _held(corpus.parse(path)), QUOTED + i)


def _held(piece: Any) -> list[Held]:
    """The notes of a score that begin together, and until when."""
    notes: dict[float, list[tuple[float, int]]] = {}
    for one in piece.flatten().notes:
        for pitch in one.pitches if one.quarterLength else ():
            end = float(one.offset + one.quarterLength)
            notes.setdefault(float(one.offset), []).append((end, pitch.midi))
    return [
        (start, max(end for end, _ in some), tuple(sorted({midi for _, midi in some})))
        for start, some in sorted(notes.items())
    ]


@click.command()
@click.option("--takes", default=60, show_default=True, help="Made practice takes.")
def main(takes: int) -> None:
    """Count and write."""
    targets = known()
    sure, asked, pieces = [], 0, 0
    for take in foreign():
        found = found_in(take, targets)
        pieces += 1
        asked += bool(found)
        sure += [take.name for one in found[:1] if one.confidence >= SURE]
    right = kept = kept_wrong = 0
    for seed in range(QUOTED, QUOTED + takes):
        made = make_practised(seed, keys=2 + seed % 6)
        found = found_in(made.take, targets)
        is_right = bool(found) and found[0].target == made.target.name
        is_sure = bool(found) and found[0].confidence >= SURE
        right += is_right
        kept += is_right and is_sure
        kept_wrong += is_sure and not is_right
    figures = {
        "foreign": {"pieces": pieces, "kept": sure, "asked about": asked},
        "practice": {
            "takes": takes, "its target first": right, "kept without asking": kept,
            "kept as another target": kept_wrong,
        },
    }  # fmt: skip
    click.echo(json.dumps(figures, indent=1))
    write_text(RESULTS, json.dumps({"provenance": provenance(), **figures}, indent=1) + "\n")


if __name__ == "__main__":
    main()
