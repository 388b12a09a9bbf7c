"""``stackline library sound``: how much sound is kept, and whether any is."""

from pathlib import Path

import click

from stackline.commands.library.library_group import FILE, library, opened


@library.command()
@click.argument("switch", required=False, type=click.Choice(["on", "off"]))
@click.option("--yes", is_flag=True, help="Don't ask.")
@FILE
def sound(switch: str | None, yes: bool, file: Path | None) -> None:
    """Say how much sound is kept; switch it off, which removes it, or on.

    Four seconds of sound are kept with each voicing of a recording that is added, so that what a
    search finds can be heard. They stay in the library's file on this machine.

    \b
    Example:
      stackline library sound
      stackline library sound off
    """
    from stackline.practice.columns import plural
    from stackline.practice.library.kept_sound import is_kept, size
    from stackline.practice.library.kept_sound import switch as turn

    with opened(file) as kept:
        takes, taken = size(kept.store)
        amount = f"{plural(takes, 'take')}, {taken / 1e6:.1f} MB"
        if switch is None:
            state = "on" if is_kept(kept.store) else "off"
            click.echo(f"sound is {state}: {amount}")
            return
        if switch == "off" and takes and not yes:
            click.confirm(f"Remove the sound of {amount}, for good?", abort=True)
        turn(kept.store, on=switch == "on")
    gone = f"; removed {amount}" if switch == "off" and takes else ""
    click.echo(f"sound is {switch} for takes that are added from now on{gone}")
