"""A form written with repeats and endings, played out bar by bar.

``|: body |1. first :|2. second`` is body, first, body, second; a repeat without endings is
played as often as it says, twice if it says nothing; without an opening sign it goes back to
the one before, or to the beginning. A bar line alone ends no ending but the last (common
practice of printed music).
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, field
from typing import Generic, TypeVar

Bar = TypeVar("Bar", bound=Hashable)
TWICE = 2  # times, where a repeat says no number
MOST_TIMES = 32  # more is taken for a typing error (our bound)


class RepeatError(ValueError):
    """What cannot be played out, in words that follow "the changes have"."""


@dataclass
class Unroller(Generic[Bar]):
    """Takes bars and signs in the order of the page; `done` holds what was played so far."""

    done: list[Bar] = field(default_factory=list)
    body: list[Bar] = field(default_factory=list)
    endings: list[tuple[frozenset[int], list[Bar]]] = field(default_factory=list)
    is_open: bool = False
    is_closed: bool = False  # the last ending was closed by :|

    def bar(self, bar: Bar) -> None:
        """One bar more."""
        if self.endings and self.is_closed:
            self._play_endings()
        (self.endings[-1][1] if self.endings else self.body).append(bar)

    def open(self) -> None:
        """``|:``"""
        if self.is_open and not self.endings and self.body:
            raise RepeatError("a repeat |: inside another that is still open: close it with :|")
        self._settle()
        self.is_open = True

    def close(self, times: int | None) -> None:
        """``:|``, ``:| x3``"""
        if times is not None and not 1 <= times <= MOST_TIMES:
            raise RepeatError(f"a repeat played {times} times: write 1 to {MOST_TIMES}")
        if self.endings:
            if times is not None:
                raise RepeatError(f"a repeat x{times} with endings: number the endings instead")
            self.is_closed = True
            return
        if not self.body:
            raise RepeatError("a repeat :| with no bar before it")
        self.done += self.body * (times or TWICE)
        self.body, self.is_open = [], False

    def ending(self, numbers: Sequence[int]) -> None:
        """``1.``, ``2.``, ``1.-3.``"""
        taken = {one for earlier, _ in self.endings for one in earlier}
        if taken and not self.is_closed:
            raise RepeatError(f"an ending {numbers[0]}. without :| before it")
        if min(numbers) != len(taken) + 1 or len(set(numbers)) != len(numbers):
            raise RepeatError(f"an ending {numbers[0]}. where ending {len(taken) + 1}. is due")
        if not self.body and not self.endings:
            raise RepeatError(f"an ending {numbers[0]}. with no bar before it")
        self.endings.append((frozenset(numbers), []))
        self.is_closed = False

    def play_again(self, bars: int, times: int) -> None:
        """The last so many bars, `times` in all."""
        if not 1 <= times <= MOST_TIMES:
            raise RepeatError(f"bars played {times} times: write 1 to {MOST_TIMES}")
        where = self.endings[-1][1] if self.endings else self.body
        if not 0 < bars <= len(where):
            raise RepeatError(f"x{times} with no bars before it that it could repeat")
        where += where[-bars:] * (times - 1)

    def end(self) -> list[Bar]:
        """The text is over: the whole form as it is played."""
        if self.is_open and not self.endings:
            raise RepeatError("a repeat |: that is never closed: end it with :|")
        self._settle()
        return self.done

    def _settle(self) -> None:
        if self.endings:
            self._play_endings()
        self.done += self.body
        self.body, self.is_open = [], False

    def _play_endings(self) -> None:
        count = max(one for numbers, _ in self.endings for one in numbers)
        if len(self.endings) < TWICE:
            raise RepeatError("a first ending without a second")
        for time in range(1, count + 1):
            last = next(bars for numbers, bars in self.endings if time in numbers)
            if not last:
                raise RepeatError(f"an empty ending {time}.")
            self.done += self.body + last
        self.body, self.endings, self.is_open, self.is_closed = [], [], False, False
