"""Scores of many takes put together: rates with their denominators, and how honest they are.

Rates per attack are pooled over all attacks of a scene; note scores and rank correlations
are means over takes; onset errors are pooled over matched notes. Intervals are Wilson's 95 %
score intervals (Wilson 1927), which hold near 0 and 1, and take attacks as independent
(attacks of one take are not quite, so the truth is a little wider).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from bench.scoring.scoring import TakeScore

Z_95 = 1.959964  # the normal distribution's 97.5 % point
TRUST_EDGES = (0.0, 0.5, 0.7, 0.8, 0.9, 0.95, 0.98, 1.0)
TRUSTED_FROM = 0.9


@dataclass(frozen=True, kw_only=True)
class Rate:
    """right of total."""

    right: int
    total: int

    @property
    def value(self) -> float | None:
        """The share, None of nothing."""
        return self.right / self.total if self.total else None

    @property
    def interval(self) -> tuple[float, float] | None:
        """Wilson's 95 % score interval, None of nothing."""
        if not self.total:
            return None
        n, share, z2 = self.total, self.right / self.total, Z_95**2
        middle = (share + z2 / (2 * n)) / (1 + z2 / n)
        half = Z_95 / (1 + z2 / n) * np.sqrt(share * (1 - share) / n + z2 / (4 * n * n))
        return float(max(0.0, middle - half)), float(min(1.0, middle + half))


@dataclass(frozen=True, kw_only=True)
class TrustRow:
    """Heard attacks whose confidence lies in a bin: how many, mean confidence, share exact."""

    low: float
    high: float
    count: int
    mean_confidence: float | None
    exact: float | None


@dataclass(frozen=True, kw_only=True)
class Pooled:
    """Figures of one scene, or of several together. See the module and `bench.scoring.scoring`.

    coverage: heard attacks with confidence of at least 0.9, per true attack.
    trusted_exact: how many of those are exact.
    """

    exact: Rate
    top: Rate
    bottom: Rate
    pitch_classes: Rate
    root: Rate
    family: Rate
    note_f1: float
    note_precision: float
    note_recall: float
    onset_error_ms: float | None
    onset_bias_ms: float | None
    velocity_rank: float | None
    false_attacks_per_s: float
    trusted_exact: Rate
    coverage: Rate
    trust: tuple[TrustRow, ...]


def pool(scores: Iterable[TakeScore]) -> Pooled:
    """Put takes together; raises ValueError without any."""
    takes = list(scores)
    if not takes:
        raise ValueError("no takes to pool")
    attacks = [attack for take in takes for attack in take.attacks]
    errors = np.array([error for take in takes for error in take.onset_errors_s])
    trusted = [pair for take in takes for pair in take.trusted]
    sure = [exact for confidence, exact in trusted if confidence >= TRUSTED_FROM]
    return Pooled(
        exact=_rate(attack.exact for attack in attacks),
        top=_rate(attack.top for attack in attacks),
        bottom=_rate(attack.bottom for attack in attacks),
        pitch_classes=_rate(attack.pitch_classes for attack in attacks),
        root=_rate(attack.root for attack in attacks),
        family=_rate(attack.family for attack in attacks),
        note_f1=float(np.mean([take.note_f1 for take in takes])),
        note_precision=float(np.mean([take.note_precision for take in takes])),
        note_recall=float(np.mean([take.note_recall for take in takes])),
        onset_error_ms=float(np.median(np.abs(errors)) * 1000) if len(errors) else None,
        onset_bias_ms=float(np.median(errors) * 1000) if len(errors) else None,
        velocity_rank=_mean(take.velocity_rank for take in takes),
        false_attacks_per_s=sum(take.false_attacks for take in takes)
        / sum(take.duration_s for take in takes),
        trusted_exact=_rate(sure),
        coverage=Rate(right=len(sure), total=len(attacks)),
        trust=trust_table(trusted),
    )


def trust_table(trusted: Iterable[tuple[float, bool]]) -> tuple[TrustRow, ...]:
    """Confidence against truth in bins: a calibrated listener's two columns agree."""
    pairs = list(trusted)
    rows = []
    for low, high in pairwise(TRUST_EDGES):
        inside = [
            (confidence, exact)
            for confidence, exact in pairs
            if low <= confidence < high or (high == 1.0 and confidence == 1.0)
        ]
        rows.append(
            TrustRow(
                low=low,
                high=high,
                count=len(inside),
                mean_confidence=_mean(confidence for confidence, _ in inside),
                exact=_mean(float(exact) for _, exact in inside),
            )
        )
    return tuple(rows)


def _rate(fates: Iterable[bool | None]) -> Rate:
    """The share of True among what is not None."""
    known = [fate for fate in fates if fate is not None]
    return Rate(right=sum(known), total=len(known))


def _mean(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return float(np.mean(known)) if known else None
