"""The one thing to work on next, from what went wrong most.

Faults are gathered by kind, chord and degree over all passes, and weighed: how much such
a fault harms the harmony (ours, common practice: a chord without its guide tone, or a
tension left hanging, is heard by everyone) times the number of keys that it happened in.
"""

from collections.abc import Sequence

from stackline.practice.review.review_records import Fault, FaultKind, PassReview, Review
from stackline.practice.targets.targets import Target
from stackline.practice.written.fault_words import in_words
from stackline.theory.chords.spelling import spell_degree

HARM: dict[FaultKind, float] = {
    "left out": 3.0, "missing guide tone": 3.0, "did not resolve": 3.0, "another voicing": 2.5,
    "wrong note": 2.5, "missing note": 2.0, "late resolution": 1.5, "added note": 1.5,
    "top line": 1.2, "other order": 1.0, "other octave": 1.0, "moved note": 1.0,
    "hesitation": 0.8,
}  # fmt: skip
FASTER = 1.05  # times as fast: a step that is hardly felt (ours)
SLOWLY = 0.75  # of the tempo at which it went wrong
FEW_KEYS = 6

Problem = tuple[FaultKind, int, str | None]


def problems(passes: Sequence[PassReview]) -> list[tuple[Problem, list[tuple[PassReview, Fault]]]]:
    """Faults gathered by kind, chord and degree, the gravest first."""
    found: dict[Problem, list[tuple[PassReview, Fault]]] = {}
    for one in passes:
        for fault in one.faults:
            found.setdefault((fault.kind, fault.chord, fault.degree), []).append((one, fault))

    def weight(places: list[tuple[PassReview, Fault]]) -> float:
        kind = places[0][1].kind
        sure = sum(fault.sure for _, fault in places) / len(places)
        return HARM[kind] * len({one.key for one, _ in places}) * sure

    return sorted(found.items(), key=lambda item: -weight(item[1]))


def next_thing(review: Review) -> str:
    """What to work on next and why, in a sentence."""
    target, passes, keys = review.target, review.passes, review.keys
    if not passes:
        return (
            "No whole pass of the target was found: play it once through in one key, "
            "at 60 beats a minute, each chord on its beat."
        )
    ranked = problems(passes)
    if ranked:
        return (
            f"{_about(target, ranked[0][1], len(passes))} {_at_the_piano(target, ranked[0][1][0])}"
        )
    fresh = [one.key_name for one in keys if one.verdict == "not played"]
    if fresh:
        return f"All clean so far; take it to the keys not played yet: {listed(fresh)}."
    slowest = min((one.best_bpm for one in keys if one.best_bpm), default=None)
    if slowest is None:
        return "Clean in all twelve keys; choose a harder target."
    if target.tempo_bpm and slowest < target.tempo_bpm:
        return (
            f"Clean in all twelve keys; the slowest was {slowest:.0f} beats a minute, "
            f"the target asks {target.tempo_bpm:.0f}: try {slowest * FASTER:.0f}."
        )
    return f"Clean in all twelve keys; try {slowest * FASTER:.0f} beats a minute."


def _about(target: Target, places: Sequence[tuple[PassReview, Fault]], n_passes: int) -> str:
    first = places[0][1]
    keys = list(dict.fromkeys(one.key_name for one, _ in places))
    where = listed(keys) if len(keys) <= FEW_KEYS else f"{len(keys)} keys"
    count = len({id(one) for one, _ in places})
    words = in_words(target, first)
    words = words[0].upper() + words[1:]
    passes = "pass" if n_passes == 1 else "passes"
    return f"{words}, in {where} ({count} of {n_passes} {passes})."


def _at_the_piano(target: Target, place: tuple[PassReview, Fault]) -> str:
    """What to do about a fault: the two chords around it, their notes, a tempo."""
    one, fault = place
    onward = fault.kind in ("did not resolve", "late resolution", "hesitation")
    last = min(fault.chord + 1 if onward else fault.chord, len(target.chords) - 1)
    chords = range(max(0, last - 1), last + 1)
    steps = " to ".join(_as_notes(target, one, chord) for chord in chords)
    tempo = f" at {one.tempo_bpm * SLOWLY:.0f} beats a minute" if one.tempo_bpm else " slowly"
    return f"At the piano: {steps} in {one.key_name},{tempo}, until it is clean three times."


def _as_notes(target: Target, one: PassReview, chord: int) -> str:
    """A chord's symbol, and the notes meant where the target says them."""
    symbol = target.chords[chord].symbol(one.key)
    voicing = next((v for v in one.voicings if v.chord == chord), None)
    if voicing is None or not voicing.compared.meant:
        return symbol.text
    degrees = target.chords[chord].degrees
    names = " ".join(spell_degree(symbol.root, degree) for degree in degrees)
    return f"{symbol.text} ({names})"


def listed(words: Sequence[str]) -> str:
    """``C, F and Bb``."""
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
