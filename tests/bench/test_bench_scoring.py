"""Scores: truth heard as truth scores 1, and each fault costs exactly what it should."""

from collections.abc import Callable
from dataclasses import replace

import pytest

from bench.accuracy import FAMILIES
from bench.scoring.pooled import Rate, pool, trust_table
from bench.scoring.scoring import Heard, Named, match_attacks, score_take
from fixtures.played.takes import FREE, LISTED, Style, make_take
from stackline.shared.notes import Note
from tests.support.takes.perfect_hearing import as_heard, perfect


def without(heard: Heard, drop: Callable[[tuple[Note, ...]], tuple[Note, ...]]) -> Heard:
    """The hearing with each attack's struck notes thinned by `drop`."""
    attacks = tuple(replace(a, struck=drop(a.struck)) for a in heard.attacks if drop(a.struck))
    kept = {id(note) for attack in attacks for note in attack.struck}
    notes = tuple(note for note in heard.notes if id(note) in kept)
    return Heard(notes=notes, attacks=attacks, confidences=(0.5,) * len(attacks), chords=None)


@pytest.mark.parametrize("style", [LISTED, FREE])
def test_the_truth_scores_one(style: Style) -> None:
    """Rolls, touched roots and re-struck keys included, for six takes of a style."""
    pooled = pool(score_take(t, perfect(t), FAMILIES)
                  for t in (make_take(seed, style) for seed in range(6)))  # fmt: skip
    for rate in (pooled.exact, pooled.top, pooled.bottom, pooled.pitch_classes):
        assert rate.value == 1.0
        assert rate.total > 200
    assert pooled.note_f1 == pytest.approx(1.0)
    assert pooled.velocity_rank == pytest.approx(1.0)
    assert pooled.onset_error_ms == pytest.approx(0.0, abs=0.1)
    assert pooled.false_attacks_per_s == 0.0
    assert pooled.trusted_exact.value == 1.0
    if style is LISTED:
        assert pooled.root.value == pooled.family.value == 1.0
        assert pooled.root.total > 100


def test_dropping_the_top_note_costs_the_top_and_nothing_below() -> None:
    """Without the top note no top is right and no set exact, but the bottom is."""
    take = make_take(1, LISTED)
    heard = without(perfect(take), lambda struck: struck[:-1] if len(struck) > 1 else struck)
    pooled = pool([score_take(take, heard, FAMILIES)])
    chords = sum(len(attack.notes) > 1 for attack in take.attacks)
    assert pooled.top.total - pooled.top.right == chords
    assert pooled.exact.right == pooled.top.right
    assert pooled.bottom.value == 1.0


def test_dropping_the_bottom_note_costs_the_bottom() -> None:
    """The mirror image."""
    take = make_take(2, LISTED)
    heard = without(perfect(take), lambda struck: struck[1:] if len(struck) > 1 else struck)
    pooled = pool([score_take(take, heard, FAMILIES)])
    assert pooled.bottom.total - pooled.bottom.right == sum(len(a.notes) > 1 for a in take.attacks)
    assert pooled.top.value == 1.0


def test_a_ghost_octave_leaves_the_pitch_classes_right() -> None:
    """An octave too many is not exact, though no new pitch class sounds."""
    take = make_take(3, LISTED)
    heard = perfect(take)
    attacks = tuple(
        replace(a, struck=(*a.struck, replace(a.struck[-1], midi=a.struck[-1].midi + 12)))
        for a in heard.attacks
    )
    pooled = pool([score_take(take, replace(heard, attacks=attacks), FAMILIES)])
    assert pooled.exact.right == pooled.top.right == 0
    assert pooled.pitch_classes.value == pooled.bottom.value == 1.0


def test_split_and_merged_attacks_are_wrong() -> None:
    """Half of a chord 70 ms later is a wrong and a false attack; two in one are two wrong."""
    take = make_take(4, LISTED)
    heard = perfect(take)
    whole = next(i for i, a in enumerate(heard.attacks) if len(a.struck) >= 4)
    attack = heard.attacks[whole]
    first = replace(attack, struck=attack.struck[:2])
    second = replace(attack, struck=attack.struck[2:], onset_s=attack.onset_s + 0.07)
    split = (*heard.attacks[:whole], first, second, *heard.attacks[whole + 1 :])
    scored = score_take(take, as_heard(take, split, heard.notes), FAMILIES)
    assert [a.exact for a in scored.attacks].count(False) == 1
    assert scored.false_attacks == 1

    following = heard.attacks[whole + 1]
    together = replace(attack, struck=attack.struck + following.struck)
    merged = (*heard.attacks[:whole], together, *heard.attacks[whole + 2 :])
    scored = score_take(take, as_heard(take, merged, heard.notes), FAMILIES)
    assert [a.exact for a in scored.attacks].count(False) == 2


def test_attacks_are_matched_within_a_tenth_of_a_second() -> None:
    """90 ms after its last note an attack still matches, 110 ms after it does not."""
    take = make_take(5, LISTED)
    alone = replace(take, attacks=take.attacks[:1])
    end_s = alone.attacks[0].spread_s
    assert match_attacks(alone.attacks, perfect(alone, late_s=end_s + 0.09).attacks) == (0,)
    assert match_attacks(alone.attacks, perfect(alone, late_s=end_s + 0.11).attacks) == (None,)


def test_onset_errors_keep_their_sign() -> None:
    """Everything 8 ms late: an error and a bias of 8 ms."""
    take = make_take(6, FREE)
    pooled = pool([score_take(take, perfect(take, late_s=0.008), FAMILIES)])
    assert pooled.onset_error_ms == pytest.approx(8.0, abs=0.2)
    assert pooled.onset_bias_ms == pytest.approx(8.0, abs=0.2)


def test_wrong_roots_and_families_are_counted_where_notes_are_right() -> None:
    """Every root a tritone off: no root right; right roots of a wrong family: no family."""
    take = make_take(7, LISTED)
    heard = perfect(take)
    chords = heard.chords
    assert chords is not None
    off = tuple(c and Named(root_pc=(c.root_pc + 6) % 12, family=c.family) for c in chords)
    pooled = pool([score_take(take, replace(heard, chords=off), FAMILIES)])
    assert pooled.root.right == pooled.family.right == 0 < pooled.root.total
    wrong = tuple(c and Named(root_pc=c.root_pc, family="none") for c in chords)
    pooled = pool([score_take(take, replace(heard, chords=wrong), FAMILIES)])
    assert (pooled.root.value, pooled.family.value) == (1.0, 0.0)


def test_nothing_heard_scores_nothing() -> None:
    """A deaf ear has no false attacks and no right ones."""
    take = make_take(8, LISTED)
    heard = Heard(notes=(), attacks=(), confidences=(), chords=None)
    pooled = pool([score_take(take, heard, FAMILIES)])
    assert pooled.exact.right == 0
    assert pooled.note_f1 == 0.0
    assert pooled.velocity_rank is None
    assert pooled.false_attacks_per_s == 0.0


def test_intervals_are_wilsons() -> None:
    """10 of 20: 0.299 to 0.701; 0 of 10: 0 to 0.278 (Wilson 1927, in Newcombe 1998)."""
    assert Rate(right=10, total=20).interval == pytest.approx((0.299, 0.701), abs=5e-4)
    assert Rate(right=0, total=10).interval == pytest.approx((0.0, 0.278), abs=5e-4)
    assert Rate(right=0, total=0).interval is None


def test_the_reliability_table_counts_every_attack_once() -> None:
    """Confidences on the edges of bins, 0 and 1 included, fall into exactly one."""
    pairs = [(0.0, False), (0.5, True), (0.9, True), (0.9, False), (0.95, True), (1.0, True)]
    rows = trust_table(pairs)
    assert sum(row.count for row in rows) == len(pairs)
    nine = next(row for row in rows if row.low == 0.9)
    assert (nine.count, nine.exact) == (2, 0.5)
