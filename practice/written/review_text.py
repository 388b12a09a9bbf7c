"""A review as plain text: every pass, the twelve keys, and what to work on next.

ASCII but for names from outside. A finding whose notes the ear was unsure of starts
with ``?``. With `every`, each voicing of each pass stands below it, note by note.
"""

from itertools import groupby

from stackline.practice.columns import columns, plural
from stackline.practice.review.review_records import (
    SURE,
    Fault,
    KeyReview,
    PassReview,
    Review,
    VoicingReview,
)
from stackline.practice.targets.targets import Target
from stackline.practice.written.fault_notes import with_notes
from stackline.practice.written.next_thing import next_thing
from stackline.report.words.marks import one_line
from stackline.shared.units import clock


def render(review: Review, *, every: bool = False) -> str:
    """The review as text, ending in a newline."""
    parts = [_heading(review)]
    if review.passes or review.false_starts:
        parts += [_passes(review, every), _keys(review)]
    parts.append(f"Next: {next_thing(review)}\n")
    return "\n".join(parts)


def _heading(review: Review) -> str:
    target = review.target
    chords = "  ".join(
        f"{chord.name()} ({stack})" if chord.stack else chord.name()
        for chord, stack in zip(target.chords, target.stack_texts(), strict=True)
    )
    clean = sum(one.clean for one in review.passes)
    broken = len(review.false_starts)
    counts = f"{clean} of {plural(len(review.passes), 'pass', 'passes')} clean"
    if review.passes:
        counts += f"; keys in order: {keys_in_order(review)}"
    if broken:
        counts += f", {plural(broken, 'false start', 'false starts')}"
    return f"{one_line(review.recording)} against {one_line(target.name)}\n{chords}\n{counts}\n"


def keys_in_order(review: Review) -> str:
    """The keys of the passes as they were played, repeats counted: ``C, F twice, Bb 3 times``."""
    parts = []
    for name, same in groupby(one.key_name for one in review.passes):
        count = len(list(same))
        often = {1: "", 2: " twice"}.get(count, f" {count} times")
        parts.append(name + often)
    return ", ".join(parts)


def _passes(review: Review, every: bool) -> str:
    lines: list[tuple[float, str]] = []
    for one in review.passes:
        lines.append((one.start_s, _pass_lines(review.target, one, every)))
    for false in review.false_starts:
        chords = plural(false.reached, "chord", "chords")
        lines.append(
            (false.start_s, f"{clock(false.start_s):>8}  {false.key_name:<3} false start, {chords}")
        )
    return "\n".join(text for _, text in sorted(lines)) + "\n"


def _pass_lines(target: Target, one: PassReview, every: bool) -> str:
    tempo = f", {one.tempo_bpm:.0f} beats a minute" if one.tempo_bpm else ""
    landed = sum(x.resolution.outcome in ("landed", "other octave", "late") for x in one.landings)
    resolved = f", {landed} of {len(one.landings)} landed" if one.landings else ""
    lines = [f"{clock(one.start_s):>8}  {one.key_name:<3} {state_words(one)}{resolved}{tempo}"]
    lines += [f"          {fault_line(target, one, fault)}" for fault in one.faults]
    if every:
        lines += [
            f"            hard to hear: {with_notes(target, one, doubt)}" for doubt in one.doubts
        ]
        lines += [f"            {_voicing(target, one, voicing)}" for voicing in one.voicings]
    return "\n".join(lines)


def state_words(one: PassReview) -> str:
    """``clean``, ``clean, hesitating``, ``2 faults, 1 unsure``."""
    hesitations = sum(fault.kind == "hesitation" for fault in one.faults)
    wrong = len(one.faults) - one.unsure - hesitations
    parts = [plural(wrong, "fault") if wrong else "clean"]
    if hesitations:
        parts.append("hesitating")
    if one.unsure:
        parts.append(f"{one.unsure} unsure")
    return ", ".join(parts)


def fault_line(target: Target, one: PassReview, fault: Fault) -> str:
    """A fault in words and notes, with ``?`` where the ear was unsure."""
    unsure = f"? ({fault.sure:.0%} sure) " if fault.sure < SURE else ""
    return f"- {unsure}{with_notes(target, one, fault)}"


def _voicing(target: Target, one: PassReview, voicing: VoicingReview) -> str:
    compared = voicing.compared
    symbol = target.chords[voicing.chord].symbol(one.key).text
    stack = " ".join(str(degree) for degree in compared.degrees)
    guides = [name for name, sounds in compared.guides if not sounds]
    notes: list[str] = [compared.status]
    if guides:
        notes.append(f"guide tone missing: {' '.join(guides)}")
    if voicing.top.semitones is not None:
        notes.append(f"top {voicing.top.semitones:+d} to the {voicing.top.played}")
    if not voicing.top.as_meant:
        notes.append(f"top meant: {voicing.top.meant}")
    if voicing.put_right_s is not None:
        notes.append(f"corrected after {voicing.put_right_s:.1f} s")
    landed = [
        f"{x.resolution.degree} {x.resolution.outcome}"
        + (f" ({x.resolution.to})" if x.resolution.to else "")
        for x in one.landings
        if x.chord == voicing.chord
    ]
    wait = [f"{w.beats:.1f} beats to the next" for w in one.waits if w.chord == voicing.chord]
    return f"{symbol:<10} {stack:<18} {'; '.join([*notes, *landed, *wait])}"


def _keys(review: Review) -> str:
    return columns(
        ("key", "verdict", "passes", "clean", "false starts", "landed", "best clean"),
        [_key_row(one) for one in review.keys],
    )


def _key_row(one: KeyReview) -> tuple[str, ...]:
    return (
        one.key_name,
        one.verdict,
        str(one.passes or "-"),
        str(one.clean) if one.passes else "-",
        str(one.false_starts or "-"),
        str(one.landed) if one.landed.due else "-",
        f"{one.best_bpm:.0f}" if one.best_bpm else "-",
    )
