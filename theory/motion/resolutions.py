"""What became of each degree that was due to move.

Asked only where `resolution_rules` has a row: a dominant before a different chord a
fifth or a semitone below. Outcomes, the first that holds:

    landed        the note's voice is in the next voicing at the due distance
    other octave  the due pitch class is there in another octave, and the note's voice went to it,
                  or stopped
    late          the due pitch comes later in the next chord's span
    held          the note stayed although it was due to move
    not landed    none of these; `to` is where its voice went instead, if anywhere
"""

from collections.abc import Sequence

from stackline.shared.harmony import Degree, Outcome, Resolution, Tone, VoiceMove, Voicing
from stackline.theory.chords.degrees import name_degree
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of
from stackline.theory.motion.guide_tones import root_step
from stackline.theory.motion.resolution_rules import shifts_due


def resolutions(
    first: Voicing, later: Sequence[Voicing], moves: Sequence[VoiceMove]
) -> tuple[Resolution, ...]:
    """One record for each due note of `first`.

    later: the voicings of the next chord, in order, at least one; moves: the pairing
    of `first` with the first of them.
    """
    now, then = first.chord.symbol, later[0].chord.symbol
    due = shifts_due(
        quality(now.quality).family, quality(then.quality).family, root_step(first, later[0])
    )
    paired = {move.from_midi: move.to_midi for move in moves if move.from_midi is not None}
    return tuple(
        resolution(tone, due[str(tone.degree)], later, paired.get(tone.midi))
        for tone in first.tones
        if str(tone.degree) in due
    )


def resolution(
    tone: Tone, shifts: Sequence[int], later: Sequence[Voicing], went: int | None,
    *, any_voice: bool = False,
) -> Resolution:  # fmt: skip
    """The outcome of one note: the first of the module's ladder that holds.

    shifts: semitones that count as landing, the commonest first. later: the voicings of the next
    chord in order, at least one. went: the pitch that the note's voice went to, None where it
    stopped. any_voice: whether another voice may bring the due note in another octave.
    """
    targets = [tone.midi + shift for shift in shifts]
    first = later[0]
    landed = [pitch for pitch in targets if pitch in first.pitches]
    if landed:
        reached = went if went in landed else landed[0]
        return _record(tone, "landed", first, reached)
    for target in targets:
        same = [pitch for pitch in first.pitches if pitch % 12 == target % 12]
        if same and (any_voice or went is None or went % 12 == target % 12):
            return _record(tone, "other octave", first, min(same, key=lambda p: abs(p - target)))
    for voicing in later[1:]:
        late = next((pitch for pitch in targets if pitch in voicing.pitches), None)
        if late is not None:
            return _record(tone, "late", voicing, late)
    if tone.midi in first.pitches:
        return _record(tone, "held", first, tone.midi)
    return _record(tone, "not landed", first, went)


def _record(tone: Tone, outcome: Outcome, voicing: Voicing, pitch: int | None) -> Resolution:
    return Resolution(
        degree=tone.degree,
        midi=tone.midi,
        outcome=outcome,
        to=None if pitch is None else degree_in(voicing, pitch),
        to_midi=pitch,
    )


def degree_in(voicing: Voicing, pitch: int) -> Degree:
    """The degree of a pitch over a voicing's chord, whether or not it sounds there."""
    for tone in voicing.tones:
        if tone.midi % 12 == pitch % 12:
            return tone.degree
    root = pitch_class_of(voicing.chord.symbol.root)
    over = {(one - root) % 12 for one in voicing.pitches} | {(pitch - root) % 12}
    return name_degree(pitch - root, quality(voicing.chord.symbol.quality).family, over)
