"""Write docs/python.md from the public names' own docstrings: `python scripts/make_python_page.py`.

The examples stand here; a test runs each of them, in this order and in one folder.
"""

import inspect
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

import stackline  # noqa: E402

PAGE = ROOT / "docs" / "python.md"
INTRODUCTION = """# From Python

Made from the docstrings by `scripts/make_python_page.py`. These names are the public API; all of
them are imported from `stackline`. Everything else may change from one version to the next.
Sound is read where the recording lies; nothing is sent anywhere.
"""

EXAMPLES = {
    "Hear a recording": """
import stackline

take = stackline.transcribe("fixtures/warmup.m4a", changes="Dm9 | G13(b9) | C6/9")
for voicing in take.voicings[:3]:
    print(voicing.chord.symbol, [note.midi for note in voicing.attack.struck])
""",
    "Hear samples": """
import soundfile

import stackline

samples, sample_rate_hz = soundfile.read("take.wav")
take = stackline.hear(samples, sample_rate_hz, name="take")
print(len(take.notes), "notes")
""",
    "Read notes that you already have": """
import stackline

chords = ((53, 57, 60, 64), (53, 57, 59, 64), (52, 57, 59, 62))  # Dm9, G13, C6/9
notes = [
    stackline.Note(
        onset_s=2.0 * bar, offset_s=2.0 * bar + 1.9, midi=midi, velocity=70, confidence=1.0
    )
    for bar, chord in enumerate(chords)
    for midi in chord
]
take = stackline.read_notes(notes, changes="Dm9 | G13 | C6/9")
print([" ".join(str(tone.degree) for tone in one.tones) for one in take.voicings])
""",
    "Write every format": """
from pathlib import Path

import stackline

take = stackline.transcribe("fixtures/warmup.m4a")
paths = stackline.write(take, Path("out"), stackline.FORMATS)
print([path.name for path in paths])
""",
    "Have a take back": """
from pathlib import Path

import stackline

text = Path("out/warmup.json").read_text(encoding="utf-8")
take = stackline.from_json(text)
assert stackline.to_json(take) == text
""",
}


def page() -> str:
    """The whole page as Markdown."""
    parts = [INTRODUCTION, "## Examples\n"]
    parts += [
        f"### {title}\n\n```python\n{code.strip()}\n```\n" for title, code in EXAMPLES.items()
    ]
    names = [name for name in stackline.__all__ if not name.startswith("_")]
    calls = sorted(name for name in names if inspect.isfunction(getattr(stackline, name)))
    records = sorted(name for name in names if inspect.isclass(getattr(stackline, name)))
    parts.append("## Functions\n")
    parts += [_entry(name, getattr(stackline, name)) for name in calls]
    parts.append("## Records and errors\n")
    parts += [_entry(name, getattr(stackline, name)) for name in records]
    parts.append("## Tables\n")
    parts.append(f"`EARS`: what `ear` may be called: {', '.join(stackline.EARS)}.\n")
    parts.append(f"`FORMATS`: what `write` writes: {', '.join(stackline.FORMATS)}.\n")
    return "\n".join(parts)


def _entry(name: str, thing: Any) -> str:
    """A public name, how it is called, and what its docstring says."""
    about = inspect.getdoc(thing) or ""
    return f"### {name}\n\n```text\n{name}{_signature(thing)}\n```\n\n{about}\n"


def _signature(thing: Any) -> str:
    """Parameters with their defaults; types are in the docstring, and in the code for checkers."""
    if inspect.isclass(thing) and issubclass(thing, Exception):
        return ""
    parameters = inspect.signature(thing).parameters.values()
    plain = [
        one.replace(annotation=inspect.Parameter.empty, default=_named(one)) for one in parameters
    ]
    return str(inspect.Signature(plain))


def _named(parameter: inspect.Parameter) -> Any:
    """A default as a reader writes it."""
    default = parameter.default
    if default is parameter.empty or isinstance(default, (str, int, float, tuple, type(None))):
        return default
    return _Words(getattr(default, "__name__", type(default).__name__ + "()"))


class _Words:
    """Prints as its words."""

    def __init__(self, words: str) -> None:
        self._words = words

    def __repr__(self) -> str:
        return self._words


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
    print(f"wrote {PAGE.relative_to(ROOT)}")
