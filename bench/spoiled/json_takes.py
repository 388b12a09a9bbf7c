"""Takes as JSON that something is wrong with: values, structure, text, bytes."""

import copy
import json
import random
from pathlib import Path
from typing import Any

from bench.spoiled.sound_things import sound_take
from stackline.shared.codec.codec_write import to_data

VALUES: tuple[Any, ...] = (
    None,
    True,
    False,
    -1,
    0,
    1,
    130,
    10**18,
    10**350,
    -1.5,
    1e300,
    float("nan"),
    float("inf"),
    "",
    "x",
    "\ud800",
    "b9",
    "G7",
    "\x00\x1b[2J",
    "9" * 5000,
    [],
    {},
    [None],
    [[[]]],
    {"a": 1},
)


def broken_take(folder: Path, rng: random.Random) -> list[str]:
    """A document of format 1 spoiled in one to three places, for a command that reads takes."""
    document = copy.deepcopy(to_data(sound_take()))
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        _spoil(document, rng)
    text = json.dumps(document)
    if rng.random() < 0.35:
        text = rng.choice(_TEXTS)(text, rng)
    data = text.encode("utf-8", "surrogatepass")
    if rng.random() < 0.1:
        data = rng.choice(
            (data[: len(data) // 2], b"\xff\xfe" + data, data.replace(b'"', b"\xe9", 9))
        )
    path = folder / "take.json"
    path.write_bytes(data)
    return [str(path) if word == "TAKE" else word for word in rng.choice(_COMMANDS)]


_COMMANDS = (
    ("check", "TAKE", "--changes", "IIm9 | V13(b9) | Imaj9", "--json", "out/review.json"),
    ("check", "TAKE", "--changes", "V7 | Imaj7", "--page", "out/review.html"),
    ("library", "add", "TAKE", "--file", "out/library.db"),
    ("drill", "--take", "TAKE", "--midi", "out/drill.mid"),
    ("targets", "save", "a find", "--take", "TAKE", "--file", "out/set.toml"),
)


def _spoil(document: Any, rng: random.Random) -> None:
    places = list(_places(document))
    if not places:
        return
    place, step = rng.choice(places)
    what = rng.random()
    if what < 0.6:
        place[step] = copy.deepcopy(rng.choice(VALUES))
    elif what < 0.75:
        del place[step]
    elif what < 0.85 and isinstance(place, list):
        place.insert(rng.randrange(len(place) + 1), copy.deepcopy(rng.choice(VALUES)))
    elif isinstance(place, list):
        rng.shuffle(place)
    else:
        place[rng.choice(("mood", "", "\ud800", "notes"))] = rng.choice(VALUES)


def _places(value: Any) -> Any:
    steps = list(value) if isinstance(value, dict) else range(len(value))
    for step in steps:
        yield value, step
        if isinstance(value[step], dict | list):
            yield from _places(value[step])


def _doubled(text: str, rng: random.Random) -> str:
    return text.replace('"midi":', '"midi": 60, "midi":', 1)


def _cut(text: str, rng: random.Random) -> str:
    return text[: rng.randrange(1, len(text))]


def _deep(text: str, rng: random.Random) -> str:
    opening = rng.choice(("[", '{"take":'))
    return opening * 100_000 if rng.random() < 0.5 else text.replace("[", opening * 5000, 1)


def _digits(text: str, rng: random.Random) -> str:
    return text.replace('"velocity": ', f'"velocity": {"7" * rng.choice((400, 5000))}', 1)


def _numbers(text: str, rng: random.Random) -> str:
    return text.replace(
        '"tuning_cents": ', f'"tuning_cents": {rng.choice(("NaN", "1e999", "-"))}, "x": ', 1
    )


def _signs(text: str, rng: random.Random) -> str:
    at = rng.randrange(len(text))
    return text[:at] + rng.choice('{}[],:"\\\x00\u202e') + text[at + 1 :]


_TEXTS = (_doubled, _cut, _deep, _digits, _numbers, _signs, _signs)
