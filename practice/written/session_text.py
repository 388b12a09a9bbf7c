"""A session as plain text: a row a section, and what was recognised in it.

Places are by the clock of the recording; a pass is told by the section's own clock as well.
"""

from stackline.practice.columns import columns, plural
from stackline.practice.targets.numerals import key_name
from stackline.report.words.marks import one_line
from stackline.shared.take import Recognised, Section, Session, Take
from stackline.shared.units import clock
from stackline.theory.form.key_centres import key_centres

SURE = 0.9  # recognised beyond a question mark
MOSTLY = 0.6  # of the voicings in one key: it is the section's


def render(session: Session) -> str:
    """The session as text, ending in a newline."""
    name = one_line(session.source.name)
    if not session.sections:
        return f"{name}: nothing was heard in {clock(session.source.duration_s)}\n"
    heads = ("section", "from", "to", "key", "tempo", "meter", "voicings", "recognised")
    rows = [
        (str(number), clock(one.start_s), clock(one.end_s), key_of(one.take), tempo_of(one.take),
         meter_of(one.take), str(len(one.take.voicings)), what(one))
        for number, one in enumerate(session.sections, start=1)
    ]  # fmt: skip
    count = plural(len(session.sections), "section")
    length = clock(session.source.duration_s)
    notes = [f"section {number}: {words}\n" for number, words in first_passes(session)]
    return f"{name}: {count} in {length}\n\n{columns(heads, rows)}" + "".join(["\n", *notes])


def first_passes(session: Session) -> list[tuple[int, str]]:
    """Where practice of what was recognised begins, by both clocks: section and words."""
    found = []
    for number, section in enumerate(session.sections, start=1):
        for one in section.recognised[:1]:
            whole = clock(section.start_s + one.start_s)
            own = f", {clock(one.start_s)} by its own clock" if section.start_s else ""
            found.append((number, f"{passes_words(one)}, the first at {whole}{own}"))
    return found


def what(section: Section) -> str:
    """What a section is practice of, with ``?`` and the chance where that is not sure."""
    if not section.recognised:
        return "-"
    one = section.recognised[0]
    doubt = "" if one.confidence >= SURE else f" ? {one.confidence:.0%}"
    return one_line(one.target) + doubt


def passes_words(one: Recognised) -> str:
    """``5 passes of major ii-V-I, in C F Bb``."""
    keys = " ".join(key_name(key) for key in one.keys)
    return f"{plural(one.passes, 'pass', 'passes')} of {one_line(one.target)}, in {keys}"


def key_of(take: Take) -> str:
    """The key of most of a take; how many where none is."""
    lengths: dict[str, int] = {}
    for one in key_centres(take.voicings):
        name = f"{one.key.tonic}{'m' if one.key.minor else ''}"
        lengths[name] = lengths.get(name, 0) + one.last - one.first + 1
    if not lengths:
        return "-"
    most = max(lengths, key=lambda name: lengths[name])
    if lengths[most] >= MOSTLY * sum(lengths.values()):
        return most
    return f"{len(lengths)} keys"


def tempo_of(take: Take) -> str:
    """Beats a minute, with ``?`` where they are uncertain; a dash without beats."""
    grid = take.grid
    if not grid.tempo_bpm:
        return "-"
    return f"{grid.tempo_bpm:.0f}{'?' if grid.is_uncertain else ''}"


def meter_of(take: Take) -> str:
    """Beats in a bar, with ``?`` where bars are only assumed; a dash without beats."""
    grid = take.grid
    if not grid.beats:
        return "-"
    return f"{grid.beats_per_bar}/4{'?' if grid.source == 'assumed' else ''}"
