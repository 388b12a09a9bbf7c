"""What is known of a take's time before its attacks are asked."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Told:
    """From the player's word or a count. meter: beats in a bar; bpm: tempo; one_s: a downbeat."""

    meter: int | None = None
    bpm: float | None = None
    one_s: float | None = None
