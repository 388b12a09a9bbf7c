"""How a place in the music is written, the same in every report.

``5.4&`` is bar 5, the "and" of four; quarters of a beat are ``4e`` and ``4a`` (counting
syllables, common practice), other parts are added: ``4+1/3``. A late off-beat that stands
alone is the "and" too (`stackline.shared.swing`). Without a beat grid a place is its time.
"""

from fractions import Fraction

from stackline.shared.notes import Attack, Position
from stackline.shared.swing import LATE, STRAIGHT, is_swung, late_beats, positions
from stackline.shared.take import Take
from stackline.shared.units import clock

# Beats after a beat, and how the place is called.
_PARTS = {
    Fraction(0): "",
    Fraction(1, 2): "&",
    Fraction(1, 4): "e",
    Fraction(3, 4): "a",
}


def beat_text(beat: Fraction) -> str:
    """A beat as it is counted: ``4``, ``4&``, ``4e``, ``4a``, ``4+1/3``."""
    whole = int(beat)
    rest = beat - whole
    return f"{whole}{_PARTS.get(rest, f'+{rest}')}"


class Places:
    """The places of one take. swung: whether it is said to swing."""

    def __init__(self, take: Take) -> None:
        self.swung = is_swung(take.attacks)
        self._late = late_beats(
            ((position.bar, int(position.beat)), position.beat % 1)
            for position in positions(take.attacks)
        )

    def short(self, attack: Attack) -> str:
        """Bar and beat with a point between, ``5.4&``, or the time."""
        if attack.position is None:
            return clock(attack.onset_s)
        return f"{attack.position.bar}.{self._beat(attack.position)}"

    def words(self, attack: Attack) -> str:
        """The place in words: ``bar 5, beat 4&`` or ``at 0:12.5``."""
        if attack.position is None:
            return f"at {clock(attack.onset_s)}"
        return f"bar {attack.position.bar}, beat {self._beat(attack.position)}"

    def start(self, attack: Attack) -> str:
        """Where something begins: ``bar 5`` or ``0:12.5``."""
        return clock(attack.onset_s) if attack.position is None else f"bar {attack.position.bar}"

    def _beat(self, position: Position) -> str:
        whole = int(position.beat)
        late = position.beat % 1 == LATE and (position.bar, whole) in self._late
        return beat_text(whole + STRAIGHT if late else position.beat)
