"""One sentence for a voicing and one for a motion, made from the facts alone.

Every word stands for a field of the record; where a fact is missing, its clause is
missing. ASCII accidentals; `stackline.theory.chords.spelling.with_signs` is for print.
"""

import re
from collections.abc import Sequence

from stackline.shared.harmony import Degree, Doubling, Motion, Resolution, Voicing
from stackline.theory.chords.qualities import quality
from stackline.theory.motion.motion import outer_motion

_FAMILY_WORDS = {
    "major": "major", "minor": "minor", "dominant": "dominant", "suspended": "suspended",
    "half-diminished": "half-diminished", "diminished": "diminished",
}  # fmt: skip
_ODD_WORDS = {"7alt": "altered dominant", "+": "augmented triad", "sus2": "suspended 2nd",
              "sus4": "suspended 4th", "5": "bare fifth"}  # fmt: skip
_ARTICLES = {"shell": "a ", "block chord": "a ", "cluster": "a ", "spread": "a ", "tenth": "a ",
             "slash chord": "a ", "polychord": "a ", "upper structure": "an "}  # fmt: skip
_MAY_BE_OPEN = frozenset(
    {"rootless", "rooted", "shell", "guide tones", "triad", "upper structure", "slash chord"}
)  # kinds that are played close and open; of all others the kind says it
COIN_TOSS = 0.6  # a name said with less is hardly surer than another (ours)
_NUMBER = re.compile(r"6/9|13|11|9|7|6")


def chord_words(key: str) -> str:
    """A quality in words: ``m9`` "minor 9th", ``13(b9)`` "dominant 13th with b9"."""
    row = quality(key)
    plain, _, inside = key.partition("(")
    if row.family == "minor" and "Maj" in key:
        words = "minor with a major 7th" + (" and 9" if "9" in plain else "")
    elif key in _ODD_WORDS:
        words = _ODD_WORDS[key]
    else:
        number = _NUMBER.search(plain.removesuffix("b5"))
        size = number[0] if number else "triad"
        suffix = "" if size in ("triad", "6/9") else "th"
        words = f"{_FAMILY_WORDS[row.family]} {size}{suffix}"
    tensions = inside.rstrip(")").removeprefix("add")
    if not tensions or key == "+":
        return words
    return f"{words} with {_listed(tensions.split(','))}"


def _listed(words: Sequence[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def explain_voicing(voicing: Voicing) -> str:
    """The build of a voicing in one sentence."""
    parts = [_opening(voicing)]
    parts += [_doubling_words(one, voicing) for one in voicing.doublings]
    held = [str(tone.degree) for tone in voicing.tones if tone.held]
    if held:
        parts.append(f"the {_listed(held)} still {'sounds' if len(held) == 1 else 'sound'}")
    parts += list(voicing.warnings)
    return _sentence(parts)


def _sentence(parts: Sequence[str]) -> str:
    text = "; ".join(parts)
    return text[0].upper() + text[1:] + "."


def _opening(voicing: Voicing) -> str:
    """Structure and chord: ``rootless minor 9th, 3rd at the bottom, close``."""
    first, *others = voicing.structures
    symbol = voicing.chord.symbol
    words = chord_words(symbol.quality) + (f" over {symbol.bass}" if symbol.bass else "")
    kind, _, rest = first.partition(", ")
    if kind in ("rootless", "rooted"):
        opening = f"{kind} {words}" + (f", {rest}" if rest else "")
    elif kind == "triad":
        opening = f"{words}, {rest}"
    else:
        opening = f"{words} as {_ARTICLES.get(kind, '')}{first}"
    width = "close" if voicing.pitches[-1] - voicing.pitches[0] < 12 else "open"
    if kind in _MAY_BE_OPEN and width not in first.split(", "):
        opening += f", {width}"
    return opening + (f", also {_listed(others)}" if others else "")


def _doubling_words(one: Doubling, voicing: Voicing) -> str:
    octaves = one.distance // 12
    apart = "an octave" if octaves == 1 else f"{octaves} octaves"
    if one.count > 2:
        return f"the {one.degree} sounds {one.count} times over {octaves} octaves"
    lowest = next(tone for tone in voicing.tones if tone.degree == one.degree)
    return f"the {one.degree} is doubled {apart} down in the {lowest.hand} hand"


def explain_motion(motion: Motion, voicings: Sequence[Voicing]) -> str:
    """What moves from one voicing to the next, in one sentence."""
    before, after = voicings[motion.from_index], voicings[motion.to_index]
    parts = [f"top line: {_top_words(motion, after)}"]
    parts += [
        words
        for words in (
            _parallel_words(motion),
            _outer_words(motion, before, after),
            _guide_words(motion, before, after),
            _common_words(motion),
        )
        if words
    ]
    parts += dict.fromkeys(_resolution_words(one) for one in motion.resolutions)
    parts += [words for words in (hanging_words(motion, voicings),) if words]
    return _sentence(parts)


def hanging_words(motion: Motion, voicings: Sequence[Voicing]) -> str:
    """That what was due hangs on a name that is no surer than a toss-up; else empty."""
    both = (voicings[motion.from_index].chord, voicings[motion.to_index].chord)
    doubtful = [one for one in both if one.confidence < COIN_TOSS]
    if not motion.resolutions or not doubtful:
        return ""
    names = [f"{one.symbol.text} ({one.confidence:.0%})" for one in doubtful]
    chords = "the chord is" if len(names) == 1 else "the chords are"
    return f"the resolutions hold only if {chords} {_listed(names)}"


def _top_words(motion: Motion, after: Voicing) -> str:
    top, symbol = motion.top, after.chord.symbol.text
    if top.semitones == 0:
        if top.from_degree == top.to_degree:
            return f"the {top.from_degree} stays"
        return f"the {top.from_degree} stays and becomes the {top.to_degree} of {symbol}"
    way = "up" if top.semitones > 0 else "down"
    verb = {"step": "steps", "skip": "skips", "leap": "leaps"}[top.kind]
    return f"the {top.from_degree} {verb} {way} to the {top.to_degree} of {symbol}"


def _parallel_words(motion: Motion) -> str:
    if motion.parallel is None:
        return ""
    size = abs(motion.parallel.semitones)
    way = "up" if motion.parallel.semitones > 0 else "down"
    unit = "semitone" if size == 1 else "semitones"
    kind = motion.parallel.kind
    if kind == "diatonic parallel":
        return f"all voices move in parallel within the scale, the lowest {size} {unit} {way}"
    return f"{kind}, the same shape {size} {unit} {way}"


def _outer_words(motion: Motion, before: Voicing, after: Voicing) -> str:
    kind = outer_motion(before, after)
    if motion.parallel is not None or kind in ("still", "similar"):
        return ""
    return f"outer voices in {kind} motion"


def _move_words(semitones: int, to: Degree) -> str:
    """A guide tone's move: never more than a whole step."""
    if semitones == 0:
        return f"stays as the {to}"
    return f"steps {'up' if semitones > 0 else 'down'} to the {to}"


def _guide_words(motion: Motion, before: Voicing, after: Voicing) -> str:
    then = {tone.midi: tone.degree for tone in after.tones}
    was = {tone.midi: tone.degree for tone in before.tones}
    words = []
    for move in motion.guide_tones:
        if move.from_midi is not None and move.to_midi is not None:
            moved = _move_words(move.to_midi - move.from_midi, then[move.to_midi])
            words.append(f"the {was[move.from_midi]} {moved}")
    return f"guide tones: {_listed(list(dict.fromkeys(words)))}" if words else ""


def _common_words(motion: Motion) -> str:
    """Tones that stay and change their names; guide tones have been named."""
    guides = {move.from_midi for move in motion.guide_tones}
    kept = [
        f"the {one.from_degree} is now the {one.to_degree}"
        for one in motion.common_tones
        if one.from_degree != one.to_degree and one.midi not in guides
    ]
    label = "common tone" if len(set(kept)) == 1 else "common tones"
    return f"{label}: {_listed(list(dict.fromkeys(kept)))}" if kept else ""


def _resolution_words(one: Resolution) -> str:
    to = f" on the {one.to}" if one.to is not None else ""
    instead = f" but went to the {one.to}" if one.to is not None else ", its voice stopped"
    return {
        "landed": f"the {one.degree} landed{to}",
        "other octave": f"the {one.degree} landed{to} in another octave",
        "late": f"the {one.degree} landed late{to}",
        "held": f"the {one.degree} was held and did not resolve",
        "not landed": f"the {one.degree} did not land{instead}",
    }[one.outcome]
