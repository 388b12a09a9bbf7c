"""The options by which check and drill are told what to play, read in one place."""

from pathlib import Path
from typing import TYPE_CHECKING

from stackline.shared.complaint import Complaint

if TYPE_CHECKING:
    from stackline.practice.targets.targets import Target


def chosen_target(typed: str | None, name: str | None, key: str | None) -> "Target":
    """The target from ``--changes`` or ``--target``; raises Complaint unless exactly one is given.

    typed: chords, numerals or stacks, or a text file of them. name: of a target, or a file.
    """
    from stackline.practice.targets.find_target import find_target
    from stackline.practice.targets.target_text import parse_target

    if (typed is None) == (name is None):
        raise Complaint(
            'say what was to be played, once: --changes "Dm9 | G13(b9) | C6/9", '
            "or --target with a name from: stackline targets"
        )
    if name is not None:
        return find_target(name)
    text = _text(str(typed))
    return parse_target(text, key=key, name=" ".join(text.split()))


def _text(typed: str) -> str:
    """The text itself, or what a file of that name holds."""
    if "|" in typed or ">" in typed or "\n" in typed:
        return typed
    path = Path(typed)
    try:
        return path.read_text(encoding="utf-8") if path.is_file() else typed
    except (OSError, UnicodeDecodeError) as error:
        raise Complaint(f"--changes {path}: cannot be read as a text file ({error})") from error
