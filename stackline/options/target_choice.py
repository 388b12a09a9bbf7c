"""The options that say what check and drill are about, read in one place."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from stackline.options.hints import read_chords
from stackline.shared.complaint import Complaint

if TYPE_CHECKING:
    from stackline.practice.targets.targets import Target


def chosen_target(typed: str | None, name: str | None, key: str | None) -> "Target":
    """The target from ``--changes`` or ``--target``; raises Complaint unless exactly one is given.

    typed: chords, numerals or stacks, or a text file of them. name: of a target, or a file.
    """
    from stackline.practice.targets.find_target import find_target

    if (typed is None) == (name is None):
        raise Complaint(
            'say what was to be played, once: --changes "Dm9 | G13(b9) | C6/9", '
            "or --target with a name from: stackline targets"
        )
    if name is not None:
        tell_unreadable()
        return find_target(name)
    return read_typed(str(typed), key)[0]


def read_typed(typed: str, key: str | None) -> tuple["Target", int]:
    """A target from chords, numerals or stacks, or a file of them; and the key as written.

    The key is a pitch class. Says so where chords without bar lines are read as one a bar.
    """
    from stackline.practice.targets.target_text import home_key, in_bars, parse_target

    text = _text(typed)
    if in_bars(text) != text and ">" not in text:
        click.echo("no bar lines in the chords: read as one chord a bar", err=True)
    return parse_target(text, key=key, name=" ".join(text.split())), home_key(text, key)


def tell_unreadable() -> None:
    """Say which of the player's own targets cannot be read; the others are used."""
    from stackline.practice.targets.find_target import unreadable_targets

    for sentence in unreadable_targets():
        click.echo(f"stackline: {sentence}; the other targets are used", err=True)


def _text(typed: str) -> str:
    """The text itself, or what a file of that name holds."""
    if "|" in typed or ">" in typed or "\n" in typed:
        return typed
    path = Path(typed)
    try:
        is_file = path.is_file()
    except OSError:  # too long for a name
        is_file = False
    return read_chords(path) if is_file else typed
