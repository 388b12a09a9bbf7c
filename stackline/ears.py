"""Which ears there are, and how each is made. A new ear is one row here."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from stackline.shared.complaint import Complaint

if TYPE_CHECKING:
    from stackline.listen.ear import Ear


def _piano() -> "Ear":
    from stackline.listen.piano.piano_ear import PianoEar

    return PianoEar()


def _large() -> "Ear":
    from stackline.listen.large.large_ear import LargeEar

    return LargeEar()


def _general() -> "Ear":
    from stackline.listen.general.general_ear import GeneralEar

    return GeneralEar()


EARS: dict[str, Callable[[], "Ear"]] = {"piano": _piano, "general": _general, "large": _large}
DEFAULT_EAR = "piano"


def with_second(name: str) -> "Ear":
    """The ear of a name, doubted by the large ear; raises Complaint where that is not installed."""
    from stackline.listen.large.second_ear import SecondEar

    if name == "large":
        raise Complaint("--second-ear is the large ear; with --ear large it would doubt itself")
    return SecondEar(make_ear(name), make_ear("large"))


def make_ear(name: str) -> "Ear":
    """The ear of a name; raises Complaint for a name that is not in the table."""
    if name not in EARS:
        raise Complaint(f"no ear is called {name!r}; choose {' or '.join(EARS)}")
    return EARS[name]()
