"""Made takes are reproducible, playable and what their style says."""

from itertools import pairwise

import numpy as np
import pytest

from bench.chord_cycles import CYCLES, practise_cycles, walk_cycles
from bench.free_voicings import draw_free_voicing, is_playable
from bench.listed_voicings import shapes_of
from bench.performance import WIDEST_ROLL_S
from bench.takes import FREE, HIGH, LISTED, LOW, PRACTISED, REPEATED, make_take
from theory.shapes import shapes

STYLES = {"listed": LISTED, "free": FREE, "repeated": REPEATED, "low": LOW, "high": HIGH,
          "practised": PRACTISED}  # fmt: skip


@pytest.fixture(scope="module", params=STYLES)
def takes(request):
    """Ten takes of a style, and the style."""
    style = STYLES[request.param]
    return style, [make_take(seed, style, duration_s=30.0) for seed in range(10)]


def test_the_same_seed_gives_the_same_take():
    """A result can be made again from its seed."""
    assert make_take(5, LISTED) == make_take(5, LISTED)
    assert make_take(5, LISTED) != make_take(6, LISTED)


def test_no_key_is_struck_while_it_is_down(takes):
    """A key must come up before it can be struck again."""
    for take in takes[1]:
        up: dict[int, float] = {}
        for note in take.notes:
            assert note.onset_s > up.get(note.midi, -1.0)
            assert note.onset_s < note.key_up_s <= note.offset_s
            up[note.midi] = note.key_up_s


def test_attacks_stand_apart_and_rolls_are_bounded(takes):
    """Attacks are further apart than the notes inside one, so the truth is unambiguous."""
    for take in takes[1]:
        ends = [attack.onset_s + attack.spread_s for attack in take.attacks]
        gaps = [b.onset_s - end for b, end in zip(take.attacks[1:], ends, strict=False)]
        assert min(gaps) > 0.1
        for attack in take.attacks:
            limit = WIDEST_ROLL_S if attack.rolled else 0.025
            assert attack.spread_s <= limit + 1e-3


def test_every_attack_can_be_played_by_two_hands(takes):
    """At most five notes and a reach of 16 semitones a hand (reaches: common practice)."""
    for take in takes[1]:
        assert all(is_playable(attack.pitches) for attack in take.attacks if attack.kind == "free")
        assert all(list(a.pitches) == sorted(set(a.pitches)) for a in take.attacks)


def test_registers_stay_in_their_style(takes):
    """Voicings keep to the style's range; only touched roots go below it."""
    style, made = takes
    for take in made:
        for attack in take.attacks:
            if attack.kind != "root":
                assert style.low <= attack.pitches[0]
                assert attack.pitches[-1] <= style.high


def test_listed_attacks_with_a_chord_spell_it():
    """What is called listed is a shape of the table over the chord's root, save kept tones."""
    known = {(shape.quality, step % 12) for shape in shapes() for step in shape.semitones}
    counted = 0
    for seed in range(10):
        for attack in make_take(seed, LISTED).attacks:
            if attack.kind == "listed" and attack.chord:
                counted += 1
                for pitch in attack.pitches:
                    interval = (pitch - attack.chord.root_pc) % 12
                    assert (attack.chord.quality, interval) in known
    assert counted > 100


def test_all_keys_cycles_and_doublings_occur():
    """Twelve roots, every kind of chord, and at least a third of free voicings doubled."""
    roots = {a.chord.root_pc for s in range(20) for a in make_take(s, LISTED).attacks if a.chord}
    assert roots == set(range(12))
    rng = np.random.default_rng(1)
    drawn = [draw_free_voicing(rng) for _ in range(600)]
    doubled = sum(len({p % 12 for p in one}) < len(one) for one in drawn)
    assert doubled > 200
    assert {len(one) for one in drawn} == set(range(1, 9))


def test_about_half_of_the_attacks_repeat_or_move_by_step():
    """Comping repeats and slides: re-struck common tones are the rule, not the exception."""
    repeated = total = 0
    for seed in range(20):
        attacks = [a for a in make_take(seed, LISTED).attacks if a.kind != "root"]
        for before, attack in pairwise(attacks):
            total += 1
            repeated += len(set(before.pitches) & set(attack.pitches)) > 0
    assert 0.4 < repeated / total < 0.9


def test_every_kind_of_chord_has_shapes():
    """No cycle asks for a chord that the table of shapes cannot voice."""
    kinds = {step.kind for steps in CYCLES.values() for step in steps}
    assert all(shapes_of(kind) for kind in kinds)


def practised(seed):
    """Steps that fill a hundred beats and more."""
    return practise_cycles(np.random.default_rng(seed), beats=100)


def test_practised_progressions_are_played_again_in_their_key():
    """Every root and length stands there again within the length of its cycle."""
    longest = max(len(cycle) for cycle in CYCLES.values())
    for seed in range(10):
        steps = [(step.root, step.beats) for step in practised(seed)]
        assert sum(beats for _, beats in steps) >= 100
        for i, one in enumerate(steps):
            near = steps[max(0, i - longest) : i] + steps[i + 1 : i + 1 + longest]
            assert one in near


def test_practised_dominants_carry_what_their_way_allows():
    """To a fifth below any tensions, to a semitone below no alteration (common practice)."""
    seen = set()
    for seed in range(30):
        for step, then in pairwise(practised(seed)):
            if step.kind.endswith("dominant"):
                seen.add(step.kind)
                way = (then.root - step.root) % 12
                rests = way == 5 and then.kind == "tonic minor"
                assert (step.kind in ("dominant", "altered dominant")) == (way == 5)
                assert (step.kind == "substitute dominant") == (way == 11)
                assert (step.kind == "altered dominant") == rests
    assert seen == {"dominant", "altered dominant", "substitute dominant", "plain dominant"}
    for kind in ("plain dominant", "substitute dominant"):
        assert not any(sign in shape.quality for shape in shapes_of(kind) for sign in ("b9", "b13"))
    assert all("b9" in s.quality or "#9" in s.quality or "b13" in s.quality
               for s in shapes_of("altered dominant"))  # fmt: skip


def test_the_random_walk_leaves_dominants_as_they_are():
    """Any tension may stand on any of them."""
    steps = walk_cycles(np.random.default_rng(1), beats=400)
    assert {step.kind for step in steps if "dominant" in step.kind} == {"dominant"}
