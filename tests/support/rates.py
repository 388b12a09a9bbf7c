"""Rates of the benches, where a test needs a number."""

from collections.abc import Mapping

from bench.scoring.pooled import Rate


def value(rates: Mapping[str, Rate], name: str) -> float:
    """The share, of something that was counted at least once."""
    found = rates[name].value
    assert found is not None, f"nothing was counted for {name}"
    return found
