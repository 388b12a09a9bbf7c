"""From voicing to voicing: pairs, top line, common tones, guide tones, resolutions."""

from collections.abc import Sequence

from stackline.shared.harmony import (
    CommonTone,
    Motion,
    Parallel,
    TopKind,
    TopMove,
    VoiceMove,
    Voicing,
)
from stackline.theory.chords.same_chord import same_chord
from stackline.theory.form.home_dominants import home_dominants
from stackline.theory.motion.guide_tones import first_pairs, guide_moves, root_step
from stackline.theory.motion.pairing import pair_voices
from stackline.theory.motion.parallels import parallels
from stackline.theory.motion.resolutions import resolutions

_STEP, _SKIP = 2, 4  # semitones, at most (common practice: a skip is a third)


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
    changes_chord = not same_chord(before, after)
    planes = parallel is not None and _planes(before, after, parallel)
    moves = _moves(before, after, planes=planes, led=changes_chord and not rests)
    if parallel is not None and parallel.kind == "diatonic parallel" and not _all_move(moves):
        parallel = None
    due = changes_chord and not planes and not rests
    return Motion(
        from_index=i,
        to_index=i + 1,
        moves=moves,
        top=_top(before, after),
        common_tones=_common(before, after),
        guide_tones=guide_moves(before, after, moves) if changes_chord else (),
        resolutions=resolutions(before, _run(voicings, i + 1), moves) if due else (),
        parallel=parallel,
    )


def _planes(before: Voicing, after: Voicing, parallel: Parallel) -> bool:
    """Whether one chord is moved as it is: a side-slip, or the root goes as far as the stack.

    The same shape under another chord (G7alt and Cm6/9, a major third higher) resolves like any.
    """
    if parallel.kind == "side-slip":
        return True
    moved = parallel.semitones % 12 == root_step(before, after)
    return parallel.kind == "constant structure" and moved


def _moves(before: Voicing, after: Voicing, *, planes: bool, led: bool) -> tuple[VoiceMove, ...]:
    """Voice by voice. led: the guide tones of a new chord go first."""
    if planes:
        return pair_voices(
            before.pitches, after.pitches, tuple(zip(before.pitches, after.pitches, strict=True))
        )
    return pair_voices(before.pitches, after.pitches, first_pairs(before, after) if led else ())


def _all_move(moves: Sequence[VoiceMove]) -> bool:
    """Whether every voice goes on and none stays."""
    return all(move.semitones for move in moves)


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


def outer_motion(before: Voicing, after: Voicing) -> str:
    """How top and bottom move: parallel, similar, contrary, oblique or still."""
    low = after.pitches[0] - before.pitches[0]
    high = after.pitches[-1] - before.pitches[-1]
    if low == high:
        return "parallel" if low else "still"
    if not low or not high:
        return "oblique"
    return "similar" if (low > 0) == (high > 0) else "contrary"
