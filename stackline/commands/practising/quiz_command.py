"""``stackline quiz``: one page that asks about one's own takes, offline, on a phone."""

from pathlib import Path

import click

from stackline.options.output_file import output_file
from stackline.options.spelling_option import spell_option


@click.command()
@click.option("-o", "--output", default="quiz.html", show_default=True, metavar="FILE",
              type=click.Path(path_type=Path), help="The page.")  # fmt: skip
@click.option("--count", default=30, show_default=True, type=click.IntRange(1, 200),
              help="How many questions.")  # fmt: skip
@click.option("--since", metavar="SPAN|DATE",
              help="Only what was played since: 30d, 6w, 3m, or a date.")  # fmt: skip
@click.option("--seed", default=0, show_default=True, help="Another seed, other questions.")
@click.option("--library", "file", metavar="FILE", type=click.Path(path_type=Path),
              help="The library's file, instead of the usual one.")  # fmt: skip
@spell_option
def quiz(output: Path, count: int, since: str | None, seed: int, file: Path | None) -> None:
    """Write a quiz from your own takes: which degree was on top, which chord, did it land.

    Only what was heard with 0.95 and more is asked. What you miss comes again.

    \b
    Example:
      stackline quiz --since 30d -o quiz.html
    """
    import datetime

    from stackline.practice.library.library import Library
    from stackline.practice.progress.ledger import read_since
    from stackline.practice.quiz.questions import questions
    from stackline.practice.quiz.quiz_page import render
    from stackline.shared.files import write_text

    output_file(output)
    date = read_since(since, datetime.date.today())
    with Library(file) as kept:
        found = questions(kept, count, since=date, seed=seed)
    write_text(output, render(found))
    click.echo(f"wrote {output}, {len(found)} question{'s' if len(found) > 1 else ''}")
