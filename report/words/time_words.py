"""When chords change, how a take swings, and what is not playing, in words.

Texts are ASCII; pages turn accidentals into signs. Nothing is said that is not known: without
a beat grid there are no bars to speak of, and where bars are only assumed no chord is called
early or late.
"""

from collections import Counter

from stackline.report.words.marks import one_line
from stackline.report.words.summary import Piece, Sentence, ending, in_words, number
from stackline.report.words.take_view import TakeView
from stackline.shared.notes import Passage, Span
from stackline.shared.rhythm import ChordPlace
from stackline.shared.take import Take
from stackline.shared.units import clock

SHOWN = 4  # places named before it says how many more there are
SPANS_SHOWN = 8  # stretches, likewise
FEWEST_BARS = 2  # before a figure is called the most used


def rhythm_sentences(view: TakeView) -> tuple[Sentence, ...]:
    """What is out of time, chords a bar, what is anticipated and delayed, the figures."""
    take = view.take
    found = (
        _out_of_time(take),
        _chords_per_bar(take),
        *_early_and_late(view),
        _figures(take),
        _swing(take),
    )
    return tuple(sentence for sentence in found if sentence)


def _out_of_time(take: Take) -> Sentence:
    """Where no bars are counted in a take that has some."""
    passages = take.grid.out_of_time
    if not passages:
        return ()
    told = _some([_from_to(one) for one in passages])
    return (Piece(text=f"Out of time, so no bars are counted: {told}."),)


def _chords_per_bar(take: Take) -> Sentence:
    bars = len(take.rhythm.bars)
    if not bars:
        return ()
    chords = sum(one.position is not None for one in take.rhythm.chords)
    text = f"{number(chords, 'chord')} in {number(bars, 'bar')}, {chords / bars:.1f} a bar"
    counts = Counter(one.placing for one in take.rhythm.chords if one.placing)
    told = [f"{in_words(count)} {placing}" for placing, count in counts.most_common()]
    text += f": {', '.join(told)}." if told else "; the bars are assumed."
    return (Piece(text=text[:1].upper() + text[1:]),)


def _early_and_late(view: TakeView) -> list[Sentence]:
    """A sentence each for what is anticipated and what is delayed."""
    sentences: list[Sentence] = []
    for placing in ("anticipated", "delayed"):
        mine = [one for one in view.take.rhythm.chords if one.placing == placing]
        if mine:
            sentences.append(_listed(view, placing, mine))
    return sentences


def _listed(view: TakeView, placing: str, chords: list[ChordPlace]) -> Sentence:
    pieces = [Piece(text=f"{placing.capitalize()}: ")]
    for i, one in enumerate(chords[:SHOWN]):
        voicing = view.take.voicings[one.voicing]
        pieces.append(Piece(text=("; " if i else "") + f"{voicing.chord.symbol.text}, "))
        pieces.append(Piece(text=view.places.words(voicing.attack), index=one.voicing))
        if one.position is not None and voicing.attack.position is not None:
            same = one.position.bar == voicing.attack.position.bar
            goal = f"beat {one.position.beat}" if same else f"bar {one.position.bar}"
            pieces.append(Piece(text=f", for {goal}"))
    return (*pieces, ending(len(chords) - SHOWN))


def _figures(take: Take) -> Sentence:
    counted = Counter(bar.figure for bar in take.rhythm.bars if bar.figure)
    named = [(figure, count) for figure, count in counted.most_common(2) if count >= FEWEST_BARS]
    if not named:
        return ()
    told = "; ".join(f"{figure} ({number(count, 'bar')})" for figure, count in named)
    return (Piece(text=f"Struck most: {told}."),)


def _swing(take: Take) -> Sentence:
    if take.swing_ratio is None:
        return ()
    return (
        Piece(
            text=f"Divided beats are {take.swing_ratio:.1f} to 1, long to short "
            "(1 is straight, 2 is a triplet)."
        ),
    )


def not_playing_words(take: Take) -> str:
    """What else is heard and when: ``talk 0:03.2 to 0:07.9; applause 1:02.0 to 1:08.4``."""
    return _some([span_words(span) for span in take.not_playing])


def span_words(span: Span) -> str:
    """A stretch in words."""
    return f"{span.kind} {_from_to(span)}"


def _from_to(passage: Passage) -> str:
    return f"{clock(passage.start_s)} to {clock(passage.end_s)}"


def _some(told: list[str]) -> str:
    """The first few stretches, and how many more there are."""
    more = len(told) - SPANS_SHOWN
    return "; ".join(told[:SPANS_SHOWN] + ([f"and {more} more"] if more > 0 else []))


def time_lines(view: TakeView) -> list[str]:
    """The same for a terminal, a line a sentence."""
    lines = ["".join(piece.text for piece in one) for one in rhythm_sentences(view)]
    words = not_playing_words(view.take)
    return [one_line(line) for line in lines + ([f"Not playing: {words}."] if words else [])]
