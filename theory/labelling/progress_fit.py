"""What was fitted to the hand-set tables of progressions: how, and how it is looked up.

`theory/labelling/progress_fit.txt` holds a correction for each weight of `context`, in tenths of a
natural logarithm. training/classifiers/fit_progress.py writes it: gradient steps of a conditional
random field on the forms of fixtures/played/tuning_forms.py, played as stacks and as two-note
shells, and on generated takes, with the hand-set tables as the place that each weight is pulled
back to. No form or seed that a figure is quoted on takes part.

Corrections are the same in every key, so a table holds one row for each root motion or for
each root over the tonic:

    follow                   role before x root motion, a row of next roles
    in_key, entry, start     mode x root over the tonic, a row of roles
    moves                    mode x motion of the tonic, a row of next modes
"""

from functools import cache
from pathlib import Path

import numpy as np

from stackline.theory.labelling.likelihood import N_ROLES

PATH = Path(__file__).with_suffix(".txt")
SHAPES = {
    "follow": (N_ROLES, 12, N_ROLES), "in_key": (2, 12, N_ROLES), "entry": (2, 12, N_ROLES),
    "start": (2, 12, N_ROLES), "moves": (2, 12, 2),
}  # fmt: skip
TENTH = 0.1
_ROOT, _ROLE = np.arange(12 * N_ROLES) // N_ROLES, np.arange(12 * N_ROLES) % N_ROLES
_MODE, _TONIC = np.arange(24) // 12, np.arange(24) % 12


def cells(name: str) -> np.ndarray:
    """Which cell of a fitted table each entry of the full table takes, flat: int array.

    (108, 108) for follow, (24, 24) for moves, else (24, 108).
    """
    if name == "follow":
        step = (_ROOT[None, :] - _ROOT[:, None]) % 12
        found = (_ROLE[:, None] * 12 + step) * N_ROLES + _ROLE[None, :]
    elif name == "moves":
        step = (_TONIC[None, :] - _TONIC[:, None]) % 12
        found = (_MODE[:, None] * 12 + step) * 2 + _MODE[None, :]
    else:
        step = (_ROOT[None, :] - _TONIC[:, None]) % 12
        found = (_MODE[:, None] * 12 + step) * N_ROLES + _ROLE[None, :]
    return found


@cache
def _tables() -> dict[str, np.ndarray]:
    """Every fitted table, flat, in natural logarithms."""
    found: dict[str, list[float]] = {}
    rows: list[float] = []
    for line in PATH.read_text(encoding="utf-8").splitlines():
        if line.startswith("["):
            rows = found.setdefault(line.strip("[]"), [])
        elif not line.startswith("#"):
            rows += [TENTH * int(word) for word in line.split()]
    return {name: np.array(numbers) for name, numbers in found.items()}


def fitted(name: str) -> np.ndarray:
    """The correction of a whole table, to be added to its logarithm."""
    return _tables()[name][cells(name)]


def written(tables: dict[str, np.ndarray]) -> str:
    """The text that `fitted` reads, from flat tables in natural logarithms."""
    lines = ["# made by training/classifiers/fit_progress.py; tenths of a natural logarithm"]
    for name, shape in SHAPES.items():
        lines.append(f"[{name}]")
        rows = np.rint(tables[name].reshape(-1, shape[-1]) / TENTH).astype(int)
        lines += [" ".join(f"{number:3d}" for number in row) for row in rows]
    return "\n".join(lines) + "\n"
