"""Some sections of a recording, by their numbers, for ``stackline library add --sections``."""

import re
from pathlib import Path

from stackline.listen.time.time_hints import TimeHints
from stackline.sessions.heard_session import session_from
from stackline.shared.complaint import Complaint
from stackline.shared.take import Take

Numbers = frozenset[int]
ALL: Numbers = frozenset()


def read_numbers(typed: str) -> Numbers:
    """Numbers of sections from ``2,4``; `ALL` from ``all``. Raises Complaint for anything else."""
    if typed.strip().casefold() == "all":
        return ALL
    words = [word.strip() for word in typed.split(",")]
    if not all(re.fullmatch(r"[1-9]\d{0,3}", word) for word in words):
        raise Complaint(
            f"--sections {typed!r}: write all, or the numbers that stackline check shows, such as "
            "2,4"
        )
    return frozenset(map(int, words))


def chosen_sections(path: Path, wanted: Numbers, *, ear: str, time: TimeHints) -> list[Take]:
    """The takes of some sections of a recording; raises Complaint for a number it has not."""
    sections = session_from(path, (), ear=ear, time=time).sections
    beyond = sorted(number for number in wanted if number > len(sections))
    if beyond:
        raise Complaint(
            f"{path.name} has {len(sections)} sections, so no section {beyond[0]}; see them with: "
            f"stackline check {path}"
        )
    numbered = enumerate((one.take for one in sections), start=1)
    return [take for number, take in numbered if number in wanted or wanted == ALL]
