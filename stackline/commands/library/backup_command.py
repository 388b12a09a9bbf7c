"""The library as a whole: backup, restore, export."""

import sys
from pathlib import Path

import click

from stackline.commands.library.library_group import FILE, library, opened
from stackline.options.output_file import output_file, printed


@library.command()
@click.argument("to", type=click.Path(path_type=Path), metavar="FILE")
@FILE
def backup(to: Path, file: Path | None) -> None:
    """Write a whole copy of the library, also while it is in use.

    \b
    Example:
      stackline library backup ~/stackline-march.db
    """
    from stackline.practice.columns import plural
    from stackline.practice.library.backup import back_up

    with opened(file) as kept:
        count = back_up(kept, output_file(to, kept.store.path))
    click.echo(f"wrote {to}: {plural(count, 'take')}")


@library.command()
@click.argument("source", type=click.Path(path_type=Path), metavar="BACKUP")
@click.option("--yes", is_flag=True, help="Don't ask.")
@FILE
def restore(source: Path, yes: bool, file: Path | None) -> None:
    """Put a backup in the place of the whole library, after asking.

    \b
    Example:
      stackline library restore ~/stackline-march.db
    """
    from stackline.practice.columns import plural
    from stackline.practice.library.backup import restore as put_back
    from stackline.practice.library.backup import takes_in

    coming = takes_in(source)
    with opened(file) as kept:
        here = len(kept.entries())
        if here and not yes:
            click.confirm(f"Replace all {here} takes here by the {coming} of {source}?", abort=True)
        count = put_back(kept, source)
    click.echo(f"restored {plural(count, 'take')} from {source}")


@library.command()
@click.argument("to", metavar="FILE|-")
@FILE
def export(to: str, file: Path | None) -> None:
    """Write everything as JSON: takes, corrections, passes, targets.

    \b
    Example:
      stackline library export everything.json
    """
    from stackline.practice.columns import plural
    from stackline.practice.library.backup import export as write_all
    from stackline.shared.files import beside

    with opened(file) as kept:
        if printed(to):
            found = write_all(kept, sys.stdout)
        else:
            path = output_file(Path(to), kept.store.path)
            with beside(path) as temporary, temporary.open("w", encoding="utf-8") as out:
                found = write_all(kept, out)
            click.echo(f"wrote {to}: {plural(found.takes, 'take')}")
    for sentence in found.damaged:
        click.echo(f"stackline: not exported: {sentence}", err=True)
    if found.damaged:
        sys.exit(2)
