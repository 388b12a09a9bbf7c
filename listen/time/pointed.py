"""Experimental door."""
from collections.abc import Sequence
from dataclasses import dataclass
import numpy as np
from stackline.listen.other_sounds.clicks import NO_CLICKS, Clicks, apart_from
from stackline.listen.time.bar_places import Strikes, places_on, rotation_scores, strikes_of
from stackline.listen.time.bar_pointer import FPS, Anchor, Onsets, Path, Stretch, follow, lengths_of
from stackline.listen.time.count_in import find_count_in
from stackline.listen.time.one_a_bar import CONFIDENCE, assumed_bars, is_struck_once_a_bar
from stackline.listen.time.rhythms import CLASSES, ways
from stackline.listen.time.time_hints import TimeHints, check_hints
from stackline.listen.time.told import Told
from stackline.listen.time.usual_tempi import SURE_BARS
from stackline.listen.time.without_clicks.beat_line import beat_line
from stackline.listen.time.without_clicks.in_time import Run, passages, turn_scores, FEWEST
from stackline.shared.notes import Attack, Beat, BeatGrid
from dataclasses import replace

UNUSUAL = {4: 0.0, 3: 2.5, 2: 4.0}
PULL = 0.3
DEBUG = []

def find_beats(attacks: Sequence[Attack], *, clicks: Clicks = NO_CLICKS, bass_s=(), hints: TimeHints | None = None, leave_out=None) -> BeatGrid:
    hints = hints or TimeHints(); check_hints(hints)
    heard = apart_from(clicks, attacks)
    count = find_count_in(heard, attacks, hints.count_in)
    one_s = hints.first_beat_s
    told = Told(meter=hints.beats_per_bar, bpm=hints.tempo_bpm or (60.0 / count.period_s if count else None),
                one_s=count.first_beat_s if count and one_s is None else one_s)
    silence = BeatGrid(beats_per_bar=hints.beats_per_bar or 4, source="hint" if hints.beats_per_bar else "assumed")
    if len(attacks) < (1 if told.bpm else FEWEST): return silence
    many = heard.alone.sum() > 1.2 * len(attacks)
    if not told.bpm and not many:
        a = assumed_bars(attacks, silence.beats_per_bar)
        if a: return a
    strikes = strikes_of(attacks)
    onsets = [Onsets(part="piano", time_s=strikes.time_s, weight=np.array([max(n.confidence for n in a.struck) for a in attacks]),
                     kind=np.rint(strikes.new * (CLASSES - 1)).astype(int))]
    if len(bass_s): onsets.append(Onsets(part="bass", time_s=np.asarray(bass_s), weight=np.ones(len(bass_s)), kind=np.zeros(len(bass_s), int)))
    variants = [onsets]
    alone = heard.where(heard.alone & (heard.strength > 0))
    if len(alone.time_s) >= 8:
        variants.append([*onsets, Onsets(part="drums", time_s=alone.time_s, weight=alone.strength, kind=np.zeros(len(alone.time_s), int))])
    anchors = []
    if told.one_s is not None: anchors.append(Anchor(time_s=told.one_s, spread_s=0.06, gain=60.0, number=0))
    if count: anchors += [Anchor(time_s=float(t), spread_s=0.03, gain=8.0) for t in count.clicks_s]
    found = []
    for vi, some in enumerate(variants):
        for meter in ((told.meter,) if told.meter else (4, 3)):
            lengths = lengths_of(told.bpm * .75, told.bpm * 1.3, .008) if told.bpm else lengths_of(42, 330)
            for p in follow(ways(meter, 60 * FPS / lengths, leave_out), lengths, some, told=(told.bpm, .04) if told.bpm else None, anchors=anchors, pull=PULL, free=not told.bpm or True):
                found.append((p.score - (UNUSUAL.get(meter, 0) if not told.meter else 0), p, vi))
    found.sort(key=lambda x: -x[0])
    DEBUG[:] = [(round(s, 1), p.way.name, p.way.meter, vi, [len(x.time_s) for x in p.stretches], round(60/float(np.median(np.diff(p.stretches[0].time_s)))) if p.stretches else 0) for s, p, vi in found]
    score, path, vi = found[0]
    runs = runs_of(path, strikes, 1 if told.bpm else FEWEST)
    if not runs: return silence
    turns = turn_scores(runs, strikes, path.way.meter)
    sure = turns[0] - turns[2::2].max(initial=-np.inf) >= SURE_BARS
    if told.one_s is not None: sure = True
    beats = tuple(Beat(time_s=round(float(t), 4), number=(r.start + i) % path.way.meter + 1) for r in runs for i, t in enumerate(r.beats_s))
    periods = np.concatenate([np.diff(r.beats_s) for r in runs])
    grid = BeatGrid(beats=beats, tempo_bpm=round(60 / float(np.median(periods)), 1), beats_per_bar=path.way.meter,
                    source="hint" if told.meter else "heard" if sure else "assumed", confidence=0.9, out_of_time=passages(runs, strikes.time_s))
    return grid

def runs_of(path, strikes, fewest):
    runs = []; t = strikes.time_s; before_s = -np.inf; taken = 0
    for n, s in enumerate(path.stretches):
        b = s.time_s
        inside = np.flatnonzero((t >= b[0] - .04) & (t <= b[-1] + .04) & (np.arange(len(t)) >= taken))
        if len(inside) < fewest: continue
        first, last = int(inside[0]), int(inside[-1])
        keep_from = max(0, int(np.searchsorted(b, t[first] + .05)) - 1)
        keep_to = min(len(b), int(np.searchsorted(b, t[last] + .05)) + 1)
        before = t[first-1] if first else -np.inf
        after = t[last+1] if last + 1 < len(t) else np.inf
        k = [i for i in range(keep_from, keep_to) if b[i] > max(before + .05, -.05) and b[i] < after - .05]
        if len(k) < 2: continue
        runs.append(Run(first=first, last=last, beats_s=np.maximum(b[k], 0), start=int(s.number[k[0]])))
        taken = last + 1
    return runs
