"""A take from JSON, format 1: the reading half, strict.

Unknown fields are refused, indices and ranges are checked, and every error says where in the
document it stands. ``from_json(to_json(take)) == take`` for every take. The fields that
`codec_write` says came later may be absent. `take.schema.json` beside this file says the same
as a JSON Schema, but for indices and what must fit together.
"""

from collections.abc import Sequence

from stackline.shared.codec.codec_facts import attack, grid, note, source, span
from stackline.shared.codec.codec_names import motion, voicing
from stackline.shared.codec.codec_rhythm import rhythm
from stackline.shared.codec.strict import Fields, kind, load_json, number
from stackline.shared.complaint import Complaint
from stackline.shared.rhythm import NO_RHYTHM
from stackline.shared.take import FORMAT, Take

MOST_CENTS = 1200.0  # off A = 440 Hz
MOST_SWING = 100.0  # first half of a beat over its second (ours)


def from_json(document: str) -> Take:
    """Read a take; raises Complaint with one sentence for anything that is not format 1."""
    return from_data(load_json(document))


def from_data(data: object) -> Take:
    """Read a take from what `json.loads` gives; raises Complaint."""
    fields = Fields(data, "take")
    found = fields.any("format")
    if found != FORMAT or isinstance(found, bool):
        raise Complaint(f"take.format: found {kind(found)}, this reader knows format {FORMAT}")
    notes = fields.each("notes", note)
    attacks = fields.each("attacks", lambda one, at: attack(one, at, notes))
    voicings = fields.each("voicings", lambda one, at: voicing(one, at, attacks))
    take = Take(
        version=fields.text("version"),
        source=fields.one("audio", source),
        ear=fields.text("ear"),
        tuning_cents=fields.number("tuning_cents", -MOST_CENTS, MOST_CENTS),
        grid=grid(fields),
        notes=notes,
        attacks=attacks,
        voicings=voicings,
        motions=fields.each("motions", lambda one, at: motion(one, at, voicings)),
        not_playing=fields.later("not_playing", lambda: fields.each("not_playing", span), ()),
        swing_ratio=fields.later(
            "swing_ratio",
            lambda: fields.maybe("swing_ratio", lambda one, at: number(one, at, 0.0, MOST_SWING)),
            None,
        ),
        rhythm=fields.later(
            "rhythm",
            lambda: fields.one("rhythm", lambda one, at: rhythm(one, at, voicings)),
            NO_RHYTHM,
        ),
    )
    fields.close()
    _check_order(take)
    return take


def _check_order(take: Take) -> None:
    """Refuse what does not stand in order of time: everything behind relies on it."""
    _rising("beats", [beat.time_s for beat in take.grid.beats], apart=True)
    _rising("notes", [one.onset_s for one in take.notes])
    _rising("attacks", [one.onset_s for one in take.attacks])
    _rising("voicings", [one.attack.onset_s for one in take.voicings])
    _rising("motions", [one.to_index for one in take.motions], apart=True)
    for i, one in enumerate(take.motions):
        if one.to_index != one.from_index + 1:
            raise Complaint(
                f"take.motions[{i}]: goes from voicing {one.from_index} to {one.to_index}, "
                "expected two that follow each other"
            )


def _rising(name: str, places: Sequence[float], *, apart: bool = False) -> None:
    for i in range(1, len(places)):
        if places[i] < places[i - 1] or (apart and places[i] == places[i - 1]):
            raise Complaint(
                f"take.{name}[{i}]: stands at {places[i]:g} after one at {places[i - 1]:g}; "
                "they must be in order"
            )
