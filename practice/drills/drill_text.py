"""A drill as plain text: each key with its symbols and notes, left and right hand parted.

Below stand its changes, so that the text in a file is one that ``--changes`` takes.
"""

from stackline.practice.columns import columns
from stackline.practice.drills.drill import Drill
from stackline.practice.targets.numerals import key_name
from stackline.practice.targets.placing import Placed, note_names
from stackline.practice.targets.target_text import BEATS_IN_BAR
from stackline.practice.targets.targets import TargetChord
from stackline.report.words.marks import one_line
from stackline.theory.sheet.printed_changes import MARK, in_bars
from stackline.theory.stacks.hands import split_hands

MOST_COLUMNS = 4  # chords beside each other; longer targets stand below each other
CARE = (
    "Rest your hands between rounds. A reach that does not fall under the hand is rolled, "
    "or loses a note; it is never forced."
)


def render(drill: Drill) -> str:
    """The drill as text, ending in a newline."""
    target = drill.target
    answer = ", each answered by as many empty bars" if drill.answer else ""
    bars = f"{drill.bars_per_key} bar{'s' if drill.bars_per_key > 1 else ''} a key"
    beats = "beats" if drill.parts == 2 else "dotted quarters"
    meter = "" if drill.meter == "4/4" else f"{drill.meter}, "
    head = f"{one_line(target.name)}, {meter}{drill.tempo_bpm:g} {beats} a minute, {bars}{answer}\n"
    body = _beside(drill) if len(target.chords) <= MOST_COLUMNS else _below(drill)
    parts = (head, body, _cautions(drill), _changes(drill))
    return "\n".join(part for part in parts if part)


def _changes(drill: Drill) -> str:
    """A line a key that ``--changes`` reads; nothing where chords change off the beat."""
    meter = f"{drill.beats_per_bar}/4\n" if drill.beats_per_bar != BEATS_IN_BAR else ""
    lines = []
    for placed in drill.keys:
        chords = [(one.symbol(placed.key).text, one.beats) for one in drill.target.chords]
        short = drill.bars_per_key * drill.beats_per_bar - sum(drill.target.beats)
        if short:
            chords[-1] = (chords[-1][0], chords[-1][1] + short)
        line = in_bars(chords, drill.beats_per_bar)
        if line is None:
            return ""
        lines.append(line)
    return f"{MARK}\n{meter}" + "\n".join(lines) + "\n"


def _beside(drill: Drill) -> str:
    heads = ["key"] + [
        f"{one.name()}: {' '.join(map(str, one.degrees))}" for one in drill.target.chords
    ]
    rows = [
        [key_name(placed.key, minor=drill.target.minor)]
        + [
            f"{chord.symbol(placed.key).text}  {hands(chord, placed.key, pitches)}"
            for chord, pitches in zip(drill.target.chords, placed.pitches, strict=True)
        ]
        for placed in drill.keys
    ]
    return columns(heads, rows)


def _below(drill: Drill) -> str:
    rows = []
    for placed in drill.keys:
        for i, (chord, pitches) in enumerate(zip(drill.target.chords, placed.pitches, strict=True)):
            key = key_name(placed.key, minor=drill.target.minor) if not i else ""
            symbol = chord.symbol(placed.key).text
            rows.append(
                (key, symbol, " ".join(map(str, chord.degrees)), hands(chord, placed.key, pitches))
            )
    return columns(("key", "chord", "stack", "notes"), rows)


def hands(chord: TargetChord, key: int, pitches: tuple[int, ...]) -> str:
    """Note names low to high, a stroke between the hands."""
    names = note_names(chord, key, pitches)
    left = split_hands(pitches).left_count
    parts = [" ".join(names[:left]), " ".join(names[left:])]
    return " / ".join(part for part in parts if part)


def _cautions(drill: Drill) -> str:
    lines = [
        f"! {key_name(placed.key, minor=drill.target.minor)}, {words}"
        for placed in _once(drill.keys)
        for words in placed.cautions
    ]
    return "\n".join([*lines, CARE]) + "\n" if lines else ""


def _once(keys: tuple[Placed, ...]) -> list[Placed]:
    return list(dict.fromkeys(keys))
