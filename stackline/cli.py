"""The command line. Every command has an example in its help."""

import sys
from pathlib import Path

import click

from stackline.commands.booklet_command import booklet
from stackline.commands.library import library
from stackline.commands.practising.check_command import check
from stackline.commands.practising.compare_command import compare
from stackline.commands.practising.drill_command import drill
from stackline.commands.practising.landed_command import landed
from stackline.commands.practising.progress_command import progress
from stackline.commands.practising.quiz_command import quiz
from stackline.commands.practising.targets_command import targets
from stackline.commands.practising.today_command import today
from stackline.commands.practising.ways_command import ways
from stackline.commands.transcribe_command import BAD_INPUT, DONE, Order, work_through
from stackline.ears import with_second
from stackline.options.formats_help import CommandWithFormats
from stackline.options.hearing_options import Line, ear_option, line_option
from stackline.options.hints import read_changes, read_time
from stackline.options.output_file import printed
from stackline.options.spelling_option import spell_option
from stackline.options.time_options import time_options
from stackline.sessions.watch_command import watch
from stackline.shared.complaint import Complaint
from stackline.shared.units import CONCERT_A_HZ
from stackline.version import __version__

DEFAULT_FOLDER = "stackline-out"
DEFAULT_FORMATS = "page,json,midi"


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="stackline")
def commands() -> None:
    """Listen to a recording of jazz piano comping and write down its voicings.

    Everything runs on this machine; a recording never leaves it.

    Start with:  stackline demo
    """


@commands.command(cls=CommandWithFormats)
@click.argument("takes", nargs=-1, required=True, metavar="TAKE...")
@click.option("-o", "--output", default=DEFAULT_FOLDER, metavar="DIR", show_default=True,
              help="Folder for what is written.")  # fmt: skip
@click.option("--json", "json_to", metavar="FILE|-",
              help="Also write the facts as JSON; - prints them instead of the table.")  # fmt: skip
@click.option("--changes", metavar="FILE|TEXT", help="The chords, if you know them.")
@ear_option
@click.option("--second-ear", is_flag=True,
              help="Have the large ear hear it too, and mark what they disagree on.")  # fmt: skip
@time_options
@click.option("--a4", type=float, default=CONCERT_A_HZ, metavar="HZ", show_default=True,
              help="What A is near, if the piano stands a quarter tone or more off.")  # fmt: skip
@spell_option
@line_option
@click.option("--formats", default=DEFAULT_FORMATS, show_default=True, metavar="LIST",
              help="What to write, with commas between; listed below.")  # fmt: skip
def transcribe(
    takes: tuple[str, ...],
    output: str,
    json_to: str | None,
    changes: str | None,
    ear: str,
    second_ear: bool,
    tempo: float | None,
    meter: str | None,
    first_beat: float | None,
    count_in: int | None,
    a4: float,
    line: Line,
    formats: str,
) -> None:
    """Hear recordings and write down their voicings.

    TAKE is any sound file, or a video with sound: wav, flac, ogg, mp3, m4a, mp4, webm; or a MIDI
    file, whose notes are taken as played.

    \b
    Example:
      stackline transcribe monday.m4a -o monday --changes "Dm9 | G13(b9) | C6/9"
    """
    order = Order(
        recordings=tuple(Path(take) for take in takes),
        folder=Path(output),
        json_to=json_to,
        formats=_formats(formats, json_to),
        ear=with_second(ear) if second_ear else ear,
        changes=read_changes(changes),
        time=read_time(tempo, meter, first_beat, count_in, recordings=len(takes)),
        expected_a_hz=a4,
        line=line,
    )
    sys.exit(work_through(order))


@commands.command()
@click.option("-o", "--output", default=DEFAULT_FOLDER, metavar="DIR", show_default=True,
              help="Folder for what is written.")  # fmt: skip
@ear_option
@click.option("--no-open", is_flag=True, help="Write the page, but open no browser.")
def demo(output: str, ear: str, no_open: bool) -> None:
    """Analyse the bundled recording and open its page.

    \b
    Example:
      stackline demo --no-open
    """
    from stackline.commands.demo_command import bundled_recording, open_page

    recording = bundled_recording()
    order = Order(
        recordings=(recording,),
        folder=Path(output),
        json_to=None,
        formats=_formats(DEFAULT_FORMATS, None),
        ear=ear,
        changes=None,
    )
    code = work_through(order)
    page = Path(output) / f"{recording.stem}.html"
    if not no_open and page.exists() and not open_page(page):
        click.echo(f"no browser could be opened here; open {page} in one")
    sys.exit(code)


@commands.command()
@click.option("--json", "as_json", is_flag=True, help="Print the facts as JSON.")
def doctor(as_json: bool) -> None:
    """Say what is installed, what is missing and how to fix it.

    \b
    Example:
      stackline doctor
    """
    from stackline.commands.doctor_command import examine, print_json, print_table

    findings = examine()
    (print_json if as_json else print_table)(findings)
    sys.exit(0 if all(finding.fine for finding in findings if finding.needed) else BAD_INPUT)


commands.add_command(check)
commands.add_command(drill)
commands.add_command(targets)
commands.add_command(library)
commands.add_command(progress)
commands.add_command(compare)
commands.add_command(booklet)
commands.add_command(ways)
commands.add_command(today)
commands.add_command(landed)
commands.add_command(quiz)
commands.add_command(watch)


def _formats(listed: str, json_to: str | None) -> tuple[str, ...]:
    """Names of formats from a list with commas; none when only JSON was asked for on the pipe."""
    from stackline.report.outputs import FORMATS

    names = tuple(name.strip() for name in listed.split(",") if name.strip())
    for name in names:
        if name not in FORMATS:
            raise Complaint(f"--formats {name!r}: allowed are {', '.join(FORMATS)}")
    return () if printed(json_to) and listed == DEFAULT_FORMATS else names


def run() -> int:
    """Run the command; print a complaint as one sentence. Returns the exit code."""
    try:
        return int(commands(standalone_mode=False) or DONE)
    except Complaint as complaint:
        click.echo(f"stackline: {complaint}", err=True)
    except click.Abort:
        raise KeyboardInterrupt from None
    except click.ClickException as error:
        error.show()
    except SystemExit as ended:
        return ended.code if isinstance(ended.code, int) else DONE
    return BAD_INPUT
