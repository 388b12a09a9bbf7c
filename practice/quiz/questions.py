"""Questions out of the library: only voicings whose notes and name are 0.95 sure or more."""

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from stackline.practice.library.library import Library
from stackline.practice.quiz.wrong_answers import other_degrees, other_qualities, other_stacks
from stackline.shared.complaint import Complaint
from stackline.shared.harmony import Voicing
from stackline.shared.take import Take
from stackline.shared.units import clock
from stackline.theory.chords.foreign_chords import is_known
from stackline.theory.chords.root_under import bass_key
from stackline.theory.motion.tally import ARRIVED

SURE = 0.95  # confidence of what is asked about (ours)
LEAST_NOTES = 3  # of a stack that is asked about (ours)
LOOKED_AT = 40  # places that are looked through for the kind whose turn it is
CHORD_S, APART_S = 2.2, 2.4  # how long a chord sounds, and when the next begins

Kind = Callable[[random.Random, Take, int], "Question | None"]


@dataclass(frozen=True, kw_only=True)
class Question:
    """choices: what may be answered, `right` the index of the true one. why: said afterwards.

    sounds: onset and length in seconds, MIDI key; roots: the same for the basses under them.
    """

    ask: str
    choices: tuple[str, ...]
    right: int
    why: str
    sounds: tuple[tuple[float, float, int], ...]
    roots: tuple[tuple[float, float, int], ...]


def questions(
    library: Library, count: int, *, since: str = "", seed: int = 0
) -> tuple[Question, ...]:
    """Up to so many questions, of all four kinds in turn; the same for the same seed.

    since: an ISO date, empty for everything. Raises Complaint where nothing sure is kept.
    """
    rng = random.Random(seed)
    rows = library.store.read(
        "SELECT v.take_id, v.place FROM voicing v JOIN take ON take.id = v.take_id "
        "WHERE v.confidence >= ? AND take.played_on >= ? ORDER BY v.take_id, v.place",
        (SURE, since),
    )
    places = [(row["take_id"], row["place"]) for row in rows]
    rng.shuffle(places)
    takes: dict[int, Take] = {}
    found: list[Question] = []
    while places and len(found) < count:
        made = _next(rng, library, takes, places, KINDS[len(found) % len(KINDS)])
        found += [made] if made is not None else []
    if not found:
        raise Complaint(
            "the library has no voicing that is sure enough to ask about; keep takes with: "
            "stackline library add TAKE"
        )
    return tuple(found)


def _next(
    rng: random.Random,
    library: Library,
    takes: dict[int, Take],
    places: list[tuple[int, int]],
    kind: Kind,
) -> Question | None:
    """A question of a kind from one of the next places, which is used up; else from the first."""
    for i, (take_id, place) in enumerate(places[:LOOKED_AT]):
        take = takes.setdefault(take_id, library.take(take_id))
        made = kind(rng, take, place) if _is_askable(take.voicings[place]) else None
        if made is not None:
            del places[i]
            return made
    take_id, place = places.pop(0)
    take = takes[take_id]
    return _top(rng, take, place) if _is_askable(take.voicings[place]) else None


def _is_askable(here: Voicing) -> bool:
    return len(here.tones) >= LEAST_NOTES and is_known(here.chord.symbol)


def _top(rng: random.Random, take: Take, place: int) -> Question | None:
    here = take.voicings[place]
    stack = [str(one) for one in here.stack]
    symbol = here.chord.symbol.text
    wrong = other_degrees(rng, stack[-1], stack)
    return _question(rng, f"{symbol}: which degree is on top?", stack[-1], wrong, take, (place,))


def _quality(rng: random.Random, take: Take, place: int) -> Question | None:
    here = take.voicings[place]
    symbol = here.chord.symbol
    root = bass_key(symbol)
    if symbol.bass is not None:
        return None
    wrong = other_qualities(rng, symbol.quality, {(one - root) % 12 for one in here.pitches})
    if len(wrong) < 2:
        return None
    ask = f"Over {symbol.root}: which chord is it?"
    return _question(rng, ask, symbol.quality or "major", wrong, take, (place,))


def _stack(rng: random.Random, take: Take, place: int) -> Question | None:
    here = take.voicings[place]
    stack = [str(one) for one in here.stack]
    wrong = other_stacks(rng, here.chord.symbol.quality, stack)
    if len(wrong) < 2:
        return None
    ask = f"{here.chord.symbol.text}: which stack, from the bottom up?"
    return _question(rng, ask, " ".join(stack), wrong, take, (place,))


def _landed(rng: random.Random, take: Take, place: int) -> Question | None:
    motion = next((one for one in take.motions if one.from_index == place), None)
    if motion is None or not motion.resolutions:
        return None
    after = take.voicings[motion.to_index]
    if min(after.confidence, after.chord.confidence) < SURE or not is_known(after.chord.symbol):
        return None
    due = rng.choice(motion.resolutions)
    names = [take.voicings[i].chord.symbol.text for i in (place, motion.to_index)]
    ask = f"{names[0]} to {names[1]}: did the {due.degree} land?"
    arrived = due.outcome in ARRIVED
    end = f"it went to the {due.to}" if due.to is not None else "its voice stopped"
    choices = ("it landed", "it did not")
    return Question(
        ask=ask,
        choices=choices,
        right=0 if arrived else 1,
        why=f"The {due.degree}: {due.outcome}; {end}. {_where(take, place)}",
        sounds=_sounds([take.voicings[place], after]),
        roots=_roots([take.voicings[place], after]),
    )


KINDS: tuple[Kind, ...] = (
    _top,
    _quality,
    _stack,
    _landed,
)


def _question(
    rng: random.Random, ask: str, right: str, wrong: Sequence[str], take: Take, places: tuple[int]
) -> Question:
    choices = [right, *wrong]
    rng.shuffle(choices)
    here = take.voicings[places[0]]
    stack = " ".join(map(str, here.stack))
    return Question(
        ask=ask,
        choices=tuple(choices),
        right=choices.index(right),
        why=f"{here.chord.symbol.text}, {stack}, {here.structures[0]}. {_where(take, places[0])}",
        sounds=_sounds([here]),
        roots=_roots([here]),
    )


def _where(take: Take, place: int) -> str:
    return f"{take.source.name} at {clock(take.voicings[place].attack.onset_s)}"


def _sounds(voicings: Sequence[Voicing]) -> tuple[tuple[float, float, int], ...]:
    return tuple(
        (i * APART_S, CHORD_S, pitch) for i, one in enumerate(voicings) for pitch in one.pitches
    )


def _roots(voicings: Sequence[Voicing]) -> tuple[tuple[float, float, int], ...]:
    return tuple(
        (i * APART_S, CHORD_S, bass_key(one.chord.symbol)) for i, one in enumerate(voicings)
    )
