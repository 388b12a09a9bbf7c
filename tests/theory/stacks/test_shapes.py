"""The table of voicing shapes: each row is what it says it is."""

import json
from pathlib import Path
from typing import Any

import pytest

from stackline.theory.chords.qualities import quality
from stackline.theory.stacks.shapes import UPPER, Shape, realise, shapes, shapes_for
from stackline.theory.stacks.structures import structures

STACKS = json.loads((Path(__file__).parents[2] / "data/theory/stacks.json").read_text())


def test_the_table_is_large_and_names_are_unique() -> None:
    """At least sixty shapes, each with a name of its own and a source."""
    table = shapes()
    assert len(table) >= 60
    assert len({shape.name for shape in table}) == len(table)
    assert all(shape.source for shape in table)


@pytest.mark.parametrize("shape", shapes(), ids=lambda shape: shape.name)
def test_every_shape_is_of_its_kind(shape: Shape) -> None:
    """The definitions of `stackline.theory.stacks.structures` find the kind that the row claims."""
    found = structures([60 + step for step in shape.semitones], 0, quality(shape.quality).family)
    if shape.kind == UPPER:
        assert any(name.startswith(UPPER) for name in found)
    else:
        assert shape.kind in found


@pytest.mark.parametrize("shape", shapes(), ids=lambda shape: shape.name)
def test_realised_shapes_keep_their_degrees(shape: Shape) -> None:
    """Placed over any root, the pitches have the row's intervals and start where asked."""
    for root_pc in range(12):
        pitches = realise(shape, root_pc, 40)
        assert 40 <= pitches[0] < 52
        assert [(p - root_pc) % 12 for p in pitches] == [step % 12 for step in shape.semitones]
        assert list(pitches) == sorted(pitches)


@pytest.mark.parametrize("row", STACKS, ids=lambda row: row["name"])
def test_published_stacks_are_in_the_table(
    row: dict[str, Any],
) -> None:
    """Every published stack's degrees are a row."""
    assert tuple(row["degrees"]) in {shape.degrees for shape in shapes()}


def test_shapes_can_be_asked_for_by_quality() -> None:
    """Only rows of the quality come back, none for a quality without shapes."""
    assert {shape.quality for shape in shapes_for("m9")} == {"m9"}
    assert shapes_for("+") == ()


def test_a_shape_above_the_piano_is_refused() -> None:
    """Nothing is placed above the highest key."""
    with pytest.raises(ValueError, match="above the piano"):
        realise(shapes_for("m9")[0], 0, 105)


def test_rootless_shapes_have_no_root() -> None:
    """What the table calls rootless has no R; shells that are rooted have it at the bottom."""
    rootless = [one for one in shapes() if one.kind.startswith("rootless")]
    assert len(rootless) >= 10
    assert all(one.rootless and "R" not in one.degrees for one in rootless)
    rooted = [one for one in shapes() if one.degrees[0] == "R"]
    assert rooted
    assert not any(one.rootless for one in rooted)
