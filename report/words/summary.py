"""A take in a few sentences: what was played, what landed, what is uncertain.

A sentence is a row of pieces; a piece may point at the voicing that it speaks of, so that
a page can make it a link. Texts are ASCII. Counts are written with what they are counted
of; nothing is praised or blamed.
"""

from collections import Counter
from dataclasses import dataclass

from stackline.report.words.marks import asides, doubts, due_resolutions, leaning, one_line
from stackline.report.words.places import Places
from stackline.report.words.textures import textures
from stackline.shared.harmony import Motion, Resolution
from stackline.shared.take import Source, Take
from stackline.shared.units import clock
from stackline.theory.motion.tally import ARRIVED, tally

SHOWN = 3  # places named in a sentence before it says how many more there are
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(frozen=True, kw_only=True)
class Piece:
    """Words, and the index of the voicing that they point at."""

    text: str
    index: int | None = None


Sentence = tuple[Piece, ...]


def summary(take: Take) -> tuple[Sentence, ...]:
    """The sentences, the most useful first; one sentence where nothing was heard.

    Before them where a recording breaks off.
    """
    broken = broken_off(take.source)
    first = _plain(broken) if broken else ()
    if not take.voicings:
        heard = "Notes were heard, but no voicing" if take.notes else "No note was heard"
        heard = "A line was heard, but no voicing" if textures(take) else heard
        return tuple(one for one in (first, _plain(f"{heard} in this recording.")) if one)
    found = (
        first,
        _played(take),
        _textures(take),
        _landed(take),
        _came_instead(take),
        _shapes(take),
        _unsure(take),
    )
    return tuple(sentence for sentence in found if sentence)


def details(take: Take) -> tuple[Sentence, ...]:
    """The sentences that stand below the page's first three answers."""
    if not take.voicings:
        return summary(take)
    cut = broken_off(take.source)
    found = (_plain(cut) if cut else (), _textures(take), _shapes(take), _unsure(take))
    return tuple(sentence for sentence in found if sentence)


def broken_off(source: Source) -> str:
    """That a recording is cut or damaged, and where; empty where it is whole."""
    if source.broken_off_s is None:
        return ""
    return (
        f"The recording breaks off at {clock(source.broken_off_s)}: its file is cut or "
        "damaged, so what follows is missing."
    )


def as_text(sentences: tuple[Sentence, ...]) -> str:
    """The sentences as one paragraph."""
    return " ".join("".join(piece.text for piece in sentence) for sentence in sentences)


def number(count: int, of: str, many: str | None = None) -> str:
    """A count and its noun: ``one voicing``, ``12 voicings``."""
    return f"{in_words(count)} {of if count == 1 else many or of + 's'}"


def in_words(count: int) -> str:
    """``one`` to ``ten``, larger counts in figures."""
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)


def _plain(text: str) -> Sentence:
    return (Piece(text=text),)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _played(take: Take) -> Sentence:
    """How many voicings, in what time, resolving to which roots."""
    text = _capital(number(len(take.voicings), "voicing"))
    grid = take.grid
    if grid.tempo_bpm:
        perhaps = "perhaps " if grid.is_uncertain else ""
        text += f" at {perhaps}{grid.tempo_bpm:.0f} beats a minute"
    else:
        text += ", out of time"
    goals = Counter(
        take.voicings[motion.to_index].chord.symbol.root
        for motion in take.motions
        if motion.resolutions
    )
    if goals:
        text += f"; dominants move to {_listed([root for root, _ in goals.most_common()])}"
    return _plain(f"{text}.")


def _textures(take: Take) -> Sentence:
    """Where a line is played, over what; nothing where there is none."""
    told = textures(take)
    return _plain(told) if told else ()


def _listed(words: list[str]) -> str:
    """``A, B and C``."""
    return " and ".join([", ".join(words[:-1])] * (len(words) > 1) + words[-1:])


def _landed(take: Take) -> Sentence:
    overall = tally(take.motions, take.voicings).overall
    if not overall.due:
        return _plain("No resolution was due: no dominant moved down a fifth or a semitone.")
    noun = "resolution" if overall.due == 1 else "resolutions"
    landed = f"{overall} due {noun} landed{asides(overall)}."
    return _plain(f"{landed} {leaning(take)}".rstrip())


def _came_instead(take: Take) -> Sentence:
    """The first few that did not land, each with its place."""
    missed = [(m, one) for m, one in due_resolutions(take) if one.outcome not in ARRIVED]
    if not missed:
        return ()
    places, pieces = Places(take), [Piece(text="Not landed: ")]
    for i, (motion, one) in enumerate(missed[:SHOWN]):
        pieces.append(Piece(text=("; " if i else "") + missed_words(take, motion, one) + ", "))
        where = places.words(take.voicings[motion.from_index].attack)
        pieces.append(Piece(text=where, index=motion.from_index))
    more = len(missed) - SHOWN
    pieces.append(Piece(text=f"; and {more} more." if more > 0 else "."))
    return tuple(pieces)


def missed_words(take: Take, motion: Motion, resolution: Resolution) -> str:
    """What was due and what came: ``the b9 of Ab13(b9) went up to the 13 of Dbmaj13``."""
    before = take.voicings[motion.from_index].chord.symbol.text
    after = take.voicings[motion.to_index].chord.symbol.text
    start = f"the {resolution.degree} of {before}"
    if resolution.to is None or resolution.to_midi is None:
        return f"{start} had no note to go to in {after}"
    move = resolution.to_midi - resolution.midi
    way = "went up to" if move > 0 else "went down to" if move < 0 else "stayed, as"
    return f"{start} {way} the {resolution.to} of {after}"


def _shapes(take: Take) -> Sentence:
    """The favourite structures."""
    sure = [voicing for voicing in take.voicings if not doubts(voicing) and voicing.structures]
    counted = Counter(voicing.structures[0] for voicing in sure).most_common(2)
    if not counted:
        return ()
    named = [f"{name} ({count})" for name, count in counted]
    of = number(len(sure), "sure voicing" if len(sure) < len(take.voicings) else "voicing")
    return _plain(f"Most used, of {of}: {'; '.join(named)}.")


def _unsure(take: Take) -> Sentence:
    """Which voicings are doubtful, so that they are not trusted."""
    found = [i for i, voicing in enumerate(take.voicings) if doubts(voicing)]
    if not found:
        return _plain("No voicing is marked unsure.")
    if len(found) == len(take.voicings) > SHOWN:
        return _plain("Every voicing is unsure: take this as a draft, and check it by ear.")
    places = Places(take)
    are = "is" if len(found) == 1 else "are"
    count = f"{in_words(len(found))} of {number(len(take.voicings), 'voicing')}"
    pieces = [Piece(text=f"{_capital(count)} {are} unsure: ")]
    for i, index in enumerate(found[:SHOWN]):
        voicing = take.voicings[index]
        if i:
            pieces.append(Piece(text="; "))
        pieces.append(Piece(text=places.words(voicing.attack), index=index))
        pieces.append(Piece(text=f" ({' and '.join(doubts(voicing))})"))
    more = len(found) - SHOWN
    pieces.append(Piece(text=f"; and {more} more." if more > 0 else "."))
    return tuple(pieces)


def title(take: Take) -> str:
    """The name of the recording, safe to print."""
    return one_line(take.source.name) or "untitled recording"
