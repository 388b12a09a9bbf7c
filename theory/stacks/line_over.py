"""What a line plays over the comping: each of its notes with its degree over the chord there.

A note of a line is over the voicing struck with it, else over the last one before. Before the
first voicing it is over that, as a pickup would be; without any voicing, or over a chord from
elsewhere that is not in the table, it is over nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from stackline.shared.harmony import ChordSymbol, Tone, Voicing
from stackline.shared.notes import Attack, Note
from stackline.theory.chords.foreign_chords import is_known
from stackline.theory.chords.spelling import plain_name, spell_degree, with_octave
from stackline.theory.stacks.chord_degrees import degrees_over


@dataclass(frozen=True, kw_only=True)
class LineNote:
    """A note of a line. tone: its name and degree, None over no chord. over: a voicing's index."""

    note: Note
    tone: Tone | None = None
    over: int | None = None

    @property
    def name(self) -> str:
        """Its name with octave, as the chord spells it, else with flats."""
        midi = self.note.midi
        return self.tone.name if self.tone else with_octave(plain_name(midi % 12), midi)


def line_tones(symbol: ChordSymbol, comped: Sequence[int], line: Sequence[int]) -> tuple[Tone, ...]:
    """Pitches of a line over a chord of which some pitches sound below, in the order given."""
    degrees = degrees_over(symbol, (*comped, *line))[len(comped) :]
    return tuple(
        Tone(
            midi=midi,
            name=with_octave(spell_degree(symbol.root, degree), midi),
            degree=degree,
            hand="right",
        )
        for midi, degree in zip(line, degrees, strict=True)
    )


def line_notes(attacks: Sequence[Attack], voicings: Sequence[Voicing]) -> tuple[LineNote, ...]:
    """Every note of the line, in order."""
    index_of = {voicing.attack: i for i, voicing in enumerate(voicings)}
    over = 0 if voicings else None
    found: list[LineNote] = []
    for attack in attacks:
        over = index_of.get(attack, over)
        for note in attack.line:
            if over is None or not is_known(voicings[over].chord.symbol):
                found.append(LineNote(note=note))
                continue
            voicing = voicings[over]
            (tone,) = line_tones(voicing.chord.symbol, voicing.pitches, (note.midi,))
            found.append(LineNote(note=note, tone=tone, over=over))
    return tuple(found)


def under(attack: Attack, symbol: ChordSymbol, comped: Sequence[int]) -> tuple[Tone, ...]:
    """What a line has over a voicing at its attack: struck with it, or held into it."""
    sounding = {note.midi for note in attack.held if note.is_of_line}
    sounding |= {note.midi for note in attack.line}
    return line_tones(symbol, comped, sorted(sounding - set(comped)))
