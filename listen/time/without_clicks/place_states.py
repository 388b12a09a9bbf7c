"""States of the attacks on the way through a take, and where each came from."""

from dataclasses import dataclass

import numpy as np

from stackline.listen.time.without_clicks.place_moves import NEVER, TEMPI


@dataclass(frozen=True, kw_only=True, eq=False)
class Front:
    """Likelihoods of one attack's states. late_s: by how much it is later than its beat says.

    score, late_s: (n_places, n_tempi); free: (n_manners, n_tempi), of an attack out of time.
    """

    score: np.ndarray
    late_s: np.ndarray
    free: np.ndarray

    def best(self) -> float:
        """The likeliest state's."""
        return float(max(self.score.max(), self.free.max()))

    def only(self, places: np.ndarray, manners: np.ndarray) -> "Front":
        """The states of some places and manners alone."""
        return Front(score=self.score[places], late_s=self.late_s[places], free=self.free[manners])


@dataclass(frozen=True, kw_only=True, eq=False)
class Trail:
    """Where one attack's states came from, for the places and tempi that are kept.

    Places are numbered as in the whole table, and so are manners. left: (n_manners, n_tempi),
    whether an attack out of time came from one in time; left_from: its place.
    """

    places: np.ndarray
    columns: np.ndarray
    how: np.ndarray
    place: np.ndarray
    tempo: np.ndarray
    twelfths: np.ndarray
    manners: np.ndarray
    left: np.ndarray
    left_from: np.ndarray


class Step:
    """States of an attack as they are being filled in: arrays (n_places, n_tempi)."""

    def __init__(self, n_places: int) -> None:
        shape = (n_places, len(TEMPI))
        self.score = np.full(shape, NEVER, np.float32)
        self.late_s = np.zeros(shape, np.float32)
        self.how = np.zeros(shape, np.int8)
        self.place = np.zeros(shape, np.int16)
        self.tempo = np.zeros(shape, np.int16)
        self.twelfths = np.zeros(shape, np.uint8)

    def take(self, columns: np.ndarray, score: np.ndarray, **came: np.ndarray | int) -> None:
        """Keep what is likelier than what is there; all of shape (n_places, n_columns)."""
        better = score > self.score[:, columns]
        for name, values in {"score": score, **came}.items():
            mine = getattr(self, name)
            mine[:, columns] = np.where(better, values, mine[:, columns])
