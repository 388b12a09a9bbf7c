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

Unknown fields are refused. Reading is `tomllib`; a set is small and flat, so it is written
by hand here, one field a line, and what is written reads back the same.
"""

import json
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from stackline.practice.targets.target_text import BEATS_IN_BAR, parse_chords
from stackline.practice.targets.targets import Target
from stackline.shared.codec.strict import Fields, kind
from stackline.shared.complaint import Complaint
from stackline.shared.files import write_text

FORMAT = 1
LONGEST_BEATS = 64
SLOWEST_BPM, FASTEST_BPM = 20.0, 400.0


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
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise Complaint(f"{path}: cannot be read as a target file ({error})") from error
    return parse_set(text, str(path))


def parse_set(text: str, where: str) -> tuple[Target, ...]:
    """The targets of a TOML text; where: what to call it in a sentence."""
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise Complaint(f"{where}: no TOML: {error}") from error
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
    targets = tuple(_target(row, f"{where}, target {i}") for i, row in enumerate(rows, start=1))
    _refuse_doubles(targets, where)
    return targets


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
    if tempo is not None and not SLOWEST_BPM <= tempo <= FASTEST_BPM:
        raise Complaint(f"{where}: tempo_bpm is {tempo:g}; allowed are 20 to 400")
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
    try:
        beats = Fraction(value) if isinstance(value, int | str) else Fraction(0)
    except (ValueError, ZeroDivisionError):
        beats = Fraction(0)
    if not 0 < beats <= LONGEST_BEATS or isinstance(value, bool):
        raise Complaint(f'{where}: found {kind(value)}, expected beats such as 4 or "3/2"')
    return beats


def _text(value: Any, where: str) -> str:
    if not isinstance(value, str):
        raise Complaint(f'{where}: found {kind(value)}, expected text such as "b7 9 3 13"')
    return value


def print_set(targets: Iterable[Target]) -> str:
    """A set as TOML that `parse_set` reads back as the same targets."""
    return f"format = {FORMAT}\n\n" + "\n".join(_print_target(target) for target in targets)


def _print_target(target: Target) -> str:
    lines = ["[[target]]", f"name = {_quoted(target.name)}"]
    lines.append(f"chords = {_quoted(' | '.join(chord.name() for chord in target.chords))}")
    if any(beats != BEATS_IN_BAR for beats in target.beats):
        lines.append(f"beats = [{', '.join(_beats(beats) for beats in target.beats)}]")
    if any(chord.stack for chord in target.chords):
        stacks = ", ".join(_quoted(" ".join(chord.stack) or "*") for chord in target.chords)
        lines.append(f"stacks = [{stacks}]")
    if any(chord.top for chord in target.chords):
        tops = " ".join(chord.intended_top or chord.row.degrees[-1] for chord in target.chords)
        lines.append(f"top = {_quoted(tops)}")
    if target.tempo_bpm is not None:
        lines.append(f"tempo_bpm = {target.tempo_bpm:g}")
    lines.append(f"source = {_quoted(target.source)}")
    return "\n".join(lines) + "\n"


def _beats(beats: Fraction) -> str:
    """A whole number, or text such as "4/5" for what is none."""
    return str(beats) if beats.denominator == 1 else _quoted(str(beats))


def _quoted(text: str) -> str:
    """A TOML basic string: JSON's escapes are a part of TOML's, and DEL needs one, too."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def save_target(path: Path, target: Target) -> None:
    """Add a target to a file, or replace the one of its name; the file appears if missing.

    Remarks that a player wrote into the file are lost: the set is written anew.
    """
    before = read_set(path) if path.exists() else ()
    kept = [one for one in before if one.name.casefold() != target.name.casefold()]
    write_text(path, print_set([*kept, target]))
