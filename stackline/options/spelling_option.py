"""``--spell``: flats or sharps throughout, for every command that prints names."""

from collections.abc import Callable
from typing import TypeVar

import click

Command = TypeVar("Command", bound=Callable[..., object])


def spell_option(command: Command) -> Command:
    """Give a command ``--spell``; it holds while the command runs."""
    return click.option(
        "--spell",
        type=click.Choice(["key", "flats", "sharps"]),
        default="key",
        show_default=True,
        expose_value=False,
        is_eager=True,
        callback=_spell,
        help="How roots and keys are spelled: by their key, or alike.",
    )(command)


def _spell(context: click.Context, _: click.Parameter, value: str) -> str:
    if value != "key" and not context.resilient_parsing:
        from stackline.theory.chords.spelling import spelled_with

        context.with_resource(spelled_with("flats" if value == "flats" else "sharps"))
    return value
