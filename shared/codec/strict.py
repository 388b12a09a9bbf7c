"""Reading JSON without guessing: what is missing, unknown, doubled or wrong is named by its place.

RFC 8259 leaves open what a doubled name, a number beyond a double and half a surrogate pair
mean (sections 4, 6 and 8.2), and Python's reader takes NaN and Infinity, which are not JSON. Here
none of these is taken. Whole numbers end at 2**53 - 1, where that document says programs agree.
"""

import json
import math
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

from stackline.shared.complaint import Complaint

T = TypeVar("T")

LARGEST_WHOLE = 2**53 - 1  # the largest whole number that every reader of JSON keeps (RFC 8259, 6)
_MOST_DIGITS = 400  # of a number; no double has more before the point
_SHOWN = 40  # characters of a wrong value in a sentence


class _Doubled(dict[str, Any]):
    """An object in which a name stands twice."""

    name = ""


class _TooLong:
    """A number of very many digits, which is none that anything here may be."""

    def __init__(self, digits: str) -> None:
        self._digits = digits

    def __repr__(self) -> str:
        return f"{self._digits[:20]}... ({len(self._digits)} digits)"


def load_json(document: str) -> Any:
    """What a JSON text says, for `Fields` to read; raises Complaint for what is no JSON."""
    try:
        return json.loads(document, object_pairs_hook=_object, parse_int=_whole)
    except json.JSONDecodeError as error:
        raise Complaint(f"not JSON: {error.msg} at line {error.lineno}") from error
    except RecursionError:
        raise Complaint("not a take: lists and objects are nested too deep") from None


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) == len(pairs):
        return found
    doubled, seen = _Doubled(found), set()
    for name, _ in pairs:
        if name in seen:
            doubled.name = name
        seen.add(name)
    return doubled


def _whole(digits: str) -> object:
    return int(digits) if len(digits) <= _MOST_DIGITS else _TooLong(digits)


class Fields:
    """A JSON object whose fields are taken one by one; `close` refuses what is left.

    where: the path in the document, for the sentence (``take.voicings[3].chord``).
    """

    def __init__(self, data: object, where: str) -> None:
        if not isinstance(data, dict):
            raise Complaint(f"{where}: found {kind(data)}, expected an object")
        if isinstance(data, _Doubled):
            raise Complaint(f"{where}: the field {kind(data.name)} stands there twice")
        self._left = dict(data)
        self._where = where

    def any(self, name: str) -> Any:
        """The raw value of a field that must be there."""
        if name not in self._left:
            raise Complaint(f"{self._where}: the field {name!r} is missing")
        return self._left.pop(name)

    def text(self, name: str) -> str:
        return text(self.any(name), self._at(name))

    def whole(self, name: str, low: int = -LARGEST_WHOLE, high: int = LARGEST_WHOLE) -> int:
        """A whole number, low and high among the allowed."""
        return whole(self.any(name), self._at(name), low, high)

    def number(self, name: str, low: float = -math.inf, high: float = math.inf) -> float:
        """A finite number, low and high among the allowed."""
        return number(self.any(name), self._at(name), low, high)

    def one_of(self, name: str, allowed: Iterable[T]) -> T:
        """A field that must be one of a few texts, or null where that is among them."""
        value, options = self.any(name), list(allowed)
        for option in options:
            if value == option:
                return option
        listed = ", ".join("null" if option is None else repr(option) for option in options)
        raise Complaint(f"{self._at(name)}: found {kind(value)}, expected one of {listed}")

    def each(self, name: str, read: Callable[[Any, str], T]) -> tuple[T, ...]:
        """A list field, each item read with its own path."""
        items = self.any(name)
        if not isinstance(items, list):
            raise Complaint(f"{self._at(name)}: found {kind(items)}, expected a list")
        return tuple(read(item, f"{self._at(name)}[{i}]") for i, item in enumerate(items))

    def maybe(self, name: str, read: Callable[[Any, str], T]) -> T | None:
        """A field that is null or read by `read`."""
        value = self.any(name)
        return None if value is None else read(value, self._at(name))

    def one(self, name: str, read: Callable[[Any, str], T]) -> T:
        """A field read by `read`."""
        return read(self.any(name), self._at(name))

    def later(self, name: str, read: Callable[[], T], absent: T) -> T:
        """A field that some documents do not have: what `read` gives if it is there."""
        return read() if name in self._left else absent

    def close(self) -> None:
        """Refuse fields that nobody asked for."""
        if self._left:
            names = ", ".join(kind(name) for name in self._left)
            raise Complaint(f"{self._where}: unknown field {names}; this reader knows format 1")

    def _at(self, name: str) -> str:
        return f"{self._where}.{name}"


def record(read: Callable[[Fields], T]) -> Callable[[Any, str], T]:
    """Wrap a reader of fields: open the object, read it, refuse leftovers, place errors."""

    def reader(data: Any, where: str) -> T:
        fields = Fields(data, where)
        try:
            found = read(fields)
        except Complaint:
            raise
        except ValueError as error:
            raise Complaint(f"{where}: {error}") from error
        fields.close()
        return found

    return reader


def whole(value: object, where: str, low: int = -LARGEST_WHOLE, high: int = LARGEST_WHOLE) -> int:
    """A value that must be a whole number from low to high; 60.0 is one, as JSON Schema says."""
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, bool) or not isinstance(value, int):
        raise Complaint(f"{where}: found {kind(value)}, expected a whole number")
    if not low <= value <= high:
        raise Complaint(f"{where}: found {kind(value)}, expected {_range(low, high)}")
    return value


def number(value: object, where: str, low: float = -math.inf, high: float = math.inf) -> float:
    """A value that must be a finite number from low to high."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise Complaint(f"{where}: found {kind(value)}, expected a number")
    if not low <= value <= high or not abs(value) < math.inf:
        raise Complaint(f"{where}: found {kind(value)}, expected {_range(low, high)}")
    try:
        return float(value)
    except OverflowError:
        raise Complaint(f"{where}: found {kind(value)}, expected a finite number") from None


def text(value: object, where: str) -> str:
    """A value that must be text, fit to be written as UTF-8."""
    if not isinstance(value, str):
        raise Complaint(f"{where}: found {kind(value)}, expected text")
    if not value.isascii():
        try:
            value.encode("utf-8")
        except UnicodeEncodeError:
            raise Complaint(
                f"{where}: found {kind(value)}, which holds half a surrogate pair; expected text"
            ) from None
    return value


def kind(value: object) -> str:
    """A JSON value named for a sentence, shortened."""
    shown = _shown(value)
    return shown if len(shown) <= _SHOWN else f"{shown[: _SHOWN - 3]}..."


def _shown(value: object) -> str:
    if isinstance(value, dict | list):
        return "an object" if isinstance(value, dict) else "a list"
    if value is None or isinstance(value, bool | float):
        return json.dumps(value)
    if isinstance(value, int) and value.bit_length() > _MOST_DIGITS:
        return f"a number of some {value.bit_length() * 30103 // 100_000 + 1} digits"
    return repr(value)


def _range(low: float, high: float) -> str:
    if math.isinf(high):
        return "a finite number" if math.isinf(low) else f"a finite number, {low:g} or more"
    return f"{low} to {high}" if isinstance(low, int) else f"{low:g} to {high:g}"
