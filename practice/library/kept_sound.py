"""Four seconds of sound kept with each voicing, as long as the player wants that."""

import json

from stackline.practice.library.store import Store

KEEPING = "sound"  # the name of the setting; "off" switches it off


def is_kept(store: Store) -> bool:
    """Whether sound is kept with takes that are added."""
    rows = store.read("SELECT value FROM setting WHERE name = ?", (KEEPING,))
    return not rows or rows[0]["value"] != "off"


def switch(store: Store, *, on: bool) -> int:
    """Keep sound from now on, or none, and remove what is kept; how many takes lost theirs."""
    with store.write() as connection:
        connection.execute(
            "INSERT OR REPLACE INTO setting VALUES (?, ?)", (KEEPING, "on" if on else "off")
        )
        return 0 if on else connection.execute("DELETE FROM sound").rowcount


def put(store: Store, take_id: int, data: bytes, spans: tuple[tuple[float, float], ...]) -> None:
    """Keep the sound of a take's voicings, in the place of any that is there."""
    with store.write() as connection:
        connection.execute(
            "INSERT OR REPLACE INTO sound VALUES (?, ?, ?)", (take_id, json.dumps(spans), data)
        )


def of_take(store: Store, take_id: int) -> tuple[bytes, tuple[tuple[float, float], ...]] | None:
    """The sound that is kept of a take's voicings, as `sound_pieces.pack` made it."""
    rows = store.read("SELECT data, spans FROM sound WHERE take_id = ?", (take_id,))
    if not rows:
        return None
    return rows[0]["data"], tuple((a, b) for a, b in json.loads(rows[0]["spans"]))


def size(store: Store) -> tuple[int, int]:
    """How many takes have sound, and how many bytes that is."""
    row = store.read("SELECT count(*), coalesce(sum(length(data)), 0) FROM sound")[0]
    return row[0], row[1]
