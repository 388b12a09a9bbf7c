"""``stackline ways``: how else a progression could be played."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stackline.options.clock_time import PLACE, at
from stackline.options.output_file import output_file
from stackline.options.spelling_option import spell_option
from stackline.options.target_choice import read_typed
from stackline.shared.complaint import Complaint

if TYPE_CHECKING:
    from stackline.practice.suggested.suggestions import Suggestion
    from stackline.report.words.place_reading import Place
    from stackline.theory.ways.reach import Reach


@click.command()
@click.argument("chords", metavar="CHORDS|TAKE")
@click.option("--at", "place", type=PLACE, metavar="PLACE",
              help="One chord of a TAKE: bar and beat 5.3, 0:27.2 or seconds.")  # fmt: skip
@click.option("--key", metavar="KEY", help="The key that the chords are written in.")
@click.option("--top", metavar="DEGREES", help='The degree on top of each chord: "9 b9 9".')
@click.option("--hands", default="any", show_default=True, metavar="HANDS",
              help="left: the left hand alone; two: both; or any.")  # fmt: skip
@click.option("--reach", default="9th", show_default=True, metavar="INTERVAL",
              help="How far a hand reaches: octave, 9th or 10th.")  # fmt: skip
@click.option("--reharm", is_flag=True, help="Other chords for the same changes, each named.")
@click.option("--midi", metavar="FILE", type=click.Path(path_type=Path),
              help="Write them one after another as MIDI.")  # fmt: skip
@click.option("--page", metavar="FILE", type=click.Path(path_type=Path),
              help="Write a page to read, print and hear.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print the facts as JSON.")
@spell_option
@click.option("--library", "file", metavar="FILE", type=click.Path(path_type=Path),
              help="The library's file, instead of the usual one.")  # fmt: skip
def ways(
    chords: str,
    place: "Place | None",
    key: str | None,
    top: str | None,
    hands: str,
    reach: str,
    reharm: bool,
    midi: Path | None,
    page: Path | None,
    as_json: bool,
    file: Path | None,
) -> None:
    """Show other ways to play a progression: families of voicings, each with the nearest path.

    CHORDS are chords, degrees of a key, or a text file of them. What a symbol writes is played as
    written; a plain one leaves its tensions open. With --at: other ways to play one chord of a
    recording or of a take's JSON, between the chords before and after it.

    \b
    Example:
      stackline ways "Dm9 | G13(b9) | C6/9"
      stackline ways "Dm7 | G7 | Cmaj7" --top "9 b9 5" --hands two --midi ways.mid
      stackline ways "IIm7 | V7 | Imaj7" --key Eb --reharm
      stackline ways monday.json --at 5.3
    """
    from stackline.practice.suggested import ways_data, ways_text
    from stackline.practice.suggested.suggestions import reharmonised, suggestions
    from stackline.theory.ways.reach import read_reach

    for path in (midi, page):
        if path is not None:
            output_file(path)
    within = read_reach(hands, reach)
    if place is not None:
        if top or reharm or midi or page or key:
            raise Complaint(
                "--at shows one chord of a take: leave out --key, --top, --reharm, --midi, --page"
            )
        _at(Path(chords), place, within, file, as_json)
        return
    target, home = read_typed(chords, key)
    found = (
        reharmonised(target, home, within)
        if reharm
        else suggestions(target, home, within, (top or "").split())
    )
    if as_json:
        click.echo(json.dumps(ways_data.to_data(found), indent=2, ensure_ascii=False))
    else:
        click.echo(ways_text.render(found, target.name), nl=False)
    if midi is not None or page is not None:
        _write(found, target.name, midi, page, quiet=as_json)


def _at(take: Path, place: "Place", reach: "Reach", file: Path | None, as_json: bool) -> None:
    """Other ways to play one chord of a take."""
    import datetime

    from stackline.ears import DEFAULT_EAR
    from stackline.options.take_source import take_from
    from stackline.practice.library.store import Store
    from stackline.practice.suggested.used_of_late import used_of_late
    from stackline.practice.suggested.ways_in_take import render, to_data, voicing_at
    from stackline.shared.folder import library_path
    from stackline.theory.ways.other_ways import other_ways

    heard = take_from(take, ear=DEFAULT_EAR)
    index = voicing_at(heard, at(place, heard) or 0.0)
    path, used = file or library_path(), None
    if path.exists():
        with Store(path) as store:
            used = used_of_late(store, datetime.date.today())
    found = other_ways(heard.voicings, index, reach, used=used)
    if as_json:
        click.echo(json.dumps(to_data(heard, index, found), indent=2, ensure_ascii=False))
    else:
        click.echo(render(heard, index, found), nl=False)


def _write(
    found: "tuple[Suggestion, ...]", name: str, midi: Path | None, page: Path | None, *, quiet: bool
) -> None:
    """All ways one after another, to hear and to see."""
    from stackline.practice.drills.drill_midi import render as render_midi
    from stackline.practice.drills.drill_take import as_take
    from stackline.practice.suggested.ways_drill import as_drill
    from stackline.report.outputs import write_as
    from stackline.report.words.take_view import TakeView
    from stackline.shared.files import write_bytes
    from stackline.version import __version__

    if not found:
        raise Complaint("no way was found, so there is nothing to write")
    drill = as_drill(found, name)
    if midi is not None:
        write_bytes(midi, render_midi(drill))
        click.echo(f"wrote {midi}", err=quiet)
    if page is not None:
        write_as("page", TakeView(as_take(drill, version=__version__)), page)
        click.echo(f"wrote {page}", err=quiet)
