"""A thousand bad inputs: ``python -m bench.spoiled.bad_input``.

Made from seeds: broken takes as JSON, spoiled recordings, odd headers, changes, targets, options,
outputs and damaged libraries (`bench.spoiled`). Each is run as the command would be, in a forked
process of its own with everything imported already, one after another; nothing may give a
traceback, hang for 30 s, end without a word, or leave anything half written. A last case is a
recording of 2 GB of zeros.

Results go to bench/results/bad_input.json and .md.
"""

import json
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import click

from bench.scoring.provenance import provenance
from bench.spoiled.case import Case
from bench.spoiled.json_takes import broken_take
from bench.spoiled.judge import FAULTS, Outcome, judge
from bench.spoiled.places import damaged_library, odd_output
from bench.spoiled.recordings import odd_wav, spoiled_recording
from bench.spoiled.sound_things import sound_take
from bench.spoiled.words import odd_changes, odd_options, odd_target_file
from stackline.shared.files import write_text

RESULTS = Path(__file__).parents[1] / "results" / "bad_input.json"
KINDS = {
    "broken JSON takes": (200, broken_take),
    "spoiled recordings": (250, spoiled_recording),
    "odd wavs": (100, odd_wav),
    "changes": (130, odd_changes),
    "sets of targets": (110, odd_target_file),
    "options": (110, odd_options),
    "outputs": (50, odd_output),
    "damaged libraries": (50, damaged_library),
}
MOST_MB = 600.0
ZEROS_BYTES = 2 * 2**30


def cases(share: float = 1.0, seed: int = 0) -> list[Case]:
    """Cases of every kind; share: of the whole thousand."""
    return [
        Case(kind=kind, seed=1_000_000 * seed + 1000 * at + number, make=make)
        for at, (kind, (count, make)) in enumerate(KINDS.items())
        for number in range(max(2, round(share * count)))
    ]


def outcomes(some: Iterable[Case]) -> list[Outcome]:
    """Run cases one after another, each in a folder of its own; what hangs, once more."""
    import_everything()
    found = []
    for case in some:
        outcome = _judged(case)
        found.append(_judged(case) if outcome.verdict == "hung" else outcome)  # a busy machine?
    return found


def _judged(case: Case) -> Outcome:
    with tempfile.TemporaryDirectory(prefix="bad-input-") as folder:
        return judge(case, Path(folder))


def import_everything() -> None:
    """What the commands import, so that a forked process need not; and the take to spoil."""
    sound_take()


def zeros() -> Case:
    """A recording of 2 GB that is nothing but zeros (sparse: it takes no room)."""

    def make(folder: Path, _: object) -> list[str]:
        with (folder / "take.wav").open("wb") as file:
            file.truncate(ZEROS_BYTES)
        return ["transcribe", str(folder / "take.wav"), "-o", "out"]

    return Case(kind="2 GB of zeros", seed=0, make=make)


@dataclass(frozen=True, kw_only=True)
class Row:
    """One kind: verdicts by their counts, the longest and the largest."""

    kind: str
    inputs: int
    verdicts: dict[str, int]
    longest_s: float
    peak_mb: float


def rows(found: Sequence[Outcome]) -> list[Row]:
    """A row a kind."""
    kinds = dict.fromkeys(one.case.kind for one in found)
    return [_row(kind, [one for one in found if one.case.kind == kind]) for kind in kinds]


def _row(kind: str, found: Sequence[Outcome]) -> Row:
    return Row(
        kind=kind,
        inputs=len(found),
        verdicts=dict(Counter(one.verdict for one in found)),
        longest_s=round(max(one.seconds for one in found), 2),
        peak_mb=round(max(one.peak_mb for one in found)),
    )


def table(found: Sequence[Row]) -> str:
    """The rows in Markdown."""
    heads = ("done", "nothing heard", "told", *FAULTS)
    lines = [
        f"| kind | inputs | {' | '.join(heads)} | longest, s | memory, MB |",
        f"|---|{'---|' * (len(heads) + 3)}",
    ]
    for row in found:
        counts = " | ".join(str(row.verdicts.get(head, 0)) for head in heads)
        lines.append(
            f"| {row.kind} | {row.inputs} | {counts} | {row.longest_s:g} | {row.peak_mb:.0f} |"
        )
    return "\n".join(lines) + "\n"


@click.command()
@click.option("--share", default=1.0, show_default=True, help="Of the thousand.")
@click.option("--seed", default=0, show_default=True, help="Another thousand.")
@click.option("--kind", help="This kind alone.")
@click.option("--keep/--no-keep", default=True, help="Write the results.")
def main(share: float, seed: int, kind: str | None, keep: bool) -> None:
    """Run the bad inputs and say what came of them."""
    began = time.monotonic()
    chosen = [one for one in cases(share, seed) if kind in (None, one.kind)]
    found = outcomes([*chosen, *([zeros()] if kind is None and share == 1.0 else [])])
    faulty = [one for one in found if one.verdict in FAULTS or one.peak_mb > MOST_MB]
    for one in faulty:
        tail = "\n    ".join(one.errors.strip().splitlines()[-4:])
        print(f"{one.case.kind} {one.case.seed}: {one.verdict} {one.peak_mb:.0f} MB: "
              f"{' '.join(map(repr, one.words))[:300]}\n    {tail}", file=sys.stderr)  # fmt: skip
    text = table(rows(found))
    print(text)
    if keep:
        made = provenance() | {"seconds": round(time.monotonic() - began), "seed": seed}
        kept = {"made": made, "rows": [vars(row) for row in rows(found)]}
        write_text(RESULTS, json.dumps(kept, indent=1) + "\n")
        write_text(RESULTS.with_suffix(".md"), text)
    sys.exit(1 if faulty else 0)


if __name__ == "__main__":
    main()
