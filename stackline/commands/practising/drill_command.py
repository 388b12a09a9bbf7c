"""``stackline drill``: a target, a typed progression or a found one through twelve keys."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stackline.options.clock_time import PLACE, at
from stackline.options.hints import beats_are_dotted, read_drill_meter, read_tempo
from stackline.options.output_file import output_file
from stackline.options.spelling_option import spell_option
from stackline.options.target_choice import chosen_target
from stackline.shared.complaint import Complaint

if TYPE_CHECKING:
    from stackline.practice.drills.drill import Drill
    from stackline.practice.targets.targets import Target
    from stackline.report.words.place_reading import Place


@click.command()
@click.option("--changes", metavar="TEXT|FILE", help="Chords, degrees of a key, or stacks.")
@click.option("--target", metavar="NAME|FILE", help="Or a target by name, or from a file.")
@click.option("--take", "take", metavar="TAKE", type=click.Path(path_type=Path),
              help="Or voicings found in a take (its JSON, or a recording).")  # fmt: skip
@click.option("--from", "start", type=PLACE, metavar="PLACE",
              help="Where in the take it begins: 5.3 (bar, beat), 0:27.2 or seconds.")  # fmt: skip
@click.option("--to", "end", type=PLACE, metavar="PLACE", help="Where in the take it ends.")
@click.option("--key", metavar="KEY", help="The key that the chords are written in.")
@click.option("--order", default="fourths", show_default=True, metavar="NAME",
              help="fourths, fifths, half-up/-down, whole-up/-down, pairs or random.")  # fmt: skip
@click.option("--first", default="C", show_default=True, metavar="KEY", help="The key to begin in.")
@click.option("--keys", metavar="LIST", help="Only these keys, in this order: C,Eb,F#.")
@click.option("--adapt", is_flag=True,
              help="More of what the library shows to be weak.")  # fmt: skip
@click.option("--library", "library_file", metavar="FILE", type=click.Path(path_type=Path),
              help="With --adapt: the library's file, instead of the usual one.")  # fmt: skip
@click.option("--seed", default=0, show_default=True, help="For the random order.")
@click.option("--tempo", type=float, metavar="BPM", help="Beats a minute.")
@click.option("--meter", metavar="4/4", help="Beats in a bar: 2/4 to 7/4, 6/8, 9/8, 12/8.")
@click.option(
    "--low", default="A2", show_default=True, metavar="NOTE", help="The lowest key to use."
)
@click.option(
    "--high", default="A5", show_default=True, metavar="NOTE", help="The highest key to use."
)
@click.option("--answer", is_flag=True, help="Empty bars after each key, to play it back.")
@click.option("--count-in", default=1, show_default=True, type=click.IntRange(0, 8),
              help="Bars of metronome before it begins.")  # fmt: skip
@click.option("--no-click", is_flag=True, help="No metronome.")
@click.option("--bass", default="off", show_default=True, metavar="STYLE",
              help="A bass in the MIDI file: roots, two, walk or off.")  # fmt: skip
@click.option("--midi", metavar="FILE", type=click.Path(path_type=Path), help="Write it as MIDI.")
@click.option("--page", metavar="FILE", type=click.Path(path_type=Path),
              help="Write a page that plays it, with count-in, click and tempo.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print the facts as JSON.")
@click.option("-o", "--output", metavar="DIR", type=click.Path(path_type=Path),
              help="Folder for --formats.")  # fmt: skip
@click.option("--formats", default="", metavar="LIST",
              help="Also as takes are written: score, musicxml, page, pdf ...")  # fmt: skip
@spell_option
def drill(
    changes: str | None,
    target: str | None,
    take: Path | None,
    start: "Place | None",
    end: "Place | None",
    key: str | None,
    order: str,
    first: str,
    keys: str | None,
    adapt: bool,
    library_file: Path | None,
    seed: int,
    tempo: float | None,
    meter: str | None,
    low: str,
    high: str,
    answer: bool,
    count_in: int,
    no_click: bool,
    bass: str,
    midi: Path | None,
    page: Path | None,
    as_json: bool,
    output: Path | None,
    formats: str,
) -> None:
    """Take a progression through the keys: what to play, where it lies, and a backing to play to.

    The octave of each key is chosen so that nothing lies too low, the register holds, and the
    way from key to key is short. Chords without a stack are voiced from common shapes.

    \b
    Example:
      stackline drill --target "minor ii-V-I, from the 3rd" --answer --midi drill.mid
      stackline drill --changes "b7 9 3 13 > 3 5 7 9" --order random --seed 7
      stackline drill --adapt --midi weak.mid
      stackline drill --take monday.json --from 5.1 --to 9.1 --order pairs
    """
    from stackline.practice.drills.drill import make_drill
    from stackline.practice.drills.drill_bass import bass_notes
    from stackline.practice.drills.drill_text import render
    from stackline.practice.drills.key_orders import key_order
    from stackline.practice.targets.numerals import read_key
    from stackline.practice.targets.placing import Register
    from stackline.theory.chords.note_names import read_note

    if formats and beats_are_dotted(meter):
        raise Complaint(
            f"--formats: what shows takes counts quarters and cannot write {meter}; "
            "--midi, --page and --json can"
        )
    if midi is not None:
        output_file(midi, *([take] if take else []))
    if page is not None:
        output_file(page, *([take] if take else []))
    slow = None
    if adapt:
        if keys or order != "fourths":
            raise Complaint(
                "--adapt chooses the keys and their order: leave --keys and --order out"
            )
        given = changes is not None or target is not None or take is not None
        wanted = _wanted(changes, target, take, start, end, key) if given else None
        wanted, chosen, slow = _adapted(wanted, library_file)
    else:
        wanted = _wanted(changes, target, take, start, end, key)
        chosen = (
            tuple(read_key(one) for one in keys.replace(",", " ").split())
            if keys
            else key_order(order, first=read_key(first), seed=seed)
        )
    beats_per_bar, parts = read_drill_meter(meter)
    made = make_drill(
        wanted,
        chosen,
        tempo_bpm=read_tempo(tempo) or slow,
        beats_per_bar=beats_per_bar,
        parts=parts,
        count_in=count_in,
        answer=answer,
        register=Register(
            low=read_note(low), high=read_note(high), kept=(low, high) != ("A2", "A5")
        ),
    )
    bass_notes(made, bass)
    if as_json:
        from stackline.practice.drills.drill_data import to_data

        click.echo(json.dumps(to_data(made), indent=2, ensure_ascii=False))
    else:
        click.echo(render(made), nl=False)
    if midi is not None:
        from stackline.practice.drills.drill_midi import render as render_midi
        from stackline.shared.files import write_bytes

        write_bytes(midi, render_midi(made, click=not no_click, bass=bass))
        click.echo(f"wrote {midi}", err=as_json)
    if page is not None:
        from stackline.practice.drills.drill_page import render as render_page
        from stackline.shared.files import write_text

        write_text(page, render_page(made))
        click.echo(f"wrote {page}", err=as_json)
    if formats:
        _write(made, output or Path("stackline-out"), formats, as_json)


def _adapted(
    wanted: "Target | None", library_file: Path | None
) -> "tuple[Target, tuple[int, ...], float | None]":
    """A kept target (the weakest if none was given), its keys, weak ones oftener, and a tempo."""
    import datetime

    from stackline.practice.library.library import Library
    from stackline.practice.planning.weak_keys import careful_bpm, in_words, weak_keys, weakness
    from stackline.practice.progress.twelve_keys import twelve_keys

    today = datetime.date.today().isoformat()
    with Library(library_file) as kept:
        known = {one.name: (one, twelve_keys(kept.store, one.name)) for one in kept.targets()}
        if not known or (wanted is not None and wanted.name not in known):
            names = ", ".join(map(repr, known)) or "none yet"
            raise Complaint(
                f"--adapt goes by passes that are kept; kept are: {names}; keep some with: "
                "stackline check TAKE ... --add"
            )
        if wanted is None:
            wanted = max(known.values(), key=lambda one: weakness(one[1], today))[0]
        keys = known[wanted.name][1]
        slow = careful_bpm(kept.store, wanted.name, keys)
    click.echo(in_words(keys, today) or "all keys are solid: each comes once", err=True)
    return wanted, weak_keys(keys, today), slow


def _wanted(
    changes: str | None,
    target: str | None,
    take: Path | None,
    start: "Place | None",
    end: "Place | None",
    key: str | None,
) -> "Target":
    if take is None:
        return chosen_target(changes, target, key)
    if changes is not None or target is not None:
        raise Complaint("give --take, or --changes, or --target: one of them")
    from stackline.ears import DEFAULT_EAR
    from stackline.options.take_source import take_from
    from stackline.practice.targets.target_from_take import target_from_take

    heard = take_from(take, ear=DEFAULT_EAR)
    return target_from_take(heard, from_s=at(start, heard), to_s=at(end, heard), key=key)


def _write(made: "Drill", folder: Path, listed: str, quiet: bool) -> None:
    """The drill in the formats of a take."""
    from stackline.practice.drills.drill_take import as_take
    from stackline.report.outputs import FORMATS, write_as
    from stackline.report.words.take_view import TakeView
    from stackline.version import __version__

    view = TakeView(as_take(made, version=__version__))
    for name in (one.strip() for one in listed.split(",") if one.strip()):
        if name not in FORMATS:
            raise Complaint(f"--formats {name!r}: allowed are {', '.join(FORMATS)}")
        path = folder / f"drill{FORMATS[name].suffix}"
        write_as(name, view, path)
        click.echo(f"wrote {path}", err=quiet)
