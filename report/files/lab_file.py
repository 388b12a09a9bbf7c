"""The chords of a take as a ``.lab`` file: start, end and label in Harte syntax, tab-parted.

Source of the syntax: Harte, Sandler, Abdallah and Gomez, "Symbolic representation of
musical chords" (ISMIR 2005); ``N`` is no chord. The format has no column for doubt, so a
chord whose name is unsure is written ``X``, the label that chord evaluation uses for "not
known". Lines join up without gaps from 0 to the end of the recording.
"""

from stackline.report.words.marks import UNSURE_BELOW, one_line
from stackline.report.words.take_view import TakeView
from stackline.shared.harmony import ChordSpan
from stackline.shared.take import Take

NO_CHORD, UNKNOWN = "N", "X"

Line = tuple[float, float, str]


def render(view: TakeView) -> str:
    """The lines as text; a recording without voicings is one line of ``N``."""
    return "".join(f"{start:.3f}\t{end:.3f}\t{label}\n" for start, end, label in _lines(view.take))


def _label(chord: ChordSpan) -> str:
    return UNKNOWN if chord.confidence < UNSURE_BELOW else one_line(chord.symbol.harte) or UNKNOWN


def _lines(take: Take) -> list[Line]:
    """Chords in order, cut where the next begins, with ``N`` in the gaps."""
    chords = sorted({v.chord: None for v in take.voicings}, key=lambda chord: chord.start_s)
    end_s = take.source.duration_s
    limits = [*(chord.start_s for chord in chords[1:]), end_s] if chords else []
    lines: list[Line] = []
    now = 0.0
    for chord, limit in zip(chords, limits, strict=True):
        begin, finish = max(chord.start_s, now), min(chord.end_s, limit, end_s)
        if round(finish, 3) <= round(begin, 3):
            continue
        if round(begin, 3) > round(now, 3):
            lines.append((now, begin, NO_CHORD))
        lines.append((begin, finish, _label(chord)))
        now = finish
    if round(end_s, 3) > round(now, 3):
        lines.append((now, end_s, NO_CHORD))
    return _joined(lines)


def _joined(lines: list[Line]) -> list[Line]:
    """Neighbours of one label as one line."""
    joined: list[Line] = []
    for start, end, label in lines:
        if joined and joined[-1][2] == label and round(joined[-1][1], 3) == round(start, 3):
            joined[-1] = (joined[-1][0], end, label)
        else:
            joined.append((start, end, label))
    return joined
