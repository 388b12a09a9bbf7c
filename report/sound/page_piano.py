"""The piano that plays the written notes on the page: a few sampled notes in one small file.

`templates/piano.mp3` holds one note after the other, each in a slot of `SLOT_S` seconds and
`LEAD_S` after its slot's start, faded out at the slot's end; the page plays the nearest one
faster or slower. `fixtures/make_page_piano.py` makes the file and says where the notes come
from (Upright Piano KW, FreePats, CC0-1.0).
"""

import base64
import json
from functools import lru_cache
from importlib import resources

FILE = "piano.mp3"
PITCHES = (24, 30, *range(36, 85, 3), 90, 96, 102, 108)  # every minor third where comping lies
SLOT_S = 1.8
LEAD_S = 0.05  # silence before a note, so that nothing of the one before is heard


@lru_cache(maxsize=1)
def piano_json() -> str:
    """The piano for the page's script: pitches, slot and lead in seconds, base64 of the MP3."""
    data = (resources.files("stackline.report.sound") / FILE).read_bytes()
    return json.dumps(
        {
            "pitches": PITCHES,
            "slot": SLOT_S,
            "lead": LEAD_S,
            "mp3": base64.b64encode(data).decode("ascii"),
        }
    )
