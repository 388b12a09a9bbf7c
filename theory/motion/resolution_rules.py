"""Where the degrees of a dominant are due to go: one table.

A row: by what the next chord is, degree -> shifts in semitones that count as landing, the
commonest first. Sources: the guide-tone rows are ii-V-I voice leading as taught everywhere
(T. Karlsson, jazz harmony lesson 53; voicelidjazzguitar.com); the tension rows are common
practice, unverified.

FIFTH_TO_*: the next root lies a fifth below (V to I). SEMITONE: a semitone below (the
tritone substitute). OWN_ROOT: a suspended chord becomes the dominant on its own root.
"""

from collections.abc import Mapping

Shifts = Mapping[str, tuple[int, ...]]

FIFTH_TO_MAJOR: Shifts = {
    "b7": (-1,), "3": (0, 1, -2), "b9": (-1,), "9": (-2, 0), "#9": (-1, 1, -3),
    "#11": (-1, 1), "b13": (-1, 1), "13": (-2, 0),
}  # fmt: skip
FIFTH_TO_MINOR: Shifts = {
    "b7": (-2,), "3": (0, 1, -1, -2), "b9": (-1,), "9": (-2,), "#9": (-1, 0, -3),
    "#11": (-1, 1), "b13": (0, -1), "13": (-1, -2),
}  # fmt: skip
FIFTH_TO_DOMINANT: Shifts = {
    "b7": (-1,), "3": (-1, 1), "b9": (-1,), "9": (-2, 0), "#9": (-1, 0, -3),
    "#11": (-1, 1), "b13": (-1, 1), "13": (-2, 0, -1),
}  # fmt: skip
FIFTH_TO_SUSPENDED: Shifts = {
    "b7": (0,), "3": (-1, 1), "b9": (-1,), "9": (-2, 0), "#9": (-1, 0, -3),
    "#11": (-1, 1), "b13": (-1,), "13": (-2, 0, -1),
}  # fmt: skip
SEMITONE: Shifts = {
    "3": (-1,), "b7": (1, 0), "R": (-1,), "5": (-1,), "9": (-1,), "#11": (0,), "13": (-1,),
}  # fmt: skip
OWN_ROOT: Shifts = {"4": (-1,)}


def shifts_due(family: str, next_family: str, root_step: int) -> Shifts:
    """What is due between two different chords; empty where nothing is.

    root_step: semitones up from the first root to the next, 0..11.
    """
    if family == "suspended" and next_family == "dominant" and root_step == 0:
        return OWN_ROOT
    if family not in ("dominant", "suspended"):
        return {}
    if root_step == 11:
        return SEMITONE
    if root_step != 5:
        return {}
    if next_family == "suspended":
        return FIFTH_TO_SUSPENDED
    if next_family == "dominant":
        return FIFTH_TO_DOMINANT
    return FIFTH_TO_MAJOR if next_family == "major" else FIFTH_TO_MINOR
