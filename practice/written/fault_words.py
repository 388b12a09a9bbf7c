"""A fault as a sentence: over which chord, which degree, and what came instead."""

from collections.abc import Callable

from stackline.practice.review.review_records import Fault, FaultKind
from stackline.practice.targets.targets import Target


def in_words(target: Target, fault: Fault) -> str:
    """``the b9 of V13(b9) did not land on the 5: stayed``; no full stop, no capital."""
    return _WORDS[fault.kind](fault, target.chords[fault.chord].name(), _next_name(target, fault))


def _next_name(target: Target, fault: Fault) -> str:
    after = fault.chord + 1
    return target.chords[after].name() if after < len(target.chords) else ""


def _late(fault: Fault, name: str, following: str) -> str:
    return f"the {fault.degree} of {name} landed late on the {fault.goal} of {following}"


def _unresolved(fault: Fault, name: str, following: str) -> str:
    due = f" on the {fault.goal}" if fault.goal else ""
    came = f"the {fault.came} came instead" if fault.came else "nothing came"
    return f"the {fault.degree} of {name} did not land{due}: {'stayed' if fault.stayed else came}"


def _octave(fault: Fault, name: str, following: str) -> str:
    octaves = fault.octaves
    where = "up" if octaves > 0 else "down"
    far = f"an octave {where}" if abs(octaves) == 1 else f"{abs(octaves)} octaves {where}"
    return f"{name} lay {far if octaves else 'wider'}"


def _missing(fault: Fault, name: str, following: str) -> str:
    return f"{name} without its {'second ' if fault.doubled else ''}{fault.degree}"


def _added(fault: Fault, name: str, following: str) -> str:
    return f"{name} with {article(str(fault.came))} {fault.came} added"


def _waited(fault: Fault, name: str, following: str) -> str:
    return f"{fault.beats:.1f} beats of waiting between {name} and {following}"


_WORDS: dict[FaultKind, Callable[[Fault, str, str], str]] = {
    "wrong note": lambda fault, name, _: (
        f"the {fault.came} instead of the {fault.degree} in {name}"
    ),
    "missing note": _missing,
    "missing guide tone": _missing,
    "added note": _added,
    "moved note": lambda fault, name, _: f"the {fault.degree} of {name} in another octave",
    "other octave": _octave,
    "other order": lambda fault, name, _: f"{name} was stacked {' '.join(fault.stack)}",
    "another voicing": lambda fault, name, _: (
        f"{name} was another voicing: {' '.join(fault.stack)}"
    ),
    "left out": lambda fault, name, _: f"{name} was left out",
    "did not resolve": _unresolved,
    "late resolution": _late,
    "top line": lambda fault, name, _: (
        f"the {fault.came} on top of {name} instead of the {fault.degree}"
    ),
    "hesitation": _waited,
}


def article(degree: str) -> str:
    """``an 11``, ``a b9``: by how a degree is spoken."""
    return "an" if degree in ("11", "R") else "a"
