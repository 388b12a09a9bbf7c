"""Habits over the whole library: which tensions and which kinds of voicing a player uses.

Counts over all voicings of all takes. A tension that sounds in fewer than one in fifty
dominants is called avoided (threshold ours), once there are enough dominants to say so.
"""

from collections import Counter
from dataclasses import dataclass

from stackline.practice.library.store import Store
from stackline.theory.chords.qualities import QUALITIES

TENSIONS = ("b9", "9", "#9", "#11", "b13", "13")
RARE = 0.02  # of dominants (ours)
ENOUGH = 50  # dominants before a tension is called avoided (ours)
MOST_SHOWN = 8  # structures that are listed (ours)


@dataclass(frozen=True, kw_only=True)
class Habits:
    """tensions: in how many of `dominants` each sounds. structures: the commonest first."""

    dominants: int
    tensions: tuple[tuple[str, int], ...]
    structures: tuple[tuple[str, int], ...]

    @property
    def avoided(self) -> tuple[str, ...]:
        """Tensions that hardly ever sound; empty while there are too few dominants to tell."""
        if self.dominants < ENOUGH:
            return ()
        return tuple(name for name, count in self.tensions if count < RARE * self.dominants)


def habits(store: Store) -> Habits:
    """Count tensions over dominants, and structures over everything."""
    keys = [row.key for row in QUALITIES if row.family == "dominant"]
    marks = ", ".join("?" * len(keys))
    stacks = store.read(
        f"SELECT stack, count(*) AS n FROM voicing WHERE quality IN ({marks}) GROUP BY stack", keys
    )
    sounding: Counter[str] = Counter()
    for row in stacks:
        for degree in set(row["stack"].split()) & set(TENSIONS):
            sounding[degree] += row["n"]
    kinds = store.read(
        "SELECT name, count(*) AS n FROM structure GROUP BY name ORDER BY n DESC, name"
    )
    return Habits(
        dominants=sum(row["n"] for row in stacks),
        tensions=tuple((name, sounding[name]) for name in TENSIONS),
        structures=tuple((row["name"], row["n"]) for row in kinds),
    )


def in_words(found: Habits) -> str:
    """Two or three lines of text, empty for an empty library."""
    if not found.structures:
        return ""
    kinds = ", ".join(f"{name} {count}" for name, count in found.structures[:MOST_SHOWN])
    lines = [f"Voicings over all takes: {kinds}."]
    if found.dominants:
        counts = ", ".join(f"{name} {count}" for name, count in found.tensions)
        lines.append(f"Tensions over {found.dominants} dominants: {counts}.")
    if found.avoided:
        lines.append(f"Hardly ever over a dominant: {', '.join(found.avoided)}.")
    return "\n".join(lines) + "\n"
