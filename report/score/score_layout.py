"""A take laid out as a score: bars, two staves, note values, ties, spelled notes, marks.

The result is neutral (`score_model`); MusicXML, engraving and print start from it.
Bars follow the beat grid, from the first attack's bar to where the last note ends; without a
grid, and in passages out of time, every attack is a slot without a bar line. What stands where
is decided in `score_time` (places), `score_lines` (staves and ends), `note_values`,
`score_signatures`, `score_spelling` and `score_marks`.

Clefs are decided in `score_clefs`: a staff keeps its clef for a passage.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from stackline.report.score.score_clefs import staff_clefs
from stackline.report.score.score_items import Draft, drafts, segments, touching
from stackline.report.score.score_lines import Span, Voice, spans
from stackline.report.score.score_marks import pedal_marks, stack_marks, symbol_marks
from stackline.report.score.score_model import LEFT, RIGHT, Bar, Head, Item, Line, Score
from stackline.report.score.score_signatures import signatures
from stackline.report.score.score_spelling import Names, Signs, Spelled
from stackline.report.score.score_time import BarSpan, ScoreTime, bar_at, score_time
from stackline.report.words.marks import one_line
from stackline.shared.notes import Attack
from stackline.shared.take import Take
from stackline.shared.units import clock

ROLLED_S = 0.09  # struck over a longer time than this, a chord is written as rolled
ANTICIPATION = Fraction(1, 2)  # struck so near before a bar, a chord belongs to that bar
VOICES: tuple[Voice, ...] = ("main", "line", "touched")

Part = tuple[int, Voice]


def lay_out(take: Take) -> Score:
    """The score of a take; one without attacks has no bars."""
    title = one_line(take.source.name)
    if not take.attacks:
        return Score(title=title, barred=True)
    time = score_time(take)
    notes = spans(take, time)
    return Score(
        title=title,
        barred=time.barred,
        bars=tuple(_bars(take, time, notes)),
        swung=time.swung,
        tempo_bpm=take.grid.tempo_bpm if time.barred else None,
    )


def _bars(take: Take, time: ScoreTime, notes: Sequence[Span]) -> Iterator[Bar]:
    """Every bar, in order."""
    bars = time.bars_until(max(span.end for span in notes))
    attack_at = {attack: k for k, attack in enumerate(take.attacks)}
    starts = [time.starts[attack_at[voicing.attack]] for voicing in take.voicings]
    index_of = {bar.start: i for i, bar in enumerate(bars)}
    homes = [index_of[_home(start, bars).start] for start in starts]
    fifths = signatures(take, homes, len(bars))
    sharps = {bar.start: fifths[i] for i, bar in enumerate(bars)}
    writer = _Writer(
        notes=notes,
        spelled=_spellings(take, notes, bars, sharps),
        tops={(s, voicing.top.midi) for s, voicing in zip(starts, take.voicings, strict=True)},
        rolled=frozenset(
            k for k, attack in enumerate(take.attacks) if _spread_s(attack) > ROLLED_S
        ),
    )  # fmt: skip
    symbols = symbol_marks(take.voicings, starts, bars)
    stacks = stack_marks(take, starts, bars)
    pedals = pedal_marks(take, time, bars)
    words = dict(_words(time))
    drafted = list(_drafted(notes, bars))
    means = [_means(made, notes) for _, made in drafted]
    for (bar, made), clefs in zip(drafted, staff_clefs(means), strict=True):
        yield Bar(
            number=bar.number,
            beats=bar.beats,
            length=Fraction(bar.end - bar.start),
            fifths=sharps[bar.start],
            clefs=clefs,
            lines=writer.lines(made, bar, sharps[bar.start]),
            pickup=bar.slot_s is None and (bar.number <= 0 or bar.missing > 0),
            place="" if bar.slot_s is None else clock(bar.slot_s),
            word=words.get(bar.start, ""),
            symbols=symbols.get(bar.start, ()),
            stacks=stacks.get(bar.start, ()),
            pedals=pedals.get(bar.start, ()),
        )


def _spread_s(attack: Attack) -> float:
    """How far apart the notes of the comping are struck."""
    onsets = [note.onset_s for note in attack.comped]
    return max(onsets) - min(onsets) if onsets else 0.0


def _home(start: Fraction, bars: Sequence[BarSpan]) -> BarSpan:
    """The bar that a chord belongs to: the next one if it is struck just before that."""
    own, following = bar_at(start, bars), bar_at(start + ANTICIPATION, bars)
    return own if own.slot_s is not None or following.slot_s is not None else following


def _words(time: ScoreTime) -> Iterator[tuple[int, str]]:
    """Start of a bar and what is written there: where a passage out of time begins and ends."""
    played_in_time = False
    for bar in time.bars:
        if bar.opens and time.borders and bar.slot_s is not None:
            yield bar.start, "out of time"
        elif bar.opens and bar.start:
            yield bar.start, "a tempo" if played_in_time else "in time"
        played_in_time = played_in_time or bar.slot_s is None


def _spellings(
    take: Take, notes: Sequence[Span], bars: Sequence[BarSpan], sharps: Mapping[int, int]
) -> list[Spelled]:
    """The spelling of every span, in the key where it begins."""
    names = Names(take)
    return [
        names.of(span.attack, span.midi, sharps[bar_at(span.start, bars).start]) for span in notes
    ]


def _drafted(
    notes: Sequence[Span], bars: Sequence[BarSpan]
) -> Iterator[tuple[BarSpan, dict[Part, list[Draft]]]]:
    """Each bar with the values of its lines; an empty second line is left out."""
    end = Fraction(bars[-1].end)
    parts: list[Part] = [(staff, voice) for staff in (RIGHT, LEFT) for voice in VOICES]
    rows = [touching(segments(notes, staff, voice, end), bars) for staff, voice in parts]
    for bar, *inside in zip(bars, *rows, strict=True):
        made = {part: drafts(line, bar, notes) for part, line in zip(parts, inside, strict=True)}
        sounding = {part for part, line in made.items() if any(one.sounding for one in line)}
        lined = (RIGHT, "line") in sounding and (RIGHT, "main") not in sounding
        silent = (RIGHT, "main") if lined else None
        yield (
            bar,
            {
                part: line for part, line in made.items()
                if (part[1] == "main" and part != silent) or part in sounding
            },
        )  # fmt: skip


def _means(
    made: Mapping[Part, list[Draft]], notes: Sequence[Span]
) -> tuple[float | None, float | None]:
    """The mean pitch of each staff in a bar, right hand first; None where nothing sounds."""

    def mean(staff: int) -> float | None:
        pitches = [
            notes[i].midi
            for (on, _), line in made.items() if on == staff
            for draft in line for i in draft.sounding
        ]  # fmt: skip
        return sum(pitches) / len(pitches) if pitches else None

    return mean(RIGHT), mean(LEFT)


@dataclass(frozen=True, kw_only=True)
class _Writer:
    """Puts spelling, signs and marks on drafts. tops: (start, pitch) of the top line's notes."""

    notes: Sequence[Span]
    spelled: Sequence[Spelled]
    tops: set[tuple[Fraction, int]]
    rolled: frozenset[int]

    def lines(
        self, made: Mapping[Part, list[Draft]], bar: BarSpan, sharps: int
    ) -> tuple[Line, ...]:
        """The lines of a bar; of two on a staff the higher one is number 1."""
        signs = self._signs(made, sharps)
        numbers = self._numbers(made)
        found = [
            Line(
                staff=staff,
                number=numbers[staff, voice],
                items=tuple(self._item(draft, bar, signs, voice) for draft in line),
            )
            for (staff, voice), line in made.items()
        ]
        return tuple(sorted(found, key=lambda line: (line.staff, line.number)))

    def _numbers(self, made: Mapping[Part, list[Draft]]) -> dict[Part, int]:
        def mean(part: Part) -> float:
            pitches = [self.notes[i].midi for draft in made[part] for i in draft.sounding]
            return sum(pitches) / max(len(pitches), 1)

        numbers: dict[Part, int] = {}
        for staff in (RIGHT, LEFT):
            parts = sorted((part for part in made if part[0] == staff), key=mean, reverse=True)
            numbers |= {part: number for number, part in enumerate(parts, 1)}
        return numbers

    def _signs(self, made: Mapping[Part, list[Draft]], sharps: int) -> set[tuple[Fraction, int]]:
        """(start, span) of the notes in a bar that need a sign."""
        memory = Signs(sharps=sharps)
        heads = sorted(
            (draft.start, i)
            for line in made.values()
            for draft in line
            for i, (tied_in, _) in zip(draft.sounding, draft.ties, strict=True)
            if not tied_in
        )
        return {
            (start, i) for start, i in heads if memory.needs(self.notes[i].staff, *self.spelled[i])
        }

    def _item(
        self, draft: Draft, bar: BarSpan, signs: set[tuple[Fraction, int]], voice: Voice
    ) -> Item:
        heads = tuple(
            self._head(i, ties, (draft.start, i) in signs)
            for i, ties in zip(draft.sounding, draft.ties, strict=True)
        )
        latest = max((self.notes[i] for i in draft.sounding), key=lambda one: one.start,
                     default=None)  # fmt: skip
        struck = latest is not None and latest.start == draft.start + bar.start
        rolled = struck and len(heads) > 1 and latest is not None and latest.attack in self.rolled
        return Item(
            start=draft.start,
            length=draft.length,
            value=draft.value,
            heads=heads,
            spacer=not heads and (voice != "main" or bar.slot_s is not None),
            whole_bar=draft.whole_bar,
            voicing=latest.voicing if latest is not None else None,
            rolled=rolled,
        )

    def _head(self, i: int, ties: tuple[bool, bool], sign: bool) -> Head:
        span = self.notes[i]
        step, alter, octave = self.spelled[i]
        return Head(
            midi=span.midi,
            step=step,
            alter=alter,
            octave=octave,
            number=i,
            accidental=sign,
            tied_in=ties[0],
            tied_out=ties[1],
            top=(span.start, span.midi) in self.tops,
        )
