"""What of a session is kept in the library: what is recognised, and what the player says yes to."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from stackline.practice.columns import plural
from stackline.practice.finding.recognising import SURE
from stackline.practice.library.library import Library
from stackline.practice.targets.targets import Target
from stackline.report.words.marks import one_line
from stackline.sessions.sound_keeping import SoundKeeper, size_words
from stackline.shared.take import Section, Session
from stackline.shared.units import clock

Ask = Callable[[str], bool]


@dataclass(kw_only=True)
class Kept:
    """words: a sentence for each section that is kept. left: numbers of those that are not."""

    words: list[str] = field(default_factory=list)
    left: list[int] = field(default_factory=list)


def keep_session(
    library: Library,
    session: Session,
    targets: Sequence[Target],
    recording: Path,
    *,
    played_on: str | None = None,
    note: str = "",
    ask: Ask | None = None,
) -> Kept:
    """Keep the sections that are recognised at SURE and more, with their passes.

    recording: where the sound of its voicings is.
    ask: answers yes or no to a question about each of the others; without it they are left.
    """
    by_name = {one.name: one for one in targets}
    kept, keeper = Kept(), SoundKeeper(recording)
    for number, section in enumerate(session.sections, start=1):
        best = section.recognised[0] if section.recognised else None
        is_sure = best is not None and best.confidence >= SURE
        target = by_name[best.target] if best is not None else None
        if not is_sure and target is not None:
            words = f"{_named(number, section)} may be practice of {one_line(target.name)}"
            target = target if ask and ask(f"{words}: keep it as that?") else None
        if is_sure or target is not None:
            kept.words.append(_keep(library, keeper, number, section, target, played_on, note))
        elif ask and ask(f"{_named(number, section)}: keep it?"):
            kept.words.append(_keep(library, keeper, number, section, None, played_on, note))
        else:
            kept.left.append(number)
    return kept


def _keep(
    library: Library,
    keeper: SoundKeeper,
    number: int,
    section: Section,
    target: Target | None,
    played_on: str | None,
    note: str,
) -> str:
    added = library.add(section.take, played_on=played_on, note=note)
    if added.outcome != "added" and (played_on is not None or note):
        library.edit(added.id, played_on=played_on, note=note or None)
    size = keeper.keep(library, added.id, section.take)
    words = f"section {number}: {added.outcome}, take {added.id}{size_words(size)}"
    if target is None:
        return words
    passes = library.keep_passes(added.id, target)
    return (
        f"{words}, with {plural(passes, 'pass or false start', 'passes and false starts')} of "
        + (one_line(target.name))
    )


def _named(number: int, section: Section) -> str:
    """``section 2, 0:59.0 to 1:25.3, 12 voicings``."""
    place = f"{clock(section.start_s)} to {clock(section.end_s)}"
    return f"section {number}, {place}, {plural(len(section.take.voicings), 'voicing')}"


def left_words(session: Session, kept: Kept, name: str) -> str:
    """A sentence about what is not kept, and how to keep it; empty where all is."""
    if not kept.left:
        return ""
    listed = "; ".join(_named(number, session.sections[number - 1]) for number in kept.left)
    numbers = ",".join(map(str, kept.left))
    return f"not kept: {listed}. Keep them with: stackline library add {name} --sections {numbers}"
