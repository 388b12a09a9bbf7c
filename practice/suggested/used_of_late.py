"""Which stacks a player has used of late, by the library."""

import datetime

from stackline.practice.library.store import Store

DAYS = 30  # a month: what has not been played for so long is out of the fingers (ours)


def used_of_late(store: Store, today: datetime.date) -> frozenset[tuple[str, ...]]:
    """Degree stacks, low to high, of all voicings played in the last thirty days."""
    since = (today - datetime.timedelta(days=DAYS)).isoformat()
    rows = store.read(
        "SELECT DISTINCT stack FROM voicing JOIN take ON take.id = voicing.take_id "
        "WHERE take.played_on >= ?",
        (since,),
    )
    return frozenset(tuple(row["stack"].split()) for row in rows)
