"""``stackline landed``: what landed of everything that is kept, by degree and key."""

import json
from pathlib import Path

import click

from stackline.options.spelling_option import spell_option


@click.command()
@click.option(
    "--since", metavar="SPAN|DATE", help="Only what was played since: 30d, 6w, 3m, or a date."
)
@click.option(
    "--degree", metavar="DEGREE", help="Only this degree of the dominant: b9; its misses too."
)
@click.option("--key", metavar="KEY", help="Only what leads home to this key; its misses too.")
@click.option("--json", "as_json", is_flag=True, help="Print the facts as JSON.")
@click.option("--library", "file", metavar="FILE", type=click.Path(path_type=Path),
              help="The library's file, instead of the usual one.")  # fmt: skip
@spell_option
def landed(
    since: str | None, degree: str | None, key: str | None, as_json: bool, file: Path | None
) -> None:
    """Count every resolution in the library, free playing too: degrees down, keys across.

    Takes come into the library with: stackline library add TAKE

    \b
    Example:
      stackline landed --since 30d
      stackline landed --degree b9 --key Db
    """
    import datetime

    from stackline.practice.library.library import Library
    from stackline.practice.progress.ledger import Asked, ledger, read_since
    from stackline.practice.progress.ledger_text import render, to_data
    from stackline.practice.progress.quality_habits import quality_habits
    from stackline.practice.targets.numerals import read_key
    from stackline.practice.targets.stack import read_degree

    asked = Asked(
        since=read_since(since, datetime.date.today()),
        degree=None if degree is None else str(read_degree(degree)),
        key=None if key is None else read_key(key),
    )
    with Library(file) as kept:
        kept.bring_up()
        found = ledger(kept.store, asked)
        habits = quality_habits(kept.store, asked.since)
    if as_json:
        click.echo(json.dumps(to_data(found, habits), indent=2, ensure_ascii=False))
    else:
        misses = asked.degree is not None or asked.key is not None
        click.echo(render(found, habits, misses=misses), nl=False)
