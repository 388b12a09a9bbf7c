"""Targets in TOML: sets that a player can write and share, and the built-in set.

    format = 1
    [[target]]
    name = "my ii-V-I"
    chords = "IIm9 | V13(b9) | I6/9"       degrees of the key, or chord symbols and key = "C"
    key = "C"                              only with chord symbols
    beats = [4, 4, 8]                      optional, instead of what the bars say
    stacks = ["b3 5 b7 9", "b7 b9 3 13", "3 5 6 9"]      optional, one a chord; "*" for any
    top = "9 13 9"                         optional, the degree meant on top of each chord
    tempo_bpm = 92                         optional
    source = "my teacher"                  optional

Unknown fields are refused. Reading is `tomllib`. Writing is tomlkit, which changes a file where
it must and leaves a player's own remarks, order and spacing as they are; what is written reads
back the same. It is imported where something is written.
"""

import re
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from stackline.practice.targets.stack import stack_text
from stackline.practice.targets.target_text import BEATS_IN_BAR, parse_chords
from stackline.practice.targets.targets import Target
from stackline.shared.codec.strict import Fields, kind
from stackline.shared.complaint import Complaint
from stackline.shared.files import read_text, write_text
from stackline.shared.units import FASTEST_BPM, SLOWEST_BPM, is_tempo

FORMAT = 1  # raised when older readers would misread it
LONGEST_BEATS = 64
LONGEST_NAME = 200  # letters (ours)
_BEATS = re.compile(r"\d{1,4}(/[1-9]\d{0,3})?")
LARGEST_SET = 4 * 2**20  # bytes


@cache
def built_in() -> tuple[Target, ...]:
    """The common-practice targets that come with the program."""
    text = (
        files("stackline.practice.targets")
        .joinpath("common_targets.toml")
        .read_text(encoding="utf-8")
    )
    return parse_set(text, "the built-in targets")


def read_set(path: Path) -> tuple[Target, ...]:
    """The targets of a file; raises Complaint with the target and the field at fault."""
    return parse_set(read_text(path, "a target file", most_bytes=LARGEST_SET), str(path))


def parse_set(text: str, where: str) -> tuple[Target, ...]:
    """The targets of a TOML text; where: what to call it in a sentence."""
    targets = tuple(_target(row, name) for row, name in _rows(text, where))
    _refuse_doubles(targets, where)
    return targets


def readable_in(path: Path) -> tuple[tuple[Target, ...], tuple[str, ...]]:
    """The targets of a file that can be read, and a sentence for each that cannot.

    Raises Complaint for a file that is no set at all.
    """
    text = read_text(path, "a target file", most_bytes=LARGEST_SET)
    targets: dict[str, Target] = {}
    faults = []
    for row, where in _rows(text, str(path)):
        try:
            one = _target(row, where)
        except Complaint as complaint:
            faults.append(str(complaint))
            continue
        if one.name.casefold() in targets:
            faults.append(f"{where}: another target is called {one.name!r}, too; rename one")
        targets.setdefault(one.name.casefold(), one)
    return tuple(targets.values()), tuple(faults)


def _rows(text: str, where: str) -> list[tuple[Any, str]]:
    """What stands under each [[target]], and its place; Complaint for what is no set."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise Complaint(f"{where}: not TOML: {error}") from error
    except (ValueError, RecursionError) as error:  # thousands of digits, or of levels
        raise Complaint(f"{where}: a number is too long, or lists are nested too deep") from error
    found = data.pop("format", None)
    if found != FORMAT:
        raise Complaint(f"{where}: format is {kind(found)}; begin the file with: format = {FORMAT}")
    rows = data.pop("target", [])
    if data:
        raise Complaint(
            f"{where}: unknown field {next(iter(data))!r}; allowed are format and [[target]]"
        )
    if not isinstance(rows, list) or not rows:
        raise Complaint(f"{where}: holds no targets; begin each with: [[target]]")
    return [(row, f"{where}, target {i}") for i, row in enumerate(rows, start=1)]


def _refuse_doubles(targets: Sequence[Target], where: str) -> None:
    seen: set[str] = set()
    for target in targets:
        if target.name.casefold() in seen:
            raise Complaint(f"{where}: two targets are called {target.name!r}; rename one")
        seen.add(target.name.casefold())


def _target(row: Any, where: str) -> Target:
    fields = Fields(row, where)
    name = fields.text("name").strip()
    if not name:
        raise Complaint(f"{where}: the name is empty")
    where = f"{where} ({name})"
    has = set(row)
    chords = fields.text("chords")
    key = fields.text("key") if "key" in has else None
    stacks = fields.each("stacks", _text) if "stacks" in has else ()
    beats = fields.each("beats", _read_beats) if "beats" in has else ()
    tops = tuple(fields.text("top").split()) if "top" in has else ()
    tempo = fields.number("tempo_bpm") if "tempo_bpm" in has else None
    source = fields.text("source") if "source" in has else "own"
    fields.close()
    if tempo is not None and not is_tempo(tempo):
        raise Complaint(
            f"{where}: tempo_bpm is {tempo:g}; allowed are {SLOWEST_BPM:g} to {FASTEST_BPM:g}"
        )
    try:
        read = parse_chords(chords, key=key, stacks=stacks, tops=tops)
    except Complaint as complaint:
        raise Complaint(f"{where}: {complaint}") from complaint
    if beats and len(beats) != len(read):
        raise Complaint(f"{where}: {len(beats)} beats for {len(read)} chords: give one for each")
    if beats:
        read = tuple(replace(one, beats=each) for one, each in zip(read, beats, strict=True))
    return Target(name=name, chords=read, tempo_bpm=tempo, source=source)


def _read_beats(value: Any, where: str) -> Fraction:
    is_one = isinstance(value, int | str) and not isinstance(value, bool)
    beats = Fraction(value) if is_one and _BEATS.fullmatch(str(value)[:20]) else Fraction(0)
    if not 0 < beats <= LONGEST_BEATS:
        raise Complaint(f'{where}: found {kind(value)}, expected beats such as 4 or "3/2"')
    return beats


def _text(value: Any, where: str) -> str:
    if not isinstance(value, str):
        raise Complaint(f'{where}: found {kind(value)}, expected text such as "b7 9 3 13"')
    return value


def print_set(targets: Iterable[Target]) -> str:
    """A set as TOML that `parse_set` reads back as the same targets."""
    import tomlkit

    document = tomlkit.document()
    document.add("format", tomlkit.item(FORMAT))
    document.add(tomlkit.nl())
    rows = tomlkit.aot()
    for target in targets:
        rows.append(tomlkit.item(_fields(target)))
    document.add("target", rows)
    return tomlkit.dumps(document)


def _fields(target: Target) -> dict[str, Any]:
    """What a target says in a file, in the order in which it is written."""
    fields: dict[str, Any] = {
        "name": target.name,
        "chords": " | ".join(chord.name() for chord in target.chords),
    }
    if any(beats != BEATS_IN_BAR for beats in target.beats):
        fields["beats"] = [int(one) if one.denominator == 1 else str(one) for one in target.beats]
    if any(chord.stack for chord in target.chords):
        fields["stacks"] = [stack_text(chord.stack) or "*" for chord in target.chords]
    if any(chord.top for chord in target.chords):
        tops = (chord.intended_top or chord.row.degrees[-1] for chord in target.chords)
        fields["top"] = " ".join(map(str, tops))
    if target.tempo_bpm is not None:
        whole = target.tempo_bpm == int(target.tempo_bpm)
        fields["tempo_bpm"] = int(target.tempo_bpm) if whole else target.tempo_bpm
    return fields | {"source": target.source}


def _fit_to_save(typed: str) -> str:
    """A name with its blanks in order; Complaint where no list could show it."""
    name = " ".join(typed.split())
    if not name or len(name) > LONGEST_NAME or not name.isprintable():
        what = "is too long or holds signs that cannot be printed" if name else "is empty"
        raise Complaint(
            f"the name {kind(typed)} {what}; give one of 1 to {LONGEST_NAME} letters, "
            "such as 'my ii-V'"
        )
    return name


def save_target(path: Path, target: Target) -> None:
    """Add a target to a file, or change the one of its name; the file appears if missing.

    Everything else in the file stays as the player wrote it, remarks included; only the remark
    behind a field that the target no longer has goes with that field.
    """
    target = replace(target, name=_fit_to_save(target.name))
    before = read_set(path) if path.exists() else ()
    text = print_set([target])
    if before:
        text = _changed(read_text(path, "a target file", most_bytes=LARGEST_SET), target)
    wanted = {one.name.casefold(): one for one in (*before, target)}
    if {one.name.casefold(): one for one in parse_set(text, str(path))} != wanted:
        raise Complaint(f"{target.name!r} cannot be saved so that it reads back the same")
    write_text(path, text)


def _changed(text: str, target: Target) -> str:
    """A set's text with the target in it."""
    import tomlkit

    document, fields = tomlkit.parse(text.rstrip() + "\n\n"), _fields(target)
    rows: Any = document["target"]
    same = [row for row in rows if row["name"].strip().casefold() == target.name.casefold()]
    if same:
        _change_row(same[0], fields)
    else:
        rows.append(fields)
    return tomlkit.dumps(document).rstrip() + "\n"


def _change_row(row: Any, fields: dict[str, Any]) -> None:
    """Give a row of a document these fields; what is as it was keeps its very spelling."""
    from tomlkit.items import Comment, Whitespace

    for gone in set(row) - set(fields):
        del row[gone]
    tail = []  # remarks below the last field belong to what follows
    while isinstance(row.value.body[-1][1], Comment | Whitespace):
        tail.append(row.value.body.pop()[1])
    for name, value in fields.items():
        if name not in row or row[name] != value:
            row[name] = value
    for remark in reversed(tail):
        row.add(remark)
