"""``stackline transcribe``: takes in, outputs written, a table on the terminal."""

import json
import sys
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stackline.listen.time.time_hints import NO_HINTS, TimeHints
from stackline.options.hearing_options import Line
from stackline.options.output_file import output_file, printed
from stackline.options.progress_bar import shown
from stackline.options.terminal import table_width
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take
from stackline.shared.units import CONCERT_A_HZ

if TYPE_CHECKING:
    from stackline.listen.ear import Ear
    from stackline.report.page.page_worker import PageInTheMaking
    from stackline.theory.sheet.changes import Changes

DONE, NOTHING_HEARD, BAD_INPUT = 0, 1, 2  # exit codes


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
    ear: "str | Ear"
    changes: "Changes | None"
    time: TimeHints = NO_HINTS
    expected_a_hz: float = CONCERT_A_HZ
    line: Line = "auto"


def work_through(order: Order) -> int:
    """Work through the recordings; one that cannot be read does not stop the others.

    Returns the exit code: 2 if any recording could not be read, else 1 if nothing was
    heard in any, else 0.
    """
    _refuse_clashes(order)
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


def _refuse_clashes(order: Order) -> None:
    """No output of this run overwrites another, or what is read.

    Names are compared without their capitals: on many disks they are one.
    """
    from stackline.report.outputs import FORMATS, INDEX, output_path, stem_of

    taken: dict[str, Path] = {}
    if len(order.recordings) > 1 and "page" in order.formats:
        taken[INDEX] = Path(INDEX)
    for path in order.recordings:
        for name in order.formats:
            if output_path(path.name, order.folder, name).resolve() == path.resolve():
                raise Complaint(f"{path} would be overwritten; name another folder with -o")
            output = f"{stem_of(path.name)}{FORMATS[name].suffix}".casefold()
            other = taken.setdefault(output, path)
            if other is not path:
                raise Complaint(
                    f"{other} and {path} would write outputs of the same name; "
                    "rename one, or run them apart with different -o folders"
                )
    if order.json_to is not None and not printed(order.json_to):
        output_file(Path(order.json_to), *order.recordings)


def _one(path: Path, order: Order) -> Take:
    """Hear, read, write and show one recording."""
    from stackline.pipeline import transcribe
    from stackline.report.outputs import output_path, write

    outputs = [output_path(path.name, order.folder, name) for name in order.formats]
    before = {output for output in outputs if output.exists()}
    remarks: list[str] = []
    with shown(path.name) as progress, _page_of(path, order) as making:
        take = transcribe(
            path,
            ear=order.ear,
            changes=order.changes,
            hints=order.time,
            expected_a_hz=order.expected_a_hz,
            line=order.line,
            progress=progress,
            remark=remarks.append,
        )
        progress("writing", 1.0)
        written: list[Path] = []
        if take.attacks:
            written = write(take, order.folder, order.formats, making=making)
    for sentence in remarks:
        click.echo(f"stackline: {take.source.name}: {sentence}", err=True)
    if not printed(order.json_to):
        _show(take, order)
        for output in written:
            click.echo(f"{'replaced' if output in before else 'wrote'} {output}")
    return take


def _page_of(path: Path, order: Order) -> AbstractContextManager["PageInTheMaking | None"]:
    """The page, of which the sound is made while the recording is heard; None without one."""
    from stackline.listen.recording.midi_keys import is_midi
    from stackline.report.page.page_worker import PageInTheMaking

    makes_sound = "page" in order.formats and not is_midi(path)
    return PageInTheMaking(path) if makes_sound else nullcontext()


def _show(take: Take, order: Order) -> None:
    """The table, or that there is nothing to show."""
    from stackline.report.files.table import render
    from stackline.report.words.summary import damage
    from stackline.report.words.take_view import TakeView

    if take.attacks:
        click.echo(render(TakeView(take), width=table_width()))
        return
    if spoiled := damage(take.source):
        click.echo(spoiled)
    written = "nothing was written" if order.json_to is None else "only the JSON is written"
    click.echo(
        f"{take.source.name}: no attacks were heard in {take.source.duration_s:.1f} s of "
        f"sound; {written}. Is the piano close enough to the microphone?"
    )


def _write_index(takes: list[Take], order: Order) -> None:
    """One page that leads to the pages of several takes."""
    from stackline.report.outputs import write_index

    path = write_index(takes, order.folder)
    if not printed(order.json_to):
        click.echo(f"wrote {path}")


def _write_json(takes: list[Take], target: str) -> None:
    """One take as an object of format 1, several as a list of them."""
    from stackline.shared.codec.codec_write import to_data
    from stackline.shared.files import write_text

    data = [to_data(take) for take in takes]
    text = json.dumps(data[0] if len(data) == 1 else data, indent=2, ensure_ascii=False) + "\n"
    if printed(target):
        sys.stdout.buffer.write(text.encode("utf-8"))
    else:
        write_text(Path(target), text)
        click.echo(f"wrote {target}")
