"""Texts and options: changes, targets, keys, notes, tempi and paths as nobody should type them."""

import random
from pathlib import Path

from bench.spoiled.sound_things import library_in, take_in

PIECES = (
    "Dm9",
    "G13(b9)",
    "C6/9",
    "|",
    "||",
    "%",
    ">",
    "V7",
    "IIm9",
    "bIImaj7#11",
    "b9",
    "13",
    "N.C.",
    "(",
    ")",
    "[",
    "]",
    "{",
    "}",
    "x3",
    ":",
    ",",
    "*",
    "\u266d",
    "\u0394",
    "\u00f8",
    "\x00",
    "\u202e",
    "\n",
    "\t",
    "-",
    "--",
    "''",
    '"',
    "\\",
    "9" * 50,
    "9" * 5000,
    "H7",
    "C/E/G",
    "Cmaj",
    "#",
    "\U0001f3b9",
    "1.",
    "2.",
    "D.S.",
    "3/4",
    "key: Q",
    "=",
    "b" * 200,
    "\u0627\u0644",
    "e\u0301",
    "\ud800",
)
VALUES = (
    "",
    " ",
    "0",
    "-1",
    "-0",
    "1e9",
    "nan",
    "inf",
    "-inf",
    "9" * 5000,
    "4/4",
    "3/8",
    "1/0",
    "16/4",
    "C",
    "Cb",
    "H",
    "c#",
    "C,E,,",
    "A9",
    "C-1",
    "Q4",
    "..",
    "/",
    "/dev/null",
    "out",
    "\u0663",
    "a" * 300,
    "\x1b[2J",
    "fourths",
    "random",
    "up",
    "2",
    "92",
    "120.5",
    "\udcff",
)


def odd_changes(folder: Path, rng: random.Random) -> list[str]:
    """Changes typed or in a file, for a drill."""
    text = rng.choice((" ", "", " | ")).join(rng.choices(PIECES, k=rng.choice((1, 2, 5, 12, 60))))
    if rng.random() < 0.03:
        text = " | ".join(["Dm7 | G7 | Cmaj7 | %"] * 3000)
    typed = text.replace("\x00", "")
    if rng.random() < 0.4:
        typed = str(folder / "tune.txt")
        (folder / "tune.txt").write_bytes(
            text.encode("utf-8", "surrogateescape" if rng.random() < 0.5 else "replace")
            if "\ud800" not in text
            else text.encode("utf-16", "replace")
        )
    return rng.choice(
        (
            ["drill", "--changes", typed, "--midi", "out/drill.mid"],
            ["check", str(take_in(folder)), "--changes", typed, "--json", "out/review.json"],
            ["targets", "save", "mine", "--changes", typed, "--file", "out/set.toml"],
        )
    )


def odd_target_file(folder: Path, rng: random.Random) -> list[str]:
    """A set of targets in TOML with something wrong in it."""
    row = {
        "name": '"a"',
        "chords": '"IIm9 | V13(b9) | I6/9"',
        "stacks": '["b3 5 b7 9", "*", "3 5 6 9"]',
        "beats": "[4, 4, 8]",
        "tempo_bpm": "92",
        "top": '"9 13 9"',
        "source": '"me"',
    }
    values = (
        '""',
        '"\\u0000"',
        "nan",
        "inf",
        "-1",
        "9" * 5000,
        "[]",
        "{}",
        "[[[[]]]]",
        '"V7"',
        "true",
        "1979-05-27",
        '"1e9999999"',
        "[1e999]",
        '["1/0"]',
        '"' + "x" * 5000 + '"',
        "[" * 5000,
        '"\\ud800"',
    )
    for _ in range(rng.choice((1, 1, 2))):
        row[rng.choice((*row, "mood", '""', "a.b"))] = rng.choice(values)
    rows = "".join(f"{name} = {value}\n" for name, value in row.items())
    text = f"format = {rng.choice(('1', '1', '1', '1', '2', 'true', '9' * 5000))}\n"
    text += f"[[target]]\n{rows}" + ("[[target]]\n" + rows if rng.random() < 0.2 else "")
    data = text.encode("utf-8", "replace")
    if rng.random() < 0.15:
        data = rng.choice(
            (
                data[: rng.randrange(len(data))],
                data + b"\xff",
                b"\xef\xbb\xbf" + data,
                b"a = " + b"[" * 100_000,
            )
        )
    path = folder / "set.toml"
    path.write_bytes(data)
    return rng.choice(
        (
            ["targets", "check", str(path)],
            ["drill", "--target", str(path), "--midi", "out/drill.mid"],
            [
                "targets",
                "save",
                rng.choice(("b", "A", "", "\n", "x" * 999)),
                "--changes",
                "V7",
                "--file",
                str(path),
            ],
        )
    )


def odd_options(folder: Path, rng: random.Random) -> list[str]:
    """Values that no option allows, and some that it does."""
    value = rng.choice(VALUES)
    take = str(take_in(folder))
    return rng.choice(
        (
            [
                "drill",
                "--changes",
                "V7 | Imaj7",
                rng.choice(
                    (
                        "--tempo",
                        "--meter",
                        "--keys",
                        "--order",
                        "--first",
                        "--low",
                        "--high",
                        "--seed",
                        "--count-in",
                        "--key",
                    )
                ),
                value,
            ],
            [
                "check",
                take,
                "--changes",
                "V7",
                rng.choice(("--tempo", "--meter", "--first-beat", "--count-in", "--key", "--ear")),
                value,
            ],
            ["targets", "show", value, "--key", rng.choice(VALUES)],
            ["drill", "--take", take, "--from", rng.choice(VALUES), "--to", rng.choice(VALUES)],
            [
                "library",
                "search",
                rng.choice(
                    ("--like", "--stack", "--chord", "--key", "--top", "--structure", "--limit")
                ),
                value,
                "--file",
                "out/library.db",
            ],
            [
                "library",
                "add",
                take,
                "--on",
                value,
                "--note",
                rng.choice(VALUES),
                "--file",
                "out/library.db",
            ],
            [
                "library",
                "correct",
                rng.choice(("1", value)),
                "--at",
                rng.choice(VALUES),
                "--chord",
                value,
                "--notes",
                rng.choice(VALUES),
                "--file",
                str(library_in(folder)),
            ],
            [
                "transcribe",
                str(folder / "none.wav"),
                rng.choice(
                    ("--tempo", "--meter", "--first-beat", "--count-in", "--a4", "--formats")
                ),
                value,
            ],
            [rng.choice(("transcribe", "check", "library", "nothing")), value],
        )
    )
