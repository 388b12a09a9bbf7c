"""A drill as a take, so that everything that can show a take can show a drill: score, page.

Nothing was heard, so everything is certain: each voicing is a chord given like changes,
played exactly on the beat. The count-in is left out; bar 1 is the first bar of the first key.
"""

import hashlib
from fractions import Fraction

from stackline.practice.drills.drill import Drill, Struck
from stackline.shared.harmony import ChordSpan, Voicing
from stackline.shared.notes import Attack, Beat, BeatGrid, Note, Position
from stackline.shared.take import Source, Take
from stackline.theory.motion.motion import motions
from stackline.theory.sounding import Sounding
from stackline.theory.stacks.voicing_maker import make_voicing, mark_locked

EAR = "none: written, not heard"
VELOCITY = 68  # MIDI velocity, moderate (ours)


def as_take(drill: Drill, *, version: str) -> Take:
    """The drill's voicings as a take; version: of the program."""
    beat_s = 60.0 / drill.tempo_bpm
    lead = drill.count_in * drill.beats_per_bar
    n_beats = drill.beats - lead
    made = [_voicing(drill, one, lead, beat_s) for one in drill.struck()]
    voicings = mark_locked(made)
    attacks = tuple(voicing.attack for voicing in voicings)
    return Take(
        source=Source(
            name=drill.target.name,
            duration_s=n_beats * beat_s,
            sha256=hashlib.sha256(repr(drill).encode()).hexdigest(),
        ),
        ear=EAR,
        tuning_cents=0.0,
        grid=_grid(drill, n_beats, beat_s),
        notes=tuple(note for attack in attacks for note in attack.struck),
        attacks=attacks,
        voicings=voicings,
        motions=motions(voicings, beat_s),
        version=version,
    )


def _grid(drill: Drill, n_beats: int, beat_s: float) -> BeatGrid:
    return BeatGrid(
        beats=tuple(
            Beat(time_s=i * beat_s, number=i % drill.beats_per_bar + 1) for i in range(n_beats)
        ),
        tempo_bpm=drill.tempo_bpm,
        beats_per_bar=drill.beats_per_bar,
        source="hint",
        confidence=1.0,
    )


def _voicing(drill: Drill, one: Struck, lead: int, beat_s: float) -> Voicing:
    beat = one.start - lead
    start_s, end_s = float(beat) * beat_s, float(beat + one.beats) * beat_s
    bar, rest = divmod(beat, drill.beats_per_bar)
    notes = tuple(
        Note(onset_s=start_s, offset_s=end_s, midi=pitch, velocity=VELOCITY, confidence=1.0)
        for pitch in one.pitches
    )
    attack = Attack(
        onset_s=start_s,
        spread_s=0.0,
        struck=notes,
        position=Position(bar=int(bar) + 1, beat=Fraction(rest) + 1),
    )
    span = ChordSpan(
        start_s=start_s,
        end_s=end_s,
        symbol=one.chord.symbol(drill.keys[one.key].key),
        source="changes",
        confidence=1.0,
    )
    return make_voicing(Sounding(attack=attack, kind="voicing", notes=notes), span)
