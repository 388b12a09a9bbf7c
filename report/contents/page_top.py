"""The top of the page: what was played, what landed, and one thing to work on next.

Three answers, each short enough to take in at a glance. Nothing is praised or blamed; counts are
written with what they are counted of. Texts have real accidentals.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from stackline.report.contents.page_rows import end_s
from stackline.report.words.page_text import fractions, prose
from stackline.report.words.summary import missed_words, number
from stackline.report.words.take_view import Due, TakeView
from stackline.shared.take import Take
from stackline.theory.chords.foreign_chords import is_known
from stackline.theory.chords.spelling import with_signs
from stackline.theory.form.key_centres import KeyCentre, key_centres

KEYS_SHOWN = 3  # keys named in the first answer (ours)
MANY_UNSURE = 1 / 3  # of all voicings: checking them by ear then comes before anything else


@dataclass(frozen=True, kw_only=True)
class Answer:
    """One of the three: a heading of its own, a headline, and lines below it."""

    headline: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class NextStep:
    """What to do next. index: the voicing it begins with, None where it is not a place.

    from_s, to_s: what to hear; loop: first and last voicing to repeat, as the page counts them.
    """

    words: str
    where: str = ""
    index: int | None = None
    from_s: str = ""
    to_s: str = ""
    loop: str = ""


def played(take: Take) -> Answer:
    """Key centres, form in bars, how much there is."""
    lines = [_form(take), f"{number(len(take.voicings), 'voicing')}, {_chords(take)}"]
    return Answer(headline=_keys(take), lines=tuple(line for line in lines if line))


def landed(view: TakeView) -> Answer:
    """How many of the due resolutions landed."""
    overall = view.tally.overall
    if not overall.due:
        return Answer(
            headline="nothing was due",
            lines=("No dominant moved down a fifth or a semitone.",),
        )
    missed = Counter(str(one.degree) for _, one in view.missed)
    named = ", ".join(f"{with_signs(name)} \u00d7{count}" for name, count in missed.most_common(3))
    line = f"did not land: {named}" if missed else "every degree that was due"
    return Answer(headline=str(overall), lines=(line,))


def next_step(view: TakeView) -> NextStep | None:
    """The one thing: what failed most, else what is too unsure to practise, else another key."""
    if not view.take.voicings:
        return None
    sure = [pair for pair in view.missed if not view.is_shaky(pair[0])]
    if sure:
        return _from_missed(view, sure)
    if len(view.unsure) > MANY_UNSURE * len(view.take.voicings):
        first = view.unsure[0]
        return _hear(view, first, first, "Check the unsure voicings by ear, beginning here.")
    if view.missed:
        return _from_missed(view, view.missed, before="Perhaps: ")
    if view.due:
        return NextStep(words="All that was due landed. Take the same shapes into another key.")
    return NextStep(words="Choose two neighbours and follow their inner voices.")


def _from_missed(view: TakeView, missed: Sequence[Due], before: str = "") -> NextStep:
    """The degree that was missed most often, at the first place where it was."""
    most = Counter(str(one.degree) for _, one in missed).most_common(1)[0][0]
    motion, one = next(pair for pair in missed if str(pair[1].degree) == most)
    words = prose(missed_words(view.take, motion, one))
    advice = f"{before}{words}. Play the two chords slowly, that voice alone first."
    return _hear(view, motion.from_index, motion.to_index, advice[:1].upper() + advice[1:])


def _hear(view: TakeView, first: int, last: int, words: str) -> NextStep:
    attack = view.take.voicings[first].attack
    return NextStep(
        words=words,
        where=fractions(view.places.words(attack)),
        index=first,
        from_s=f"{attack.onset_s:.3f}",
        to_s=f"{end_s(view.take, last):.3f}",
        loop=f"{first} {last}",
    )


def _keys(take: Take) -> str:
    """The key centres that hold for longest, in the order in which they come."""
    if not take.voicings:
        return "no voicing"
    centres = key_centres([one for one in take.voicings if is_known(one.chord.symbol)])
    lengths: Counter[str] = Counter()
    for one in centres:
        lengths[_key_name(one)] += one.last - one.first + 1
    names = list(dict.fromkeys(_key_name(one) for one in centres))
    kept = {name for name, _ in lengths.most_common(KEYS_SHOWN)}
    shown = [name for name in names if name in kept]
    more = len(names) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more else "")


def _key_name(centre: KeyCentre) -> str:
    return with_signs(f"{centre.key.tonic} {'minor' if centre.key.minor else 'major'}")


def _form(take: Take) -> str:
    """Bars, meter, tempo."""
    grid = take.grid
    if not grid.tempo_bpm:
        return "no steady beat"
    bars = len({bar for bar in grid.bars() if bar > 0})
    perhaps = "perhaps " if grid.is_uncertain else ""
    count = "1 bar" if bars == 1 else f"{bars} bars"
    return f"{count} in {grid.beats_per_bar}, {perhaps}{grid.tempo_bpm:.0f} beats a minute"


def _chords(take: Take) -> str:
    different = len({voicing.chord.symbol.text for voicing in take.voicings})
    return f"{number(different, 'chord')}, {take.source.duration_s:.0f} s"
