"""Whether two voicings are of one chord."""

from stackline.shared.harmony import Voicing
from stackline.theory.chords.qualities import quality
from stackline.theory.chords.spelling import pitch_class_of


def same_chord(a: Voicing, b: Voicing) -> bool:
    """Whether two voicings are of one chord: equal root and family, or one given chord."""
    if a.chord.source == "changes" and b.chord.source == "changes":
        return a.chord.start_s == b.chord.start_s
    one, two = a.chord.symbol, b.chord.symbol
    return (
        pitch_class_of(one.root) == pitch_class_of(two.root)
        and quality(one.quality).family == quality(two.quality).family
    )
