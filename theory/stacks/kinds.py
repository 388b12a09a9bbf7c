"""What kinds of voicing are called: the one table of display names.

The definitions are in `structures`; here stand only the words, so that a page, a
table and a test mean the same. Terms are common practice.
"""

SHELL = "shell"
GUIDE_TONES = "guide tones"
ROOTLESS_3 = "rootless, 3rd at the bottom"
ROOTLESS_4 = "rootless, 4th at the bottom"
ROOTLESS_7 = "rootless, 7th at the bottom"
ROOTLESS_6 = "rootless, 6th at the bottom"
LOCKED = "locked hands"
BLOCK = "block chord"
FOUR_WAY = "four-way close"
DROP_2 = "drop 2"
DROP_3 = "drop 3"
DROP_24 = "drop 2&4"
FOURTHS = "fourths"
FOURTHS_THIRD = "fourths with a third on top"
FOURTHS_TWO_HANDS = "fourths, two hands"
FIFTHS_TWO_HANDS = "stacked fifths, two hands"
CLUSTER = "cluster"
SPREAD = "spread"
ROOTLESS_CLOSE = "rootless, close"
ROOTLESS_OPEN = "rootless, open"
ROOTED_CLOSE = "rooted, close"
ROOTED_OPEN = "rooted, open"
OCTAVES = "octaves"
TRIAD_3 = "triad, 3rd at the bottom"
TRIAD_5 = "triad, 5th at the bottom"
TENTH = "tenth"


def upper_structure(degree: str, mode: str) -> str:
    """The name of an upper-structure triad: its degree and "major" or "minor"."""
    return f"upper structure, {mode} triad on the {degree}"


def slash_chord(degree: str, mode: str, bass: str) -> str:
    """The name of a triad over a bass note: degrees and "major" or "minor"."""
    return f"slash chord, {mode} triad on the {degree} over the {bass}"


def polychord(above: str, below: str) -> str:
    """The name of two triads, each as "major triad on the 9"."""
    return f"polychord, {above} over {below}"
