"""How right the piano ear is on each instrument.

``python -m bench.scoring.by_instrument --bank FOLDER``.
Every scene on every piano and electric piano of a split, one column each: a choice counts only
if it helps on the mean and hurts on none. ``--real FOLDER`` adds real recordings with the truth
of their notes (`bench.scoring.real_clips`); nothing is fitted on them, and no copy of them
belongs here. Dev takes from 70 000 are for choosing (``--first-seed 70000``), those from
76 000 for quoting.
"""

import json
from collections.abc import Iterator
from pathlib import Path

import click

from bench.accuracy import RESULTS, Size, as_data, run
from bench.scoring.listeners import Listener, OurEar
from bench.scoring.pooled import Pooled
from bench.scoring.provenance import provenance
from bench.scoring.real_clips import ClipScore, score_clips
from fixtures.sounded.bank import load_bank
from fixtures.sounded.scenes import (
    COMPANY,
    FIRST_SEED,
    KEYBOARDS,
    PLAYED,
    Scene,
    Studio,
)
from stackline.ears import make_ear
from stackline.shared.complaint import Complaint
from stackline.shared.files import write_text

SCENES = tuple(
    scene for scene in (*PLAYED, *COMPANY) if scene.role == "piano" and "talk" not in scene.name
)
Table = dict[str, dict[str, Pooled]]  # by row, then instrument


def table_of(
    bank: Path,
    listener: Listener,
    size: Size,
    scenes: tuple[Scene, ...],
    first_seed: int,
    split: str,
) -> Table:
    """Figures of every scene on every instrument of the split."""
    players, company = (load_bank(bank, split=one) for one in (split, _other(split)))
    found: Table = {}
    for instrument in players.of_role(*KEYBOARDS):
        studio = Studio(players=players, company=company, split=split, only=instrument.name)
        (outcome,), _ = run([listener], studio, size, scenes, (), first_seed)
        for (table, scene), pooled in outcome.scenes.items():
            found.setdefault(f"{table}: {scene}", {})[instrument.name] = pooled
    return found


def _other(split: str) -> str:
    return "train" if split == "dev" else "dev"


def in_words(table: Table, clips: list[ClipScore]) -> Iterator[str]:
    """The figures as Markdown."""
    if table:
        names = list(next(iter(table.values())))
        yield f"| exact (sure: share, right) | {' | '.join(names)} | mean |"
        yield "|---|" + "---|" * (len(names) + 1)
        for row, cells in table.items():
            exact = [cells[name].exact.value or 0.0 for name in names]
            shown = [_cell(cells[name]) for name in names]
            yield f"| {row} | {' | '.join(shown)} | {sum(exact) / len(exact):.3f} |"
    for clip in clips:
        sets = f"{clip.sets.right} of {clip.sets.total} sets of three and more"
        rates = f"precision {clip.precision:.3f}, recall {clip.recall:.3f}, F {clip.f1:.3f}"
        yield f"\n{clip.name}: {rates}, {sets}"


def _cell(pooled: Pooled) -> str:
    sure, right = pooled.coverage.value, pooled.trusted_exact.value
    beside = f" ({sure:.2f}, {right:.3f})" if sure is not None and right is not None else ""
    return f"{pooled.exact.value or 0.0:.3f}{beside}"


@click.command()
@click.option("--bank", type=click.Path(path_type=Path), required=True, help="A note bank.")
@click.option("--real", type=click.Path(path_type=Path), help="A folder of real recordings.")
@click.option("--ear", default="piano", show_default=True)
@click.option("--split", type=click.Choice(["dev", "train"]), default="dev", show_default=True)
@click.option("--takes", type=click.IntRange(1), default=2, show_default=True, help="Of a cell.")
@click.option("--seconds", type=float, default=40.0, show_default=True, help="Of a take.")
@click.option("--first-seed", type=int, help="The split's own unless given.")
@click.option("--only", multiple=True, help="Only scenes whose row holds this text.")
@click.option("--out", type=click.Path(path_type=Path), help="The JSON file to write.")
def main(
    bank: Path, real: Path | None, ear: str, split: str, takes: int, seconds: float,
    first_seed: int | None, only: tuple[str, ...], out: Path | None,
) -> None:  # fmt: skip
    """Score an ear instrument by instrument, and on real recordings.

    Example: python -m bench.scoring.by_instrument --bank ~/notes --only "listed: clean"
    """
    try:
        listener = OurEar(make_ear(ear))
        seed = FIRST_SEED[split] if first_seed is None else first_seed
        wanted = tuple(
            one for one in SCENES
            if not only or any(text in f"{one.table}: {one.name}" for text in only)
        )  # fmt: skip
        size = Size(takes=takes, duration_s=seconds, quiet_s=0.0)
        table = table_of(bank, listener, size, wanted, seed, split) if wanted else {}
        clips = list(score_clips(real, listener)) if real else []
    except Complaint as complaint:
        raise click.ClickException(str(complaint)) from complaint
    text = "\n".join(in_words(table, clips))
    if not real:
        click.echo("No real recordings were given (--real FOLDER), so none were scored.", err=True)
    click.echo(text)
    facts = provenance() | {"split": split, "first_seed": seed, "ear": listener.name}
    path = out or RESULTS / f"by-instrument-{ear}-{split}.json"
    data = {"made": facts, "size": as_data(size), "table": as_data(table), "clips": as_data(clips)}
    write_text(path, json.dumps(data, indent=1) + "\n")
    heading = f"# {listener.name}, split {split}, seeds from {seed}, {takes} takes a cell"
    write_text(path.with_suffix(".md"), f"{heading}\n\nCommit {facts['commit']}.\n\n{text}\n")


if __name__ == "__main__":
    main()
