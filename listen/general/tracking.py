"""From activations to notes: which keys were struck, when, and how long they sounded.

Candidates are local maxima of the onset activation, key by key, above a floor, which is
lower where other keys are struck at the same time: an attack that is sure of some notes is
searched for its softer ones. A judge (each ear has its own) says how likely each was a
real strike, seeing all keys around it; a review may weigh these chances once more, seeing
all strikes of the take. Those above `keep` become notes. A strike is placed between frames
by the ear's own nudge or by a parabola through the peak. A note ends where its key stops
sounding or is struck again.

Activations come in consecutive chunks; each is judged with a margin on both sides
(`chunks`), so the result does not depend on where chunks are cut, and memory does
not grow with length (beyond one bit per frame and key for the ends of notes).
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from scipy.ndimage import maximum_filter1d

from stackline.listen.general.chunks import with_margins
from stackline.shared.notes import Note, in_order
from stackline.shared.sound import Activations
from stackline.shared.units import LOWEST_MIDI, N_KEYS

_TOGETHER_S = 0.05  # in which an attack's onsets are added up
ATTACK_S = 0.06  # keys struck within this are of one attack


@dataclass(frozen=True, kw_only=True, eq=False)
class Around:
    """Candidates and the activations around them.

    onset, frame: (n_frames, 88), with `MARGIN_S` less two `ATTACK_S` round candidates
    (zeros beyond the recording). rows, keys: (n_candidates,), where they are. is_own: False
    for candidates that are judged elsewhere and only stand here as neighbours: all within
    `ATTACK_S` of an own candidate do. first_frame: index in the recording of row 0.
    frames_per_s: of the rows.
    """

    onset: np.ndarray
    frame: np.ndarray
    rows: np.ndarray
    keys: np.ndarray
    is_own: np.ndarray
    first_frame: int
    frames_per_s: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Strikes:
    """What may have been struck in a take. Shapes (n,), seen (n, n_seen).

    time_s: in seconds; frame: of the recording; key: 0..87; chance: of a real strike. seen:
    what else the judge gave.
    """

    time_s: np.ndarray
    frame: np.ndarray
    key: np.ndarray
    chance: np.ndarray
    seen: np.ndarray

    def part(self, which: np.ndarray) -> "Strikes":
        """Some of the strikes. which: (n,), a mask, or (k,), indices."""
        return Strikes(**{name: value[which] for name, value in vars(self).items()})


Judge = Callable[[Around], np.ndarray]
"""Gives the chance, 0..1, that each candidate was struck, shape (n_candidates,); or that in
column 0 of (n_candidates, 1 + n_seen), and behind it what a review is to see."""

Review = Callable[[Strikes], np.ndarray]
"""Gives the chances of all likely strikes of a take, by time, once more, shape (n,)."""


def by_onset(around: Around) -> np.ndarray:
    """The judge for an ear whose onset activation already is a probability: (n_candidates,)."""
    return around.onset[around.rows, around.keys]


@dataclass(frozen=True, kw_only=True)
class Tracking:
    """How one ear's activations become notes.

    floor: lowest onset peak that is a candidate. floor_in_attack: the same where keys are
    struck within 50 ms: where what their onset activations exceed `attack_from` by adds up
    to `attack_sum` (None: no second floor). judge: gives the chance of a strike; review:
    weighs those from `review_from` again, if there is one; keep: chance from which it is a
    note. peak_s: a peak is the highest within this on either side. delay_s: how late the
    ear's peaks stand. apart_s: strikes of one key closer than this are one. sounding: frame
    activation above which a key sounds. bridge_s: a gap in sounding up to this long does not
    end a note. shortest_s: of a note.
    """

    floor: float = 0.2
    floor_in_attack: float | None = None
    attack_from: float = 0.25
    attack_sum: float = 0.5
    judge: Judge = by_onset
    review: Review | None = None
    review_from: float = 0.05
    keep: float = 0.5
    peak_s: float = 0.035
    delay_s: float = 0.0
    apart_s: float = 0.08
    sounding: float = 0.3
    bridge_s: float = 0.08
    shortest_s: float = 0.06


def track(chunks: Iterable[Activations], settings: Tracking) -> tuple[Note, ...]:
    """Notes of consecutive chunks of activations, by onset, then pitch; velocity 64.

    The chunks must follow each other without a gap and share one frame rate (ValueError).
    """
    strikes: list[Strikes] = []
    sounds: list[np.ndarray] = []
    rate = 1.0
    for window, core in with_margins(chunks):
        rate = float(window.frame_rate_hz)
        strikes.append(_strikes(window, core, settings))
        sounds.append(np.packbits(window.frame[core] > settings.sounding, axis=1))
    if not strikes:
        return ()
    return _notes(_kept(_joined(strikes), settings), np.concatenate(sounds), rate, settings)


def candidates(chunks: Iterable[Activations], settings: Tracking) -> Iterator[Around]:
    """The candidates of a recording, chunk by chunk, as `track` finds them."""
    for window, core in with_margins(chunks):
        yield _around(window, core, settings)


def _around(window: Activations, core: slice, settings: Tracking) -> Around:
    """The candidates in the core of a window."""
    rate = float(window.frame_rate_hz)
    onset = window.onset
    lowest = settings.floor if settings.floor_in_attack is None else settings.floor_in_attack
    rows, keys = _peaks(onset, lowest, max(1, round(settings.peak_s * rate)))
    reach = round(ATTACK_S * rate) + 1
    kept = (rows >= core.start - reach) & (rows < core.stop + reach)
    if settings.floor_in_attack is not None:
        struck = np.maximum(onset - settings.attack_from, 0.0).sum(axis=1)
        near = maximum_filter1d(struck, 2 * round(_TOGETHER_S * rate) + 1, mode="constant")
        kept &= (onset[rows, keys] >= settings.floor) | (near[rows] >= settings.attack_sum)
    rows, keys = rows[kept], keys[kept]
    return Around(
        onset=onset,
        frame=window.frame,
        rows=rows,
        keys=keys,
        is_own=(rows >= core.start) & (rows < core.stop),
        first_frame=window.first_frame,
        frames_per_s=rate,
    )


def _peaks(onset: np.ndarray, floor: float, reach: int) -> tuple[np.ndarray, np.ndarray]:
    """Rows and keys of peaks: at least `floor`, and the highest within `reach` rows.

    Of equal neighbours the first is the peak. onset: (n_frames, 88).
    """
    peak = onset >= floor
    for step in range(1, reach + 1):
        peak[step:] &= onset[step:] > onset[:-step]
        peak[:-step] &= onset[:-step] >= onset[step:]
    rows, keys = np.nonzero(peak)
    return rows, keys


def _strikes(window: Activations, core: slice, settings: Tracking) -> Strikes:
    """Judge the candidates of one chunk and place those that are likely."""
    around = _around(window, core, settings)
    verdict = settings.judge(around) if len(around.rows) else np.zeros(0)
    verdict = verdict.reshape(len(around.rows), -1) if len(around.rows) else np.zeros((0, 1))
    lowest = settings.keep if settings.review is None else settings.review_from
    kept = (verdict[:, 0] >= lowest) & around.is_own
    rows, keys = around.rows[kept], around.keys[kept]
    frames = rows + window.first_frame
    time_s = frames / around.frames_per_s + _nudges(window, rows, keys) - settings.delay_s
    return Strikes(
        time_s=np.maximum(0.0, time_s),
        frame=frames,
        key=keys,
        chance=np.clip(verdict[kept, 0], 0.0, 1.0),
        seen=verdict[kept, 1:].astype(np.float32),
    )


def _kept(strikes: Strikes, settings: Tracking) -> Strikes:
    """The strikes that become notes, by time and key."""
    strikes = strikes.part(np.lexsort((strikes.key, strikes.time_s)))
    if settings.review is not None and len(strikes.key):
        strikes = replace(strikes, chance=np.clip(settings.review(strikes), 0.0, 1.0))
    return strikes.part(strikes.chance >= settings.keep)


def _nudges(window: Activations, rows: np.ndarray, keys: np.ndarray) -> np.ndarray:
    """Seconds from a peak's frame to its true place: the ear's own, else by a parabola."""
    if window.nudge_s is not None:
        return window.nudge_s[rows, keys]
    before, here, after = (window.onset[rows + step, keys] for step in (-1, 0, 1))
    bend = np.minimum(before - 2.0 * here + after, -1e-9)  # a peak bends down
    shift = np.clip(0.5 * (before - after) / bend, -0.5, 0.5)
    return shift / float(window.frame_rate_hz)


def _joined(parts: list[Strikes]) -> Strikes:
    parts = [part for part in parts if len(part.key)] or parts[:1]
    names = vars(parts[0])
    return Strikes(**{name: np.concatenate([vars(one)[name] for one in parts]) for name in names})


def _notes(
    strikes: Strikes, packed: np.ndarray, rate: float, settings: Tracking
) -> tuple[Note, ...]:
    """Give every strike its end and sort. packed: sounding keys, one bit each."""
    notes: list[Note] = []
    for key in range(N_KEYS):
        mine = np.flatnonzero(strikes.key == key)
        if not len(mine):
            continue
        mine = _apart(mine[np.argsort(strikes.time_s[mine], kind="stable")], strikes, settings)
        sounding = (packed[:, key // 8] >> (7 - key % 8) & 1).astype(bool)
        ends = _ends(sounding, strikes.frame[mine], round(settings.bridge_s * rate)) / rate
        following = np.append(strikes.time_s[mine][1:], np.inf)
        for index, end_s, next_s in zip(mine, ends, following, strict=True):
            onset_s = float(strikes.time_s[index])
            offset_s = min(max(float(end_s), onset_s + settings.shortest_s), float(next_s))
            notes.append(
                Note(
                    onset_s=round(onset_s, 4),
                    offset_s=round(offset_s, 4),
                    midi=key + LOWEST_MIDI,
                    velocity=64,
                    confidence=round(float(strikes.chance[index]), 4),
                )
            )
    return in_order(notes)


def _apart(order: np.ndarray, strikes: Strikes, settings: Tracking) -> np.ndarray:
    """Of strikes of one key that are too close, the likelier."""
    kept: list[int] = []
    for index in order:
        close = kept and strikes.time_s[index] - strikes.time_s[kept[-1]] < settings.apart_s
        if not close:
            kept.append(index)
        elif strikes.chance[index] > strikes.chance[kept[-1]]:
            kept[-1] = index
    return np.array(kept, int)


def _ends(sounding: np.ndarray, frames: np.ndarray, bridge: int) -> np.ndarray:
    """The frame after which a key, struck at `frames`, no longer sounds.

    A gap of more than `bridge` frames ends it; so a key that does not begin to sound
    within that time ends at once.
    """
    on = np.append(np.flatnonzero(sounding), len(sounding) + 2 * bridge + 2)
    breaks = np.flatnonzero(np.diff(on) > bridge + 1)  # on[breaks] are the last frames of runs
    begins = np.searchsorted(on, frames)
    lasts = np.append(on[breaks], len(sounding))
    ends = lasts[np.searchsorted(breaks, begins)] + 1
    return np.where(on[begins] <= frames + bridge, np.minimum(ends, len(sounding)), frames)
