"""Searching the library's voicings: by structure, chord, stack, key, shape, top-line move.

Everything asked for must hold. Chords: a whole symbol (``G13(b9)``, any spelling that
`symbols` reads) or a quality alone (``13(b9)``), which finds it on every root.
Top-line moves: signed semitones (``+2``) or degrees (``9 > 13``), as moved into the voicing.
"""

import difflib
import re
from dataclasses import dataclass

from stackline.practice.library.store import Store
from stackline.practice.targets.numerals import read_key
from stackline.practice.targets.stack import read_stack
from stackline.shared.complaint import Complaint
from stackline.theory.chords.symbols import parse_symbol

LIMIT = 50  # places shown (ours)
MOST_NEAR = 4  # names that are offered for one that is not known (ours)
_MOVE = re.compile(r"[+-]?\d{1,2}")
_DEGREES = re.compile(r"(\S+)\s*>\s*(\S+)")


@dataclass(frozen=True, kw_only=True)
class Query:
    """What to look for; None means anything. like: (take, place) whose shape is wanted."""

    structure: str | None = None
    chord: str | None = None
    stack: str | None = None
    key: str | None = None
    move: str | None = None
    like: tuple[int, int] | None = None


@dataclass(frozen=True, kw_only=True)
class Hit:
    """A voicing that was found."""

    take_id: int
    take: str
    played_on: str
    place: int
    onset_s: float
    symbol: str
    stack: str
    key: int | None
    confidence: float


@dataclass(frozen=True, kw_only=True)
class Found:
    """Hits, the newest takes first, and how many voicings and takes there are in all."""

    hits: tuple[Hit, ...]
    voicings: int
    takes: int


def search(store: Store, query: Query, *, limit: int = LIMIT) -> Found:
    """Find voicings; raises Complaint for what cannot be read, or an empty query."""
    source, conditions, values = _conditions(store, query)
    where = " AND ".join(conditions)
    counted = store.read(
        f"SELECT count(*), count(DISTINCT take_id) FROM {source} WHERE {where}", values
    )[0]
    rows = store.read(
        f"WITH found AS (SELECT take_id, place FROM {source} WHERE {where} "
        "ORDER BY take_id DESC, place LIMIT ?) "
        "SELECT found.take_id, take.name AS take, played_on, found.place, onset_s, symbol, "
        "stack, key, confidence FROM found "
        "JOIN voicing ON voicing.take_id = found.take_id AND voicing.place = found.place "
        "JOIN take ON take.id = found.take_id ORDER BY found.take_id DESC, found.place",
        (*values, limit),
    )
    return Found(
        hits=tuple(Hit(**dict(row)) for row in rows), voicings=counted[0], takes=counted[1]
    )


def _conditions(store: Store, query: Query) -> tuple[str, list[str], list[object]]:
    """The table to look in, the conditions and their values.

    A structure alone is looked up in its own index; beside other things it is tested on
    the voicings that they find.
    """
    columns = _columns(store, query)
    conditions = [f"{column} = ?" for column, _ in columns]
    values = [value for _, value in columns]
    if query.structure is not None:
        names = _structures(store, query.structure)
        if not columns and len(names) == 1:
            return "structure", ["name = ?"], list(names)
        marks = ", ".join("?" * len(names))
        conditions.append(
            f"EXISTS (SELECT 1 FROM structure WHERE name IN ({marks}) "
            "AND structure.take_id = voicing.take_id AND structure.place = voicing.place)"
        )
        values += names
    if not conditions:
        raise Complaint(
            "say what to look for: --structure, --chord, --stack, --key, --top or --like"
        )
    return "voicing", conditions, values


def _structures(store: Store, typed: str) -> list[str]:
    """The structures whose names hold what was typed, with or without its spaces."""
    names = structure_names(store)
    wanted, words = _close(typed), typed.casefold().split()
    exact = [name for name in names if _close(name) == wanted]
    partly = [
        name for name in names
        if wanted and (
            wanted in _close(name) or all(word in name.casefold() for word in words)
        )
    ]  # fmt: skip
    if exact or partly:
        return exact or partly
    folded = {name.casefold(): name for name in names}
    near = difflib.get_close_matches(typed.casefold(), list(folded), MOST_NEAR, 0.4)
    shown = ", ".join(repr(folded[name]) for name in near)
    shown = shown or ", ".join(map(repr, names)) or "none yet"
    raise Complaint(f"no structure in the library is called {typed!r}; near are: {shown}")


def _close(name: str) -> str:
    """``Drop 2`` as ``drop2``."""
    return "".join(name.casefold().split())


def structure_names(store: Store) -> list[str]:
    """The structures that the library has, by name (a skip scan over the index)."""
    rows = store.read(
        "WITH RECURSIVE names (name) AS (SELECT min(name) FROM structure UNION ALL "
        "SELECT (SELECT min(name) FROM structure WHERE name > names.name) FROM names "
        "WHERE names.name IS NOT NULL) SELECT name FROM names WHERE name IS NOT NULL"
    )
    return [row[0] for row in rows]


def _columns(store: Store, query: Query) -> list[tuple[str, object]]:
    found: list[tuple[str, object]] = []
    if query.chord is not None:
        found.append(_chord(query.chord))
    if query.stack is not None:
        found.append(("stack", " ".join(str(one.degree) for one in read_stack(query.stack))))
    if query.key is not None:
        found.append(("key", read_key(query.key)))
    if query.move is not None:
        found.append(_move(query.move))
    if query.like is not None:
        found.append(("shape", _shape(store, query.like)))
    return found


def _chord(typed: str) -> tuple[str, str]:
    text = typed.strip()
    if text[:1] in tuple("ABCDEFG"):
        return "symbol", parse_symbol(text).text
    try:
        return "quality", parse_symbol(f"C{text}").quality
    except Complaint:
        raise Complaint(
            f"cannot read the chord {typed!r}: write a symbol such as G13(b9), "
            "or a quality alone such as 13(b9)"
        ) from None


def _move(typed: str) -> tuple[str, object]:
    degrees = _DEGREES.fullmatch(typed.strip())
    if degrees:
        return "move_degrees", f"{degrees[1]} > {degrees[2]}"
    if _MOVE.fullmatch(typed.strip()):
        return "move", int(typed)
    raise Complaint(
        f"cannot read the move {typed!r}: write semitones, +2 or -1, or degrees, 9 > 13"
    )


def _shape(store: Store, like: tuple[int, int]) -> str:
    rows = store.read("SELECT shape FROM voicing WHERE take_id = ? AND place = ?", like)
    if not rows:
        raise Complaint(f"take {like[0]} has no voicing {like[1]}")
    return str(rows[0]["shape"])
