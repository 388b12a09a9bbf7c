"""From what a player types to a target: a name, a part of a name, or a file."""

import difflib
from pathlib import Path

from stackline.practice.targets.target_file import built_in, read_set, readable_in
from stackline.practice.targets.targets import Target
from stackline.shared.complaint import Complaint
from stackline.shared.folder import own_targets_path

MOST_SHOWN = 5  # names that are offered (ours)


def known_targets() -> tuple[Target, ...]:
    """The player's own targets, then the built-in ones; an own name hides a built-in one."""
    own, _ = _own()
    names = {one.name.casefold() for one in own}
    return own + tuple(one for one in built_in() if one.name.casefold() not in names)


def unreadable_targets() -> tuple[str, ...]:
    """A sentence for each of the player's own targets that cannot be read."""
    return _own()[1]


def _own() -> tuple[tuple[Target, ...], tuple[str, ...]]:
    path = own_targets_path()
    return readable_in(path) if path.exists() else ((), ())


def find_target(typed: str) -> Target:
    """The target that a player means.

    typed: a name, a part that only one name has, ``set.toml`` (one target inside) or
    ``set.toml:name``. Raises Complaint that lists what is near.
    """
    path, name = _as_file(typed)
    if path is not None:
        return _one_of(read_set(path), name, str(path))
    return _one_of(known_targets(), typed, "the known targets")


def _as_file(typed: str) -> tuple[Path | None, str]:
    head, found, tail = typed.partition(".toml")
    if not found or (tail and not tail.startswith(":")):
        return None, typed
    return Path(head + found), tail[1:].strip()


def _one_of(targets: tuple[Target, ...], name: str, where: str) -> Target:
    if not name and len(targets) == 1:
        return targets[0]
    wanted = name.casefold().strip()
    exact = [one for one in targets if one.name.casefold() == wanted]
    partly = [
        one for one in targets if wanted and all(w in one.name.casefold() for w in wanted.split())
    ]
    if len(exact or partly) == 1:
        return (exact or partly)[0]
    if partly:
        raise Complaint(f"{name!r} is part of {len(partly)} names in {where}: {_quoted(partly)}")
    near = difflib.get_close_matches(
        wanted, [one.name.casefold() for one in targets], MOST_SHOWN, 0.3
    )
    shown = [one for one in targets if one.name.casefold() in near] or list(targets)
    raise Complaint(
        f"no target of {where} is called {name!r}; near are {_quoted(shown)}; "
        "see them all with: stackline targets"
    )


def _quoted(targets: list[Target]) -> str:
    shown = ", ".join(repr(one.name) for one in targets[:MOST_SHOWN])
    return shown + (f" and {len(targets) - MOST_SHOWN} more" if len(targets) > MOST_SHOWN else "")
