"""From voicing to voicing: pairs, top line, common tones, guide tones, resolutions."""

from collections.abc import Sequence

from stackline.shared.harmony import (
    CommonTone,
    Degree,
    Motion,
    Parallel,
    TopKind,
    TopMove,
    VoiceMove,
    Voicing,
)
from stackline.theory.chords.same_chord import same_chord
from stackline.theory.form.home_dominants import home_dominants
from stackline.theory.motion.pairing import pair_voices
from stackline.theory.motion.parallels import parallels
from stackline.theory.motion.resolutions import resolutions

_STEP, _SKIP = 2, 4


def motions(voicings: Sequence[Voicing], beat_s: float | None) -> tuple[Motion, ...]:
    """One record for each pair of neighbours."""
    moves_in_parallel, at_home = parallels(voicings, beat_s), home_dominants(voicings)
    return tuple(
        _motion(voicings, i, moves_in_parallel[i], rests=i in at_home)
        for i in range(len(voicings) - 1)
    )


def _motion(
    voicings: Sequence[Voicing], i: int, parallel: Parallel | None, *, rests: bool
) -> Motion:
    """rests: the first voicing is a dominant at rest, and owes nothing."""
    before, after = voicings[i], voicings[i + 1]
    moves = pair_voices(before.pitches, after.pitches)
    changes_chord = not same_chord(before, after)
    slides = parallel is not None and parallel.kind != "diatonic parallel"
    due = changes_chord and not slides and not rests
    return Motion(
        from_index=i,
        to_index=i + 1,
        moves=moves,
        top=_top(before, after),
        common_tones=_common(before, after),
        guide_tones=_guides(before, after, moves) if changes_chord else (),
        resolutions=resolutions(before, _run(voicings, i + 1), moves) if due else (),
        parallel=parallel,
    )


def _run(voicings: Sequence[Voicing], start: int) -> list[Voicing]:
    """The voicings of one chord from `start` on."""
    run = [voicings[start]]
    for voicing in voicings[start + 1 :]:
        if not same_chord(voicing, run[0]):
            break
        run.append(voicing)
    return run


def top_kind(semitones: int) -> TopKind:
    """Repeat 0, step 1-2, skip 3-4, leap 5 and more."""
    size = abs(semitones)
    if size == 0:
        return "repeat"
    return "step" if size <= _STEP else "skip" if size <= _SKIP else "leap"


def _top(before: Voicing, after: Voicing) -> TopMove:
    semitones = after.top.midi - before.top.midi
    return TopMove(
        semitones=semitones,
        kind=top_kind(semitones),
        from_degree=before.top.degree,
        to_degree=after.top.degree,
    )


def _common(before: Voicing, after: Voicing) -> tuple[CommonTone, ...]:
    then = {tone.midi: tone.degree for tone in after.tones}
    return tuple(
        CommonTone(midi=tone.midi, from_degree=tone.degree, to_degree=then[tone.midi])
        for tone in before.tones
        if tone.midi in then
    )


def _role(degree: Degree, stack: Sequence[Degree]) -> str | None:
    """Third or seventh of its chord; a 6 counts as the seventh where there is none."""
    if degree.number == 3 and degree.alteration <= 0:
        return "third"
    if degree.number == 4:
        return "third"
    if degree.number == 7:
        return "seventh"
    if degree.number == 6 and all(one.number != 7 for one in stack):
        return "seventh"
    return None


def _guides(before: Voicing, after: Voicing, moves: Sequence[VoiceMove]) -> tuple[VoiceMove, ...]:
    """Moves that carry a third into a seventh or a seventh into a third."""
    roles = {tone.midi: _role(tone.degree, before.stack) for tone in before.tones}
    then = {tone.midi: _role(tone.degree, after.stack) for tone in after.tones}
    return tuple(
        move
        for move in moves
        if move.from_midi is not None
        and move.to_midi is not None
        and {roles[move.from_midi], then[move.to_midi]} == {"third", "seventh"}
    )


def smooth_guide_tones(motion: Motion) -> bool:
    """Whether every guide tone moves by a whole step at most (and there is one)."""
    sizes = [abs(move.semitones or 0) for move in motion.guide_tones]
    return bool(sizes) and max(sizes) <= _STEP


def outer_motion(before: Voicing, after: Voicing) -> str:
    """How top and bottom move: parallel, similar, contrary, oblique or still."""
    low = after.pitches[0] - before.pitches[0]
    high = after.pitches[-1] - before.pitches[-1]
    if low == high:
        return "parallel" if low else "still"
    if not low or not high:
        return "oblique"
    return "similar" if (low > 0) == (high > 0) else "contrary"
