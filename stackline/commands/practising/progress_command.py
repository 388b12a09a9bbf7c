"""``stackline progress``: the twelve keys of a target, week by week, and what to do next."""

import json
from pathlib import Path

import click

from stackline.options.output_file import output_file
from stackline.shared.complaint import Complaint


@click.command()
@click.option("--target", metavar="NAME", help="Only this target; all that were kept if left out.")
@click.option("--json", "as_json", is_flag=True, help="Print the facts as JSON.")
@click.option("--page", metavar="FILE", type=click.Path(path_type=Path),
              help="Write a page to read and print.")  # fmt: skip
@click.option("--library", "file", metavar="FILE", type=click.Path(path_type=Path),
              help="The library's file, instead of the usual one.")  # fmt: skip
def progress(target: str | None, as_json: bool, page: Path | None, file: Path | None) -> None:
    """Show what the library knows of your targets: keys, weeks, what is avoided, what next.

    Passes come into the library with: stackline check TAKE ... --add

    \b
    Example:
      stackline progress --target "minor ii-V-I, from the 3rd" --page progress.html
    """
    from stackline.practice.library.library import Library
    from stackline.practice.progress.habits import habits, in_words
    from stackline.practice.progress.progress_text import progress_on, render, to_data
    from stackline.shared.files import write_text

    if page is not None:
        output_file(page)
    with Library(file) as kept:
        targets = [one for one in kept.targets() if target is None or one.name == target]
        if not targets:
            names = ", ".join(repr(one.name) for one in kept.targets()) or "none yet"
            raise Complaint(
                f"no passes of {target!r} are kept; kept are: {names}"
                if target
                else "no passes are kept yet; keep some with: stackline check TAKE ... --add"
            )
        found = [progress_on(kept.store, one) for one in targets]
        used = habits(kept.store)
    if as_json:
        click.echo(json.dumps(to_data(found, used), indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join([*(render(one) for one in found), in_words(used)]), nl=False)
    if page is not None:
        from stackline.practice.progress.progress_page import render as render_page

        write_text(page, render_page(found, used))
        click.echo(f"wrote {page}", err=as_json)
