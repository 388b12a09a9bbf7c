"""Reading JSON without guessing: a missing, unknown or wrong field is told, not skipped."""

from collections.abc import Callable, Iterable
from typing import Any, TypeVar

from stackline.shared.complaint import Complaint

T = TypeVar("T")


class Fields:
    """A JSON object whose fields are taken one by one; `close` refuses what is left.

    where: the path in the document, for the sentence (``voicings[3].chord``).
    """

    def __init__(self, data: object, where: str) -> None:
        if not isinstance(data, dict):
            raise Complaint(f"{where}: found {kind(data)}, expected an object")
        self._left = dict(data)
        self._where = where

    def any(self, name: str) -> Any:
        """The raw value of a field that must be there."""
        if name not in self._left:
            raise Complaint(f"{self._where}: the field {name!r} is missing")
        return self._left.pop(name)

    def text(self, name: str) -> str:
        return self._typed(name, str, "text")

    def whole(self, name: str) -> int:
        return self._typed(name, int, "a whole number")

    def number(self, name: str) -> float:
        return float(self._typed(name, (int, float), "a number"))

    def maybe_text(self, name: str) -> str | None:
        return None if self._is_null(name) else self.text(name)

    def maybe_whole(self, name: str) -> int | None:
        return None if self._is_null(name) else self.whole(name)

    def maybe_number(self, name: str) -> float | None:
        return None if self._is_null(name) else self.number(name)

    def one_of(self, name: str, allowed: Iterable[T]) -> T:
        """A field that must be one of a few texts."""
        value = self.any(name)
        options = list(allowed)
        for option in options:
            if value == option:
                return option
        listed = ", ".join(repr(option) for option in options)
        raise Complaint(f"{self._where}.{name}: found {value!r}, expected one of {listed}")

    def each(self, name: str, read: Callable[[Any, str], T]) -> tuple[T, ...]:
        """A list field, each item read with its own path."""
        items = self._typed(name, list, "a list")
        return tuple(read(item, f"{self._where}.{name}[{i}]") for i, item in enumerate(items))

    def maybe(self, name: str, read: Callable[[Any, str], T]) -> T | None:
        """A field that is null or read by `read`."""
        value = self.any(name)
        return None if value is None else read(value, f"{self._where}.{name}")

    def later(self, name: str, read: Callable[[], T], absent: T) -> T:
        """A field that older documents do not have: what `read` gives if it is there."""
        return read() if name in self._left else absent

    def skip(self, *names: str) -> None:
        """Pass over fields that follow from others."""
        for name in names:
            self._left.pop(name, None)

    def close(self) -> None:
        """Refuse fields that nobody asked for."""
        if self._left:
            names = ", ".join(repr(name) for name in self._left)
            raise Complaint(f"{self._where}: unknown field {names}; this reader knows format 1")

    def _is_null(self, name: str) -> bool:
        if name in self._left and self._left[name] is None:
            self._left.pop(name)
            return True
        return False

    def _typed(self, name: str, types: Any, expected: str) -> Any:
        value = self.any(name)
        if isinstance(value, bool) or not isinstance(value, types):
            raise Complaint(f"{self._where}.{name}: found {kind(value)}, expected {expected}")
        return value


def whole(value: object, where: str) -> int:
    """An item that must be a whole number."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise Complaint(f"{where}: found {kind(value)}, expected a whole number")
    return value


def text(value: object, where: str) -> str:
    """An item that must be text."""
    if not isinstance(value, str):
        raise Complaint(f"{where}: found {kind(value)}, expected text")
    return value


def kind(value: object) -> str:
    """A JSON value named for a sentence, shortened."""
    shown = repr(value)
    return shown if len(shown) <= 40 else f"{shown[:37]}..."
