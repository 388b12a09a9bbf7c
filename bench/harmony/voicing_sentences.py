"""Reads the sentences that are said of voicings, and says which clauses are false.

Another pen than `theory/explain.py`: a sentence is taken apart into clauses, each clause is read
for what it claims, and the claim is counted out from MIDI numbers by `pitch_facts`. A clause of no
known form counts as false too, so that nothing is passed over. `move_sentences` does it for moves.
"""

import re
from collections.abc import Callable
from itertools import pairwise

from bench.harmony.pitch_facts import (
    INTERVALS,
    LOWEST,
    Stack,
    can_be_played,
    is_close_four,
    is_dropped,
    midi_of,
    root_of,
    step_of,
    triad_on,
)

DEGREE = r"(?:bb|b|##|#)?\d+|R"
ORDINALS = {"3rd": 0, "4th": 0, "7th": 1, "6th": 1}
# What a chord's words mean, from handbooks: its degrees without tensions named after "with".
SIZES = {
    "major": {"triad": "R 3 5", "6th": "R 3 5 6", "6/9": "R 3 5 6 9", "7th": "R 3 5 7",
              "9th": "R 3 5 7 9", "13th": "R 3 5 7 9 13"},
    "minor": {"triad": "R b3 5", "6th": "R b3 5 6", "6/9": "R b3 5 6 9", "7th": "R b3 5 b7",
              "9th": "R b3 5 b7 9", "11th": "R b3 5 b7 9 11", "13th": "R b3 5 b7 9 13"},
    "dominant": {"7th": "R 3 5 b7", "9th": "R 3 5 b7 9", "13th": "R 3 5 b7 9 13"},
    "suspended": {"7th": "R 4 5 b7", "9th": "R 4 5 b7 9", "13th": "R 4 5 b7 9 13",
                  "4th": "R 4 5", "2nd": "R 9 5"},
    "half-diminished": {"7th": "R b3 b5 b7", "9th": "R b3 b5 b7 9", "11th": "R b3 b5 b7 11"},
    "diminished": {"triad": "R b3 b5", "7th": "R b3 b5 bb7"},
}  # fmt: skip
WHOLE = {
    "altered dominant": "R 3 b7 b9 #9 b13",
    "augmented triad": "R 3 #5",
    "bare fifth": "R 5",
    "minor with a major 7th": "R b3 5 7",
    "minor with a major 7th and 9": "R b3 5 7 9",
}
KINDS = "upper|slash|poly|root|drop|four|stack|cluster|spread|tenth|shell|guide|block|locked|triad"


def false_clauses(sentence: str, check: Callable[[str], bool]) -> list[str]:
    """The clauses of a sentence that do not hold."""
    if not sentence.endswith(".") or not sentence[0].isupper():
        return [sentence]
    clauses = sentence[:-1].split("; ")
    clauses[0] = clauses[0][0].lower() + clauses[0][1:]
    return [one for one in clauses if not check(one)]


def check_voicing(sentence: str, stack: Stack) -> list[str]:
    """False clauses of a sentence on one voicing: its opening, then details."""
    opening = sentence.rstrip(".").split("; ")[0]
    opening = opening[:1].lower() + opening[1:]
    return false_clauses(
        sentence,
        lambda one: _opening(one, stack) if one == opening else _detail(one, stack),
    )


def listed(text: str) -> list[str]:
    """The members of ``a, b and c``."""
    return re.split(r", | and ", text)


def _opening(clause: str, stack: Stack) -> bool:
    """``rootless minor 9th, 3rd at the bottom, close, also drop 2``"""
    first, _, others = clause.partition(", also ")
    names = _kinds_in(others) if others else []
    if re.search(r"close, close$|open, open$", first):
        return False  # said twice
    width = re.search(r", (close|open)$", first)
    if width and (stack.span < 12) != (width[1] == "close"):
        return False
    first = first[: width.start()] if width else first
    return _first_kind(first, stack) and all(_is_kind(name, stack) for name in names)


def _kinds_in(text: str) -> list[str]:
    """Kinds in a list; some have commas of their own."""
    cut = re.sub(
        rf"(, | and )(?=(?:{KINDS}))",
        "\0",
        text,
    )
    return cut.split("\0")


def _first_kind(text: str, stack: Stack) -> bool:
    found = re.fullmatch(r"(rootless|rooted) (.+?)(?:, (\w+) at the bottom)?", text)
    if found:
        sounds = 0 in stack.steps
        bottom = found[3] is None or _at_bottom(found[3], stack)
        return sounds == (found[1] == "rooted") and bottom and _words_hold(found[2], stack)
    found = re.fullmatch(r"(.+?), (3rd|5th) at the bottom", text)
    if found and " as " not in text:
        return _words_hold(found[1], stack) and _is_kind(f"triad, {found[2]} at the bottom", stack)
    words, _, kind = text.partition(" as ")
    return _words_hold(words, stack) and _is_kind(re.sub(r"^an? ", "", kind), stack)


def _at_bottom(place: str, stack: Stack) -> bool:
    lowest = stack.steps[0]
    return lowest in ((stack.third,) if ORDINALS.get(place) == 0 else stack.sevenths)


def _words_hold(words: str, stack: Stack) -> bool:
    """Whether the chord's words mean the chord of the symbol, and its bass."""
    from stackline.theory.chords.qualities import quality  # the symbol's own degrees, a fact

    words, _, bass = words.partition(" over ")
    if bass and not stack.symbol.endswith(f"/{bass}"):
        return False
    plain, _, tensions = words.partition(" with ")
    if words in WHOLE:
        degrees, tensions = WHOLE[words].split(), ""
    else:
        family, _, size = plain.rpartition(" ")
        if size not in SIZES.get(family, {}):
            return False
        degrees = SIZES[family][size].split() + (listed(tensions) if tensions else [])
    meant = {step_of(one) for one in degrees}
    row = quality(root_of(stack.symbol)[1])
    own = {step_of(one) for one in row.degrees}
    # an altered 5 or 9 takes the place of the natural one
    return own <= meant and meant - own <= {step_of("5"), step_of("9")}


def _is_kind(kind: str, stack: Stack) -> bool:
    """Whether a stack is of a kind, from its definition."""
    steps, gaps, n = set(stack.steps), stack.gaps, len(stack.pitches)
    guides = {stack.third, *stack.sevenths}
    triad = re.fullmatch(
        r"(?:upper structure|slash chord), (major|minor) triad on the (\S+)(?: over the (\S+))?",
        kind,
    )
    if triad:
        found = triad_on(stack.pitches[-3:])
        on = (stack.root + step_of(triad[2])) % 12
        bass = not triad[3] or (n == 4 and stack.steps[0] == step_of(triad[3]))
        return found == (triad[1], on) and bass and (triad[3] is not None or {4, 10} <= steps)
    two = re.fullmatch(
        r"polychord, (major|minor) triad on the (\S+) over (major|minor) triad on the (\S+)", kind
    )
    if two:
        low, high = triad_on(stack.pitches[:3]), triad_on(stack.pitches[3:])
        want = [(two[i], (stack.root + step_of(two[i + 1])) % 12) for i in (1, 3)]
        return n == 6 and [high, low] == want
    if kind.startswith("root"):
        bottom = re.search(r", (\w+) at the bottom", kind)
        width = {"close": stack.span < 12, "open": stack.span >= 12}.get(
            kind.rpartition(", ")[2], True
        )
        return (
            (0 in steps) == kind.startswith("rooted")
            and width
            and (bottom is None or _at_bottom(bottom[1], stack))
        )
    rules = {
        "octaves": len(steps) == 1,
        "shell": n <= 3 and steps <= guides | {0} and 0 in steps,
        "guide tones": n <= 3 and steps <= guides and 0 not in steps,
        "block chord": n == 5 and stack.span == 12 and is_close_four(stack.pitches[1:]),
        "locked hands": n == 5 and stack.span == 12 and is_close_four(stack.pitches[1:]),
        "four-way close": is_close_four(stack.pitches),
        "drop 2": is_dropped(stack.pitches, 2),
        "drop 3": is_dropped(stack.pitches, 3),
        "drop 2&4": is_dropped(stack.pitches, 2, 4),
        "fourths": n >= 3 and set(gaps) <= {5, 6} and 5 in gaps,
        "fourths with a third on top": gaps == (5, 5, 5, 4),
        "fourths, two hands": n == 6 and set(gaps[:2] + gaps[3:]) <= {5, 6},
        "stacked fifths, two hands": gaps[:2] == gaps[3:] == (7, 7) and gaps[2] in (1, 2),
        "cluster": any({a, b} <= {1, 2} for a, b in pairwise(gaps)),
        "spread": stack.steps[0] == 0 and n >= 4 and stack.span >= 14 and gaps[0] >= 7,
        "tenth": stack.steps[0] == 0 and stack.span in (15, 16) and stack.steps[-1] == stack.third,
        "triad, 3rd at the bottom": steps == {0, stack.third, 7} and stack.steps[0] == stack.third,
        "triad, 5th at the bottom": steps == {0, stack.third, 7} and stack.steps[0] == 7,
    }  # fmt: skip
    return rules.get(kind, False)


def _detail(clause: str, stack: Stack) -> bool:
    """A clause on doublings, held notes, hands, low intervals."""
    found = re.fullmatch(
        rf"the ({DEGREE}) is doubled (an octave|\d octaves) down in the (left|right) hand", clause
    )
    if found:
        same = stack.at(found[1])
        apart = 12 if found[2] == "an octave" else 12 * int(found[2][0])
        hand = "left" if same and same[0] in stack.left else "right"
        return len(same) == 2 and same[1] - same[0] == apart and hand == found[3]
    found = re.fullmatch(rf"the ({DEGREE}) sounds (\d) times over (\d) octaves", clause)
    if found:
        same = stack.at(found[1])
        return len(same) == int(found[2]) and same[-1] - same[0] == 12 * int(found[3])
    found = re.fullmatch(r"the (.+) still sounds?", clause)
    if found:
        held = sorted((p - stack.root) % 12 for p in stack.pitches if p not in stack.struck)
        return held == sorted(step_of(one) for one in listed(found[1]))
    found = re.fullmatch(r"the (\S+ ?\S*) ([A-G][b#]*-?\d)-([A-G][b#]*-?\d) lies low", clause)
    if found:
        low, high = midi_of(found[2]), midi_of(found[3])
        at = stack.pitches.index(low) if low in stack.pitches else -2
        beside = stack.pitches[at + 1 : at + 2] == (high,)
        return beside and INTERVALS[high - low] == found[1] and low < LOWEST.get(high - low, 0)
    right = [p for p in stack.pitches if p not in stack.left]
    spans = [hand[-1] - hand[0] for hand in (stack.left, right) if hand]
    if clause == "a stretch: one hand spans more than a ninth":
        return max(spans) > 14
    if clause == "no two hands reach this: rolled, pedalled, or two attacks in one":
        return not can_be_played(stack.pitches)
    found = re.fullmatch(r"(\d+) notes at once are more than ten fingers play", clause)
    return bool(found and int(found[1]) == len(stack.pitches) > 10)
