"""A target written out in one key: symbols, stacks, notes, kinds, cautions."""

from stackline.practice.columns import columns
from stackline.practice.targets.numerals import key_name
from stackline.practice.targets.placing import Register, best_places, note_names
from stackline.practice.targets.targets import Target, TargetChord
from stackline.theory.stacks.structures import structures


def view(target: Target, key: int) -> str:
    """The target as text for the terminal."""
    tempo = f", {target.tempo_bpm:g} beats a minute" if target.tempo_bpm else ""
    name = key_name(key, minor=target.minor)
    head = f"{target.name}\nin {name}{tempo}; source: {target.source}\n\n"
    if not target.has_stacks:
        rows = [_free_row(chord, key) for chord in target.chords]
        return head + columns(("degree", "chord", "beats", "stack", "needs"), rows)
    placed = best_places(target, key, Register())
    rows = [
        _row(chord, key, pitches)
        for chord, pitches in zip(target.chords, placed.pitches, strict=True)
    ]
    text = head + columns(("degree", "chord", "beats", "stack", "notes", "kind"), rows)
    return text + "".join(f"! {words}\n" for words in placed.cautions)


def _row(chord: TargetChord, key: int, pitches: tuple[int, ...]) -> tuple[str, ...]:
    kinds = structures(pitches, chord.root_pc(key), chord.row.family)
    return (
        chord.name(),
        chord.symbol(key).text,
        str(chord.beats),
        " ".join(map(str, chord.degrees)),
        " ".join(note_names(chord, key, pitches)),
        kinds[0],
    )


def _free_row(chord: TargetChord, key: int) -> tuple[str, ...]:
    needs = " ".join(map(str, chord.needed))
    stack = " ".join(map(str, chord.degrees)) or "any"
    return (chord.name(), chord.symbol(key).text, str(chord.beats), stack, needs)
