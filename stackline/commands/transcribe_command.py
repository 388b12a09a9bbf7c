"""``stackline transcribe``: takes in, outputs written, a table on the terminal."""

import json
import sys
from contextlib import AbstractContextManager, nullcontext
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stackline.listen.time.time_hints import TimeHints
from stackline.options.progress_bar import shown
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take
from stackline.shared.units import CONCERT_A_HZ

if TYPE_CHECKING:
    from stackline.report.page.page_worker import PageInTheMaking
    from stackline.theory.given.changes import Changes

DONE, NOTHING_HEARD, BAD_INPUT = 0, 1, 2


@dataclass(frozen=True, kw_only=True)
class Order:
    """What the player asked for.

    folder: where outputs go. json_to: a file, ``-`` for the terminal, or None.
    formats: names from `stackline.report.outputs`. time: of each recording.
    """

    recordings: tuple[Path, ...]
    folder: Path
    json_to: str | None
    formats: tuple[str, ...]
    ear: str
    changes: "Changes | None"
    time: TimeHints = field(default_factory=TimeHints)
    expected_a_hz: float = CONCERT_A_HZ


def run(order: Order) -> int:
    """Work through the recordings; one that cannot be read does not stop the others.

    Returns the exit code: 2 if any recording could not be read, else 1 if nothing was
    heard in any, else 0.
    """
    _refuse_clashes(order.recordings)
    takes: list[Take] = []
    code = DONE
    for path in order.recordings:
        try:
            take = _one(path, order)
        except Complaint as complaint:
            click.echo(f"stackline: {complaint}", err=True)
            code = BAD_INPUT
            continue
        takes.append(take)
        if not take.attacks:
            code = max(code, NOTHING_HEARD)
    heard = [take for take in takes if take.attacks]
    if len(heard) > 1 and "page" in order.formats:
        _write_index(heard, order)
    if order.json_to is not None and takes:
        _write_json(takes, order.json_to)
    return code


def _refuse_clashes(recordings: tuple[Path, ...]) -> None:
    """Two recordings of one name would overwrite each other's outputs."""
    seen: dict[str, Path] = {}
    for path in recordings:
        other = seen.setdefault(path.stem, path)
        if other is not path:
            raise Complaint(
                f"{other} and {path} would write outputs of the same name; "
                "rename one, or run them apart with different -o folders"
            )


def _one(path: Path, order: Order) -> Take:
    """Hear, read, write and show one recording."""
    from stackline.pipeline import transcribe
    from stackline.report.outputs import write

    with shown(path.name) as progress, _page_of(path, order) as making:
        take = transcribe(
            path,
            ear=order.ear,
            changes=order.changes,
            **asdict(order.time),
            expected_a_hz=order.expected_a_hz,
            progress=progress,
        )
        progress("writing", 1.0)
        written: list[Path] = []
        if take.attacks:
            written = write(take, order.folder, order.formats, making=making)
    if order.json_to != "-":
        _show(take, written)
    return take


def _page_of(path: Path, order: Order) -> AbstractContextManager["PageInTheMaking | None"]:
    """The page, of which the sound is made while the recording is heard; None without one."""
    from stackline.report.page.page_worker import PageInTheMaking

    return PageInTheMaking(path) if "page" in order.formats else nullcontext()


def _show(take: Take, written: list[Path]) -> None:
    """The table, then where the outputs lie."""
    from stackline.report.files.table import render

    sys.stdout.reconfigure(errors="replace")  # type: ignore[union-attr]
    if not take.attacks:
        click.echo(
            f"{take.source.name}: no attacks were heard in {take.source.duration_s:.1f} s of "
            "sound; nothing was written. Is the piano close enough to the microphone?"
        )
        return
    click.echo(render(take))
    for path in written:
        click.echo(f"wrote {path}")


def _write_index(takes: list[Take], order: Order) -> None:
    """One page that leads to the pages of several takes."""
    from stackline.report.outputs import write_index

    path = write_index(takes, order.folder)
    if order.json_to != "-":
        click.echo(f"wrote {path}")


def _write_json(takes: list[Take], target: str) -> None:
    """One take as an object of format 1, several as a list of them."""
    from stackline.shared.codec.codec_write import to_data
    from stackline.shared.files import write_text

    data = [to_data(take) for take in takes]
    text = json.dumps(data[0] if len(data) == 1 else data, indent=2, ensure_ascii=False) + "\n"
    if target == "-":
        sys.stdout.buffer.write(text.encode("utf-8"))
    else:
        write_text(Path(target), text)
        click.echo(f"wrote {target}")
