"""``stackline targets``: what there is to practise; look at one, check a file, save one."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from stackline.options.clock_time import PLACE, at
from stackline.options.output_file import output_file
from stackline.options.target_choice import tell_unreadable
from stackline.shared.complaint import Complaint

if TYPE_CHECKING:
    from stackline.report.words.place_reading import Place


@click.group(invoke_without_command=True)
@click.option("--json", "as_json", is_flag=True, help="Print the list as JSON.")
@click.pass_context
def targets(context: click.Context, as_json: bool) -> None:
    """List the targets: the built-in ones and your own.

    \b
    Example:
      stackline targets
      stackline targets show "minor ii-V-I, from the 3rd" --key Eb
      stackline targets check my-set.toml
    """
    if context.invoked_subcommand is None:
        _print_list(as_json)


def _print_list(as_json: bool) -> None:
    from stackline.practice.columns import columns
    from stackline.practice.targets.find_target import known_targets
    from stackline.practice.written.review_data import target_data

    tell_unreadable()
    every = known_targets()
    if as_json:
        click.echo(json.dumps([target_data(one) for one in every], indent=2, ensure_ascii=False))
        return
    rows = [(one.name, " ".join(chord.name() for chord in one.chords), one.source) for one in every]
    click.echo(columns(("name", "chords", "source"), rows), nl=False)


@targets.command()
@click.argument("name")
@click.option("--key", default="C", show_default=True, help="The key to write it out in.")
@click.option("--json", "as_json", is_flag=True, help="Print it as JSON.")
def show(name: str, key: str, as_json: bool) -> None:
    """Write one target out, note by note.

    \b
    Example:
      stackline targets show "major ii-V-I, drop 2" --key Bb
    """
    from stackline.practice.targets.find_target import find_target
    from stackline.practice.targets.numerals import read_key
    from stackline.practice.targets.target_view import view
    from stackline.practice.written.review_data import target_data

    tell_unreadable()
    found = find_target(name)
    if as_json:
        click.echo(json.dumps(target_data(found), indent=2, ensure_ascii=False))
    else:
        click.echo(view(found, read_key(key)), nl=False)


@targets.command("check")
@click.argument("file", type=click.Path(path_type=Path))
def check_file(file: Path) -> None:
    """Read a file of targets and say what is wrong or strange in it.

    \b
    Example:
      stackline targets check my-set.toml
    """
    from stackline.practice.targets.target_file import read_set
    from stackline.practice.targets.target_remarks import remarks

    found = read_set(file)
    for one in found:
        for words in remarks(one):
            click.echo(f"{one.name}: {words}")
    click.echo(f"{file}: {len(found)} {'target' if len(found) == 1 else 'targets'}, all readable")


@targets.command()
@click.argument("name")
@click.option(
    "--changes", metavar="TEXT", help="Chords, degrees of a key, or stacks with > between."
)
@click.option("--key", metavar="KEY", help="The key that the chords are written in.")
@click.option("--take", "take", type=click.Path(path_type=Path), metavar="TAKE",
              help="Or voicings found in a take (its JSON, or a recording).")  # fmt: skip
@click.option("--from", "start", type=PLACE, metavar="PLACE",
              help="Where in the take it begins: 5.3 (bar, beat), 0:27.2 or seconds.")  # fmt: skip
@click.option("--to", "end", type=PLACE, metavar="PLACE", help="Where in the take it ends.")
@click.option("--tempo", type=float, metavar="BPM", help="The tempo to reach.")
@click.option(
    "--file", type=click.Path(path_type=Path), help="The set to save in; your own if left out."
)
def save(
    name: str,
    changes: str | None,
    key: str | None,
    take: Path | None,
    start: "Place | None",
    end: "Place | None",
    tempo: float | None,
    file: Path | None,
) -> None:
    """Save a target under a name, typed or found in a take.

    \b
    Example:
      stackline targets save "my ii-V" --changes "IIm9: b3 5 b7 9 > V13: b7 9 3 13"
      stackline targets save "monday's ending" --take monday.json --from 5.1 --to 9.1
    """
    from dataclasses import replace

    from stackline.options.hints import read_tempo
    from stackline.practice.targets.target_file import save_target
    from stackline.practice.targets.target_text import parse_target
    from stackline.shared.folder import own_targets_path

    if (changes is None) == (take is None):
        raise Complaint(
            "say what to save, once: --changes TEXT, or --take FILE with --from and --to"
        )
    if changes is not None:
        target = parse_target(changes, key=key)
    else:
        from stackline.ears import DEFAULT_EAR
        from stackline.options.take_source import take_from
        from stackline.practice.targets.target_from_take import target_from_take

        heard = take_from(Path(str(take)), ear=DEFAULT_EAR)
        target = target_from_take(heard, from_s=at(start, heard), to_s=at(end, heard), key=key)
    path = output_file(file or own_targets_path(), *([take] if take else []))
    save_target(path, replace(target, name=name, tempo_bpm=read_tempo(tempo), source="own"))
    click.echo(f"saved {name!r} in {path}")
