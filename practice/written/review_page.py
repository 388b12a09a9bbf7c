"""A review as a page: what to work on, the take from left to right, the keys, every pass."""

from dataclasses import asdict
from typing import Any

from stackline.practice.columns import plural
from stackline.practice.review.review_records import (
    SURE,
    KeyReview,
    PassReview,
    Review,
    VoicingReview,
)
from stackline.practice.targets.stack import stack_text
from stackline.practice.targets.targets import Target
from stackline.practice.written.fault_notes import with_notes
from stackline.practice.written.key_pictures import picture
from stackline.practice.written.next_thing import next_thing
from stackline.practice.written.page_frame import SIGNS, TONES, Sound, Sounds, page
from stackline.practice.written.review_text import state_words
from stackline.report.words.marks import one_line
from stackline.shared.units import clock
from stackline.theory.motion.tally import ARRIVED

LINE_WIDTH, MARGIN = 960, 20  # of a picture, in drawing units
SHORTEST_S = 0.3  # of a chord as it is played back; ours


def render(review: Review) -> str:
    """The page as HTML."""
    target = review.target
    marks = _marks(review)
    sounds = Sounds()
    return page(
        "review.html",
        sounds,
        target=target,
        recording=one_line(review.recording),
        chords=[
            {"name": chord.name(), "stack": stack_text(chord.stack)} for chord in target.chords
        ],
        counts=_counts(review),
        next=next_thing(review),
        marks=marks,
        line_words="; ".join(mark["words"] for mark in marks),
        keys=[_key(one) for one in review.keys],
        passes=[_pass(target, one, sounds) for one in review.passes],
    )


def _counts(review: Review) -> str:
    clean = sum(one.clean for one in review.passes)
    words = f"{clean} of {plural(len(review.passes), 'pass', 'passes')} clean"
    broken = len(review.false_starts)
    return f"{words}, {plural(broken, 'false start')}" if broken else words


def _marks(review: Review) -> list[dict[str, Any]]:
    """Passes and false starts on a line; names in two heights, so that they stay apart."""
    rows = [
        (one.start_s, one.key_name, "clean" if one.clean else "faulty") for one in review.passes
    ]
    rows += [(one.start_s, one.key_name, "broken") for one in review.false_starts]
    if not rows:
        return []
    rows.sort()
    first, last = rows[0][0], max(rows[-1][0], rows[0][0] + 1.0)
    words = {"clean": "clean", "faulty": "with a fault", "broken": "false start"}
    return [
        {
            "x": round(MARGIN + (at - first) / (last - first) * (LINE_WIDTH - 2 * MARGIN), 1),
            "y": 14 if i % 2 else 28,
            "key": key,
            "kind": kind,
            "words": f"{clock(at)} {key} {words[kind]}",
        }
        for i, (at, key, kind) in enumerate(rows)
    ]


def _key(one: KeyReview) -> dict[str, Any]:
    return {
        "key_name": one.key_name,
        "verdict": one.verdict,
        "tone": TONES[one.verdict],
        "sign": SIGNS[one.verdict],
        "passes": one.passes,
        "clean": one.clean,
        "false_starts": one.false_starts,
        "landed": str(one.landed) if one.landed.due else "",
        "best": f"{one.best_bpm:.0f}" if one.best_bpm else "",
    }


def _pass(target: Target, one: PassReview, sounds: Sounds) -> dict[str, Any]:
    arrived = sum(x.resolution.outcome in ARRIVED for x in one.landings)
    facts = [f"{arrived} of {len(one.landings)} landed"] if one.landings else []
    if one.tempo_bpm:
        facts.append(f"{one.tempo_bpm:.0f} beats a minute")
    return {
        "at": clock(one.start_s),
        "key": one.key_name,
        "clean": one.clean,
        "sign": "\u2713" if one.clean else "\u2715",
        "state": state_words(one),
        "facts": ", ".join(facts),
        "faults": [
            {
                "words": with_notes(target, one, fault),
                "unsure": f"{fault.sure:.0%} sure" if fault.sure < SURE else "",
            }
            for fault in one.faults
        ],
        "doubts": "; ".join(with_notes(target, one, doubt) for doubt in one.doubts),
        "played_sound": sounds.add(_as_played(one)),
        "meant_sound": _as_meant(one, sounds),
        "pictures": [_picture(target, one, v) for v in one.voicings] if one.faults else [],
    }


def _as_played(one: PassReview) -> Sound:
    """The voicings of a pass as they were struck, each until the next."""
    starts = [voicing.onset_s - one.start_s for voicing in one.voicings]
    ends = [*starts[1:], max(starts[-1], one.end_s - one.start_s)]
    return Sound(
        notes=tuple(
            (start, max(SHORTEST_S, end - start), pitch)
            for voicing, start, end in zip(one.voicings, starts, ends, strict=True)
            for pitch in voicing.compared.pitches
        )
    )


def _as_meant(one: PassReview, sounds: Sounds) -> int | None:
    """The target's own voicings one after the other; None where it leaves them free."""
    rows = [voicing.compared.meant for voicing in one.voicings]
    return sounds.chords(rows) if all(rows) else None


def _picture(target: Target, one: PassReview, voicing: VoicingReview) -> dict[str, Any]:
    compared = voicing.compared
    drawn = asdict(picture(compared.pitches, compared.meant))
    drawn["whites"] = [{"x": x} for x in drawn["whites"]]
    drawn["blacks"] = [{"x": x} for x in drawn["blacks"]]
    symbol = target.chords[voicing.chord].symbol(one.key).text
    stack = " ".join(str(degree) for degree in compared.degrees)
    return {
        **drawn,
        "symbol": symbol,
        "stack": stack,
        "status": compared.status,
        "words": f"{symbol}, played {stack}: {compared.status}",
    }
