"""A take as CSV (RFC 4180): one row a voicing, for a spreadsheet.

Times in seconds from the start of the recording; lists inside a cell are parted by
spaces; accidentals are ASCII. An empty cell means that there is nothing to say (no beat
grid, no motion before). `notes_sure` and `name_sure` are chances, 0..1.
"""

import csv
import io

from stackline.report.words.marks import doubts, hands
from stackline.report.words.take_view import TakeView
from stackline.shared.harmony import Motion, Voicing
from stackline.theory.motion.tally import ARRIVED

COLUMNS = (
    "voicing", "bar", "beat", "onset_s", "offset_s", "symbol", "harte", "source", "stack",
    "notes", "midi", "left", "right", "structures", "doublings", "top", "top_degree",
    "top_move", "parallel", "due", "landed", "notes_sure", "name_sure", "unsure",
    "runner_up", "runner_up_reason", "under",
)  # fmt: skip


def render(view: TakeView) -> str:
    """The CSV text, with a header row, lines ending in CR LF as the RFC has it."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS)
    writer.writeheader()
    for i, voicing in enumerate(view.take.voicings):
        first: dict[str, object] = {"voicing": i + 1}
        writer.writerow(first | _heard(voicing) | _named(voicing) | _moved(view.into.get(i)))
    return out.getvalue()


def _heard(voicing: Voicing) -> dict[str, object]:
    position = voicing.attack.position
    left, right = hands(voicing)
    return {
        "bar": position.bar if position else "",
        "beat": f"{float(position.beat):.6g}" if position else "",
        "onset_s": f"{voicing.attack.onset_s:.3f}",
        "offset_s": f"{voicing.attack.offset_s:.3f}",
        "notes": " ".join(tone.name for tone in voicing.tones),
        "midi": " ".join(str(tone.midi) for tone in voicing.tones),
        "left": " ".join(tone.name for tone in left),
        "right": " ".join(tone.name for tone in right),
        "top": voicing.top.name,
        "notes_sure": f"{voicing.confidence:.3f}",
        "unsure": " ".join(doubts(voicing)),
    }


def _named(voicing: Voicing) -> dict[str, object]:
    chord = voicing.chord
    runner_up = chord.alternatives[0] if chord.alternatives else None
    return {
        "symbol": chord.symbol.text,
        "harte": chord.symbol.harte,
        "source": chord.source,
        "name_sure": f"{chord.confidence:.3f}",
        "stack": " ".join(str(degree) for degree in voicing.stack),
        "structures": "; ".join(voicing.structures),
        "doublings": " ".join(f"{one.degree}x{one.count}" for one in voicing.doublings),
        "top_degree": str(voicing.top.degree),
        "runner_up": runner_up.symbol.text if runner_up else "",
        "runner_up_reason": runner_up.reason if runner_up else "",
        "under": " ".join(str(tone.degree) for tone in voicing.under),
    }


def _moved(motion: Motion | None) -> dict[str, object]:
    if motion is None:
        return {}
    due = len(motion.resolutions)
    landed = sum(one.outcome in ARRIVED for one in motion.resolutions)
    return {
        "top_move": motion.top.semitones,
        "parallel": motion.parallel.kind if motion.parallel else "",
        "due": due or "",
        "landed": landed if due else "",
    }
