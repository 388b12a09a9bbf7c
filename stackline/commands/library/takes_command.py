"""Takes of the library one by one: add, edit, list, show, correct, remove."""

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stackline.commands.library.library_group import AS_JSON, FILE, library, opened
from stackline.options.clock_time import PLACE, at
from stackline.options.hearing_options import ear_option
from stackline.options.hints import read_changes, read_time
from stackline.options.terminal import table_width
from stackline.options.time_options import time_options
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take

if TYPE_CHECKING:
    from stackline.practice.library.library import Added
    from stackline.practice.review.review_records import Review
    from stackline.report.words.place_reading import Place


def keep(
    file: Path | None,
    take: Take,
    found: "Review",
    recording: Path,
    *,
    played_on: str | None,
    note: str,
) -> None:
    """Add a take and keep what a review found in it; say how much that was."""
    from stackline.practice.columns import plural
    from stackline.sessions.sound_keeping import SoundKeeper, size_words

    with opened(file) as kept:
        added = kept.add(take, played_on=played_on, note=note)
        size = SoundKeeper(recording).keep(kept, added.id, take)
        if added.outcome != "added" and (played_on is not None or note):
            kept.edit(added.id, played_on=played_on, note=note or None)
        kept.keep_passes(added.id, found.target)
    passes = plural(len(found.passes), "pass", "passes")
    broken = len(found.false_starts)
    starts = f" and {plural(broken, 'false start')}" if broken else ""
    click.echo(f"{_added_words(take, added)}{size_words(size)}; {passes}{starts} kept", err=True)


def _added_words(take: Take, added: "Added") -> str:
    words = f"{take.source.name}: {added.outcome}, take {added.id}"
    if added.unplaced:
        where = ", ".join(f"{one.onset_s:.1f} s" for one in added.unplaced)
        words += f"; corrections kept but without a voicing there now: {where}"
    return words


@library.command()
@click.argument(
    "takes", nargs=-1, required=True, metavar="TAKE...", type=click.Path(path_type=Path)
)
@click.option("--on", "played_on", metavar="DATE", help="When it was played, 2026-03-09.")
@click.option("--note", default="", help="A remark to keep with it.")
@click.option("--changes", metavar="FILE|TEXT", help="The chords, if you know them.")
@click.option("--sections", metavar="all|LIST",
              help="Cut recordings into sections; add all, or a list: 2,4.")  # fmt: skip
@ear_option
@time_options
@FILE
def add(
    takes: tuple[Path, ...],
    played_on: str | None,
    note: str,
    changes: str | None,
    sections: str | None,
    ear: str,
    tempo: float | None,
    meter: str | None,
    first_beat: float | None,
    count_in: int | None,
    file: Path | None,
) -> None:
    """Add takes: recordings, which are heard, or takes kept as JSON.

    The same recording is kept once. Added again, its new analysis takes the place of the
    old one, and your corrections stay.

    \b
    Example:
      stackline library add monday.m4a --on 2026-03-09 --note "new piano"
      stackline library add evening.m4a --sections all
    """
    from stackline.options.take_source import take_from
    from stackline.sessions.chosen_sections import chosen_sections, read_numbers
    from stackline.sessions.sound_keeping import SoundKeeper, size_words

    given = read_changes(changes)
    time = read_time(tempo, meter, first_beat, count_in, recordings=len(takes))
    wanted = None if sections is None else read_numbers(sections)
    if wanted is not None and given is not None:
        raise Complaint("--changes are of one piece, and --sections cuts a recording into several")
    failed = False
    with opened(file) as kept:
        for path in takes:
            try:
                if wanted is not None:
                    found = chosen_sections(path, wanted, ear=ear, time=time)
                else:
                    found = [take_from(path, ear=ear, changes=given, time=time)]
                keeper = SoundKeeper(path)
                for take in found:
                    added = kept.add(take, played_on=played_on, note=note)
                    size = keeper.keep(kept, added.id, take)
                    click.echo(_added_words(take, added) + size_words(size))
            except Complaint as complaint:
                if len(takes) == 1:
                    raise
                click.echo(f"stackline: {complaint}", err=True)
                failed = True
    if failed:
        sys.exit(2)


@library.command()
@click.argument("number", type=int)
@click.option("--on", "played_on", metavar="DATE", help="When it was played, 2026-03-09.")
@click.option("--note", help="A remark to keep with it, in the place of the old one.")
@FILE
def edit(number: int, played_on: str | None, note: str | None, file: Path | None) -> None:
    """Change the date or the note of a take; its passes move to the new date.

    \b
    Example:
      stackline library edit 3 --on 2026-03-08 --note "the upright at home"
    """
    from stackline.report.words.marks import one_line

    if played_on is None and note is None:
        raise Complaint("say what to change: --on with a date, --note with a remark, or both")
    with opened(file) as kept:
        kept.edit(number, played_on=played_on, note=note)
        entry = kept.entry(number)
    remark = f", {one_line(entry.note)}" if entry.note else ""
    click.echo(f"take {number} ({one_line(entry.name)}): played on {entry.played_on}{remark}")


@library.command("list")
@AS_JSON
@FILE
def list_takes(as_json: bool, file: Path | None) -> None:
    """List the takes, the newest first.

    \b
    Example:
      stackline library list
    """
    from dataclasses import asdict

    from stackline.practice.columns import columns
    from stackline.report.words.marks import one_line
    from stackline.shared.units import clock

    with opened(file) as kept:
        entries = kept.entries()
    if as_json:
        click.echo(json.dumps([asdict(one) for one in entries], indent=2, ensure_ascii=False))
        return
    if not entries:
        click.echo("the library is empty; add a take with: stackline library add monday.m4a")
        return
    rows = [
        (str(one.id), one.played_on, one_line(one.name), clock(one.duration_s),
         str(one.n_voicings), one_line(one.note))
        for one in entries
    ]  # fmt: skip
    click.echo(columns(("take", "played on", "name", "length", "voicings", "note"), rows), nl=False)


@library.command()
@click.argument("number", type=int)
@AS_JSON
@FILE
def show(number: int, as_json: bool, file: Path | None) -> None:
    """Show one take with your corrections in it.

    \b
    Example:
      stackline library show 3
    """
    from stackline.shared.codec.codec_write import to_json

    with opened(file) as kept:
        entry, take = kept.entry(number), kept.take(number)
        corrections = kept.corrections(number)
    if as_json:
        click.echo(to_json(take), nl=False)
        return
    from stackline.report.files.table import render
    from stackline.report.words.take_view import TakeView
    from stackline.shared.units import clock
    from stackline.theory.chords.note_names import note_name

    click.echo(f"take {entry.id}, played on {entry.played_on}, heard by {entry.ear}")
    if entry.note:
        click.echo(entry.note)
    click.echo(render(TakeView(take), width=table_width()), nl=False)
    for one in corrections:
        notes = f" notes {' '.join(map(note_name, one.pitches))}" if one.pitches else ""
        chord = f" {one.symbol}" if one.symbol else ""
        click.echo(f"corrected by you at {clock(one.onset_s)}:{chord}{notes}")


@library.command()
@click.argument("number", type=int)
@click.option("--at", "place", type=PLACE, required=True, metavar="PLACE",
              help="Where it begins: 5.3 (bar, beat), the clock 0:27.2, or seconds.")  # fmt: skip
@click.option("--chord", metavar="SYMBOL", help="What chord it is.")
@click.option("--notes", metavar="NAMES", help='What its notes are, "F3 A3 B3 E4" or MIDI numbers.')
@FILE
def correct(
    number: int, place: "Place", chord: str | None, notes: str | None, file: Path | None
) -> None:
    """Put right a voicing of a take; it stays right when the take is analysed anew.

    \b
    Example:
      stackline library correct 3 --at 12.4 --chord "G7alt" --notes "F3 B3 Eb4 Bb4"
    """
    from stackline.practice.library.corrections import Correction
    from stackline.report.words.places import Places
    from stackline.theory.chords.note_names import read_notes

    pitches = read_notes(notes) if notes is not None else None
    with opened(file) as kept:
        at_s = at(place, kept.take(number)) or 0.0
        corrected = kept.correct(number, Correction(onset_s=at_s, symbol=chord, pitches=pitches))
    near = min(
        (corrected.take.voicings[one] for one in corrected.places),
        key=lambda one: abs(one.attack.onset_s - at_s),
    )
    stack = " ".join(str(degree) for degree in near.stack)
    click.echo(
        f"{Places(corrected.take).words(near.attack)} is now {near.chord.symbol.text}: {stack}"
    )


@library.command()
@click.argument("number", type=int)
@click.option("--yes", is_flag=True, help="Don't ask.")
@FILE
def remove(number: int, yes: bool, file: Path | None) -> None:
    """Remove a take with its corrections and passes, after asking.

    \b
    Example:
      stackline library remove 3
    """
    with opened(file) as kept:
        entry = kept.entry(number)
        what = f"take {number} ({entry.name}, {entry.played_on}, {entry.n_voicings} voicings)"
        if not yes:
            click.confirm(f"Remove {what} for good?", abort=True)
        kept.remove(number)
    click.echo(f"removed {what}")
