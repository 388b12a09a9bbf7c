"""The roots under a take's chords, for the page to play softly when they are asked for."""

import json

from stackline.shared.harmony import Voicing
from stackline.shared.take import Take
from stackline.theory.chords.foreign_chords import is_known
from stackline.theory.chords.root_under import bass_key

SHORTEST_S = 0.3  # a root sounds at least this long


def roots_json(take: Take) -> str:
    """Onset, length in seconds and MIDI key of each chord's root; a chord struck again goes on."""
    rows: list[list[float]] = []
    last: tuple[float, int] | None = None
    for voicing in take.voicings:
        if not is_known(voicing.chord.symbol):
            last = None
            continue
        here = (voicing.chord.start_s, bass_key(voicing.chord.symbol))
        if here != last:
            start = voicing.attack.onset_s
            if rows and last is not None:
                rows[-1][1] = round(min(rows[-1][1], start - rows[-1][0]), 3)
            rows.append([round(start, 3), _length(voicing), here[1]])
        last = here
    return json.dumps(rows, separators=(",", ":"))


def _length(voicing: Voicing) -> float:
    return round(max(voicing.chord.end_s - voicing.attack.onset_s, SHORTEST_S), 3)
