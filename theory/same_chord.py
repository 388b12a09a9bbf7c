"""Whether two voicings are of one chord."""

from shared.harmony import Voicing
from theory.qualities import quality
from theory.spelling import pitch_class_of


def same_chord(a: Voicing, b: Voicing) -> bool:
    """Whether two voicings are of one chord: equal root and family, or one given chord."""
    if a.chord.source == "changes" and b.chord.source == "changes":
        return a.chord.start_s == b.chord.start_s
    one, two = a.chord.symbol, b.chord.symbol
    return (
        pitch_class_of(one.root) == pitch_class_of(two.root)
        and quality(one.quality).family == quality(two.quality).family
    )
