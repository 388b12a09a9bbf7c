"""A take in a few sentences: what was played, what landed, what is uncertain.

A sentence is a row of pieces; a piece may point at the voicing that it speaks of, so that
a page can make it a link. Texts are ASCII. Counts are written with what they are counted
of; nothing is praised or blamed.
"""

from collections import Counter
from dataclasses import dataclass

from stackline.report.words.marks import asides, doubts, one_line
from stackline.report.words.take_view import TakeView
from stackline.report.words.textures import textures
from stackline.shared.harmony import Motion, Resolution
from stackline.shared.take import Source, Take
from stackline.shared.units import clock

SHOWN = 3  # places named in a sentence before it says how many more there are
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


@dataclass(frozen=True, kw_only=True)
class Piece:
    """Words, and the index of the voicing that they point at."""

    text: str
    index: int | None = None


Sentence = tuple[Piece, ...]


def summary(view: TakeView) -> tuple[Sentence, ...]:
    """The sentences, the most useful first; one sentence where nothing was heard.

    Before them where a recording is damaged.
    """
    take = view.take
    spoiled = damage(take.source)
    first = _plain(spoiled) if spoiled else ()
    if not take.voicings:
        heard = "Notes were heard, but no voicing" if take.notes else "No note was heard"
        heard = "A line was heard, but no voicing" if textures(view) else heard
        return tuple(one for one in (first, _plain(f"{heard} in this recording.")) if one)
    found = (
        first,
        _played(take),
        _textures(view),
        _landed(view),
        _came_instead(view),
        _shapes(view),
        _unsure(view),
    )
    return tuple(sentence for sentence in found if sentence)


def details(view: TakeView) -> tuple[Sentence, ...]:
    """The sentences that stand below the page's first three answers."""
    if not view.take.voicings:
        return summary(view)
    spoiled = damage(view.take.source)
    found = (_plain(spoiled) if spoiled else (), _textures(view), _shapes(view), _unsure(view))
    return tuple(sentence for sentence in found if sentence)


def damage(source: Source) -> str:
    """What of a recording cannot be heard, and where; empty where it is whole."""
    return " ".join(one for one in (_unread(source), _broken_off(source)) if one)


def _unread(source: Source) -> str:
    spoiled = source.unread
    if not spoiled:
        return ""
    places = [f"{clock(one.start_s)} to {clock(one.end_s)}" for one in spoiled[:SHOWN]]
    more = [f"{len(spoiled) - SHOWN} more"] if len(spoiled) > SHOWN else []
    lost_s = sum(one.end_s - one.start_s for one in spoiled)
    return (
        f"The file is damaged: nothing could be heard from {_row(places + more)} "
        f"({max(lost_s, 0.1):.1f} s); what follows keeps its time."
    )


def _broken_off(source: Source) -> str:
    if source.broken_off_s is None:
        return ""
    return (
        f"The recording breaks off at {clock(source.broken_off_s)}: its file is cut or "
        "damaged, so what follows is missing."
    )


def _row(words: list[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def as_text(sentences: tuple[Sentence, ...]) -> str:
    """The sentences as one paragraph."""
    return " ".join("".join(piece.text for piece in sentence) for sentence in sentences)


def number(count: int, of: str, many: str | None = None) -> str:
    """A count and its noun: ``one voicing``, ``12 voicings``."""
    return f"{in_words(count)} {of if count == 1 else many or of + 's'}"


def in_words(count: int) -> str:
    """``one`` to ``ten``, larger counts in figures."""
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)


def ending(more: int) -> Piece:
    """The end of a sentence that names places: how many more there are, if any."""
    return Piece(text=f"; and {more} more." if more > 0 else ".")


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
        text += f"; the dominants lead to {_listed([root for root, _ in goals.most_common()])}"
    return _plain(f"{text}.")


def _textures(view: TakeView) -> Sentence:
    """Where a line is played, over what; nothing where there is none."""
    told = textures(view)
    return _plain(told) if told else ()


def _listed(words: list[str]) -> str:
    """``A, B and C``."""
    return " and ".join([", ".join(words[:-1])] * (len(words) > 1) + words[-1:])


def leaning(view: TakeView) -> str:
    """How many due resolutions go from or to an unsure voicing, as a sentence; empty if none."""
    shaky = sum(view.is_shaky(motion) for motion, _ in view.due)
    if not shaky:
        return ""
    verb = "rests" if shaky == 1 else "rest"
    return f"{shaky} of the {len(view.due)} {verb} on an unsure voicing."


def _landed(view: TakeView) -> Sentence:
    overall = view.tally.overall
    if not overall.due:
        return _plain("No resolution was due: no dominant moved down a fifth or a semitone.")
    noun = "resolution" if overall.due == 1 else "resolutions"
    landed = f"{overall} due {noun} landed{asides(overall)}."
    return _plain(f"{landed} {leaning(view)}".rstrip())


def _came_instead(view: TakeView) -> Sentence:
    """The first few that did not land, each with its place."""
    if not view.missed:
        return ()
    take, pieces = view.take, [Piece(text="Not landed: ")]
    for i, (motion, one) in enumerate(view.missed[:SHOWN]):
        pieces.append(Piece(text=("; " if i else "") + missed_words(take, motion, one) + ", "))
        where = view.places.words(take.voicings[motion.from_index].attack)
        pieces.append(Piece(text=where, index=motion.from_index))
    return (*pieces, ending(len(view.missed) - SHOWN))


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


def _shapes(view: TakeView) -> Sentence:
    """The favourite structures."""
    voicings = view.take.voicings
    sure = [one for i, one in enumerate(voicings) if one.structures and i not in view.unsure]
    counted = Counter(voicing.structures[0] for voicing in sure).most_common(2)
    if not counted:
        return ()
    named = [f"{name} ({count})" for name, count in counted]
    of = number(len(sure), "sure voicing" if len(sure) < len(voicings) else "voicing")
    return _plain(f"Most used, of {of}: {'; '.join(named)}.")


def _unsure(view: TakeView) -> Sentence:
    """Which voicings are doubtful, so that they are not trusted."""
    take, found = view.take, view.unsure
    if not found:
        return _plain("No voicing is marked unsure.")
    if len(found) == len(take.voicings) > SHOWN:
        return _plain("Every voicing is unsure: take this as a draft, and check it by ear.")
    are = "is" if len(found) == 1 else "are"
    count = f"{in_words(len(found))} of {number(len(take.voicings), 'voicing')}"
    pieces = [Piece(text=f"{_capital(count)} {are} unsure: ")]
    for i, index in enumerate(found[:SHOWN]):
        voicing = take.voicings[index]
        if i:
            pieces.append(Piece(text="; "))
        pieces.append(Piece(text=view.places.words(voicing.attack), index=index))
        pieces.append(Piece(text=f" ({' and '.join(doubts(voicing))})"))
    return (*pieces, ending(len(found) - SHOWN))


def title(take: Take) -> str:
    """The name of the recording, safe to print."""
    return one_line(take.source.name) or "untitled recording"
