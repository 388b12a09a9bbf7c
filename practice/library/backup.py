"""Backup, restore, and everything as JSON."""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from stackline.practice.library.library import Library
from stackline.practice.library.store import count_takes
from stackline.shared.codec.codec_write import to_data
from stackline.shared.complaint import Complaint
from stackline.shared.files import beside

EXPORT_FORMAT = 1  # raised when older readers would misread it


def back_up(library: Library, path: Path) -> int:
    """Write a whole copy of the library to a file; the number of takes in it."""
    with beside(path) as temporary:
        library.store.copy_to(temporary)
    return len(library.entries())


def restore(library: Library, path: Path) -> int:
    """Put a backup in the place of everything in the library; the number of takes in it.

    Raises Complaint, and changes nothing, for a file that is no whole library.
    """
    if not path.is_file():
        raise Complaint(
            f"{path} is not a file; name a backup made with: stackline library backup FILE"
        )
    library.store.replace_by(path)
    return len(library.entries())


def takes_in(path: Path) -> int:
    """How many takes a backup holds; raises Complaint if it is none."""
    if not path.is_file():
        raise Complaint(
            f"{path} is not a file; name a backup made with: stackline library backup FILE"
        )
    return count_takes(path)


@dataclass(frozen=True, kw_only=True)
class Exported:
    """How many takes were written, and a sentence for each that is damaged."""

    takes: int
    damaged: tuple[str, ...]


def export(library: Library, out: IO[str]) -> Exported:
    """Everything in the library as one JSON object, written take by take.

    A take that is damaged is left out, the others are written.
    """
    out.write(f'{{"format": {EXPORT_FORMAT}, "takes": [')
    ids = [row["id"] for row in library.store.read("SELECT id FROM take ORDER BY id")]
    damaged: list[str] = []
    written = 0
    for take_id in ids:
        try:
            text = json.dumps(_take_data(library, take_id), ensure_ascii=False)
        except (Complaint, json.JSONDecodeError) as fault:
            damaged.append(str(fault))
            continue
        out.write(f"{',' if written else ''}\n{text}")
        written += 1
    targets = library.store.read("SELECT name, document AS toml FROM target ORDER BY name")
    out.write('\n], "targets": ')
    json.dump([dict(row) for row in targets], out, ensure_ascii=False)
    out.write("}\n")
    return Exported(takes=written, damaged=tuple(damaged))


def _take_data(library: Library, take_id: int) -> dict[str, object]:
    store = library.store
    row = dict(store.read("SELECT * FROM take WHERE id = ?", (take_id,))[0])
    corrections = store.read(
        "SELECT onset_s, symbol, pitches, made_at FROM correction WHERE take_id = ? "
        "ORDER BY onset_s", (take_id,),
    )  # fmt: skip
    passes = store.read(
        "SELECT target, start_s, key, finished, clean, landed, due, tempo_bpm, faults FROM pass "
        "WHERE take_id = ? ORDER BY target, start_s", (take_id,),
    )  # fmt: skip
    return {
        "id": take_id,
        "sha256": row["sha256"],
        "played_on": row["played_on"],
        "added_at": row["added_at"],
        "note": row["note"],
        "take": to_data(library.heard(take_id)),
        "corrections": [dict(one) for one in corrections],
        "passes": [{**dict(one), "faults": json.loads(one["faults"])} for one in passes],
    }
