"""What each note says of being a line's: its place in the chord, its neighbours, what repeats.

A line is played one note at a time over comping that is struck together. What speaks for it:
nothing struck below or a gap below it, lone neighbours near in time and pitch, a chord beneath
that is struck elsewhere without it, an end of its own. What speaks against it: notes close below
that always come and go with it. Times count in seconds, not in beats: nothing here needs a beat.

Units: seconds, semitones; every value is scaled to about -3..3.
"""

from collections.abc import Sequence

import numpy as np

from stackline.shared.notes import Attack, Note

NEAR_S, FAR_S = 2.0, 6.0  # what is looked at around a note
CHORD = 3  # so many notes struck together are a chord
REPEATS_S = 10.0
FARTHEST = 24.0  # semitones beyond which it does not matter how far
HAND = 14  # semitones that one hand spans with ease


def line_features(attacks: Sequence[Attack]) -> np.ndarray:
    """One row a struck note, by attack and rising pitch: (n, n_features)."""
    scene = _Scene(attacks)
    rows = [
        [*_inside(attack.struck, at), *_held(attack, note), *around, *scene.melodic(i, note),
         *scene.repeated(i, at)]
        for i, attack in enumerate(attacks)
        for around in (scene.around(i),)
        for at, note in enumerate(attack.struck)
    ]  # fmt: skip
    return np.array(rows, dtype=float).reshape(len(rows), -1)


def _far(semitones: float) -> float:
    return float(np.clip(semitones, -FARTHEST, FARTHEST)) / 12.0


def _time(seconds: float) -> float:
    """A time on a scale of doublings around half a second."""
    return float(np.clip(np.log2(max(seconds, 1e-3) / 0.5), -3.0, 3.0))


def _inside(struck: Sequence[Note], at: int) -> list[float]:
    """A note in the chord that it is struck with."""
    note, pitches = struck[at], [one.midi for one in struck]
    below, above = pitches[:at], pitches[at + 1 :]
    lengths = [one.offset_s - one.onset_s for one in struck]
    own, others = lengths[at], [*lengths[:at], *lengths[at + 1 :]]
    ends = [one.offset_s for one in struck if one is not note]
    return [
        float(not below), min(len(below), 5) / 2.0, float(len(below) == 1), min(len(above), 3),
        _far(note.midi - below[-1]) if below else 0.0,
        _far(above[0] - note.midi) if above else 0.0,
        (note.midi - 64) / 12.0,
        _far(note.midi - pitches[0]), float(note.midi - pitches[0] > HAND),
        float(note.midi - 12 in pitches), float(note.midi + 12 in pitches),
        _time(own),
        _time(own) - _time(float(np.median(others))) if others else 0.0,
        min(abs(note.offset_s - float(np.median(ends))), 1.0) if ends else 0.0,
        min(note.onset_s - struck[0].onset_s, 0.1) * 10.0,
    ]  # fmt: skip


def _held(attack: Attack, note: Note) -> list[float]:
    """What still sounds from before, below and above the note."""
    below = [one.midi for one in attack.held if one.midi < note.midi]
    above = len(attack.held) - len(below)
    gap = _far(note.midi - max(below)) if below else 0.0
    return [min(len(below), 5) / 2.0, min(above, 4) / 2.0, gap]


class _Scene:
    """The attacks of a take as arrays, for what lies around each."""

    def __init__(self, attacks: Sequence[Attack]) -> None:
        self._attacks = attacks
        self._onsets = np.array([attack.onset_s for attack in attacks])
        self._sizes = np.array([len(attack.struck) for attack in attacks])
        self._tops = np.array([attack.struck[-1].midi for attack in attacks], dtype=float)
        self._sets = [frozenset(note.midi for note in attack.struck) for attack in attacks]
        self._chords = np.flatnonzero(self._sizes >= CHORD)

    def around(self, i: int) -> list[float]:
        """How busy, how much of it alone or in chords, near and farther off."""
        found: list[float] = []
        for reach_s in (NEAR_S, FAR_S):
            inside = self._window(i, reach_s)
            sizes = self._sizes[inside]
            alone, chords = sizes == 1, sizes >= CHORD
            found += [
                float(np.mean(alone)), float(np.mean(chords)),
                len(sizes) / reach_s / 4.0, float(np.sum(alone)) / reach_s / 2.0,
            ]  # fmt: skip
            tops = self._tops[inside]
            for mine in (alone, chords):
                known = bool(np.any(mine))
                above = float(np.median(tops[mine])) - self._tops[i] if known else 0.0
                found += [float(known), _far(above)]
        return found

    def _window(self, i: int, reach_s: float) -> slice:
        low = int(np.searchsorted(self._onsets, self._onsets[i] - reach_s))
        high = int(np.searchsorted(self._onsets, self._onsets[i] + reach_s, "right"))
        return slice(low, high)

    def melodic(self, i: int, note: Note) -> list[float]:
        """The attacks before and after: how far in time, how large, how far their top is."""
        found: list[float] = []
        for step in (-1, 1):
            for j in (i + step, i + 2 * step):
                if not 0 <= j < len(self._attacks):
                    found += [3.0, 0.0, 0.0, 0.0, 0.0, 0.0]
                    continue
                top = self._tops[j] - note.midi
                nearest = min(abs(midi - note.midi) for midi in self._sets[j])
                found += [
                    _time(abs(self._onsets[j] - self._onsets[i])), float(self._sizes[j] == 1),
                    float(self._sizes[j] >= CHORD), _far(abs(top)), _far(top), _far(nearest),
                ]  # fmt: skip
        following = self._onsets[i + 1] if i + 1 < len(self._attacks) else note.offset_s
        found.append(float(np.clip(note.offset_s - following, -1.0, 1.0)))
        return found

    def repeated(self, i: int, at: int) -> list[float]:
        """Whether what lies below is struck elsewhere too, and whether with this note."""
        struck = self._attacks[i].struck
        midi, below = struck[at].midi, frozenset(one.midi for one in struck[:at])
        whole, bare, other = 0.0, 0.0, 0.0
        if len(below) >= 2:
            for j in range(*self._window(i, REPEATS_S).indices(len(self._sets))):
                if j != i and below <= self._sets[j]:
                    whole += midi in self._sets[j]
                    bare += max(self._sets[j]) == max(below)
                    other += midi not in self._sets[j] and max(self._sets[j]) > max(below)
        found = [min(whole, 3.0) / 2, min(bare, 3.0) / 2, min(other, 3.0) / 2]
        for chord in self._neighbouring_chords(i):
            there = self._sets[chord] if chord is not None else frozenset()
            shared = len(below & there) / len(below) if below else 0.0
            found += [float(midi in there), shared,
                      _far(midi - max(there)) if there else 0.0]  # fmt: skip
        return found

    def _neighbouring_chords(self, i: int) -> tuple[int | None, int | None]:
        at = int(np.searchsorted(self._chords, i))
        after = at + (at < len(self._chords) and self._chords[at] == i)
        before = int(self._chords[at - 1]) if at else None
        return before, int(self._chords[after]) if after < len(self._chords) else None
