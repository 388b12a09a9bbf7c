"""The judge's arithmetic on hand-made activations (its rightness is the bench's matter)."""

import numpy as np
import pytest

from stackline.listen.general.attack_classifier import (
    N_FEATURES,
    N_SECOND,
    company,
    features,
    judge_of,
    looks,
)
from stackline.listen.general.take_classifier import N_PARTIALS, N_STRENGTHS
from stackline.listen.general.tracking import Around
from stackline.shared.sound import Audio, Tuning
from stackline.shared.units import N_KEYS


def around(places: list[tuple[int, int]], *, seed: int = 1, rows: int = 260) -> Around:
    """Random activations with candidates at (row, key)."""
    rng = np.random.default_rng(seed)
    where = np.array(places, int).reshape(-1, 2)
    return Around(
        onset=rng.uniform(0, 1, (rows, N_KEYS)).astype(np.float32),
        frame=rng.uniform(0, 1, (rows, N_KEYS)).astype(np.float32),
        rows=where[:, 0],
        keys=where[:, 1],
        is_own=np.ones(len(where), bool),
        first_frame=0,
        frames_per_s=22_050 / 256,
    )


CORNERS = [(100, 0), (100, 87), (102, 40), (103, 52), (150, 12)]


def test_weights_fit_the_features() -> None:
    """The file in the tree was made for these inputs."""
    first, second = looks()
    assert first.hidden.shape[0] == N_FEATURES == 147
    assert second.hidden.shape[0] == N_SECOND == 147 + 31 + 32


def test_chances_are_chances() -> None:
    """One for each candidate, between 0 and 1, lowest and highest key included; then levels."""
    noise = np.random.default_rng(3).standard_normal(80_000).astype(np.float32)
    audio = Audio(name="a", samples=0.1 * noise, sample_rate_hz=22_050, sha256="")
    verdict = judge_of(audio, Tuning(offset_cents=0.0, confidence=1.0))(around(CORNERS))
    assert verdict.shape == (len(CORNERS), 1 + N_PARTIALS + N_STRENGTHS)
    assert np.all((verdict[:, 0] > 0) & (verdict[:, 0] < 1))
    levels, strengths = verdict[:, 1:-2], verdict[:, -2:]
    assert np.all((levels >= -1) & (levels <= 0))
    rows, keys = zip(*CORNERS, strict=True)
    np.testing.assert_array_equal(strengths[:, 0], around(CORNERS).onset[rows, keys])


def test_features_do_not_depend_on_what_else_is_asked() -> None:
    """Each candidate alone has the features that it has in company."""
    together = features(around(CORNERS))
    for index, place in enumerate(CORNERS):
        np.testing.assert_array_equal(features(around([place]))[0], together[index])


def test_only_the_margin_is_looked_at() -> None:
    """What lies more than 0.7 s away changes nothing."""
    one, other = around([(130, 40)]), around([(130, 40)])
    other.onset[:70] = 0.5
    other.onset[191:] = 0.5
    other.frame[:70] = 0.5
    other.frame[191:] = 0.5
    np.testing.assert_array_equal(features(one), features(other))


def test_company_sees_the_octave_below() -> None:
    """A chance of 0.9 twelve keys below stands in that column, others are 0."""
    rows, keys = np.array([10, 12]), np.array([40, 52])
    seen = company(rows, keys, np.array([0.9, 0.2]))
    distances = [-36, -31, -28, -24, -19, -16, -12]
    assert seen[1][: len(distances)] == pytest.approx([0, 0, 0, 0, 0, 0, 0.9])
    assert seen[1][26:] == pytest.approx([1 / 8, 1.1 / 8, 0.2, 0.0, 0.9 / 4])


def test_company_is_of_one_attack() -> None:
    """Six frames apart, 70 ms, is another attack."""
    seen = company(np.array([10, 16]), np.array([40, 52]), np.array([0.9, 0.2]))
    assert seen[1][6] == 0.0
