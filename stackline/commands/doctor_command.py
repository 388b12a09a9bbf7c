"""``stackline doctor``: what is installed, what is missing, how to fix it."""

import hashlib
import importlib
import json
import os
import platform
import sys
import tempfile
from collections.abc import Callable
from dataclasses import asdict, dataclass
from importlib import metadata
from pathlib import Path

import click

from stackline import listen
from stackline.commands.demo_command import bundled_recording
from stackline.ears import EARS
from stackline.listen.offline_network import open_network
from stackline.report.words.marks import one_line
from stackline.shared.complaint import Complaint
from stackline.shared.folder import OWN, data_folder
from stackline.version import __version__

LIBRARIES = ("numpy", "scipy", "soxr", "av", "onnxruntime", "mido", "verovio",
             "click", "rich", "jinja2", "tomlkit", "platformdirs")  # fmt: skip
OLDEST_PYTHON = (3, 11)  # as pyproject.toml has it
AGAIN = "in a clone: pip install --force-reinstall ."
CODECS = {"aac": "m4a and mp4", "opus": "webm and opus", "mp3": "mp3", "vorbis": "ogg",
          "flac": "flac"}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing looked at. needed: the main job fails without it. fix: what to type."""

    thing: str
    found: str
    fine: bool
    needed: bool
    fix: str = ""


def examine() -> tuple[Finding, ...]:
    """Look at everything the program stands on; never raises."""
    return (
        _python(),
        *(_library(name) for name in LIBRARIES),
        _codecs(),
        *(_ear(name) for name in EARS),
        _weights(),
        _printing(),
        _recording(),
        _scratch(),
        _own_folder(),
    )


def print_table(findings: tuple[Finding, ...]) -> None:
    """One line a finding; a line below it where something is to be fixed."""
    click.echo(f"stackline {__version__}")
    for finding in findings:
        sign = "ok     " if finding.fine else "MISSING" if finding.needed else "absent "
        click.echo(f"  {sign}  {finding.thing:<22} {finding.found}")
        if not finding.fine:
            click.echo(f"           to fix: {finding.fix}")


def print_json(findings: tuple[Finding, ...]) -> None:
    """The findings as a JSON list."""
    click.echo(json.dumps([asdict(finding) for finding in findings], indent=2))


def _python() -> Finding:
    return Finding(
        thing="Python",
        found=platform.python_version(),
        fine=sys.version_info >= OLDEST_PYTHON,
        needed=True,
        fix="install Python 3.11 or newer",
    )


def _library(name: str) -> Finding:
    try:
        version = metadata.version(name)
    except metadata.PackageNotFoundError:
        version = ""
    fault = _import_fault(name) if version else "not installed"
    return Finding(
        thing=name,
        found=f"{version}: {fault}" if version and fault else version or fault,
        fine=not fault,
        needed=True,
        fix=f"pip install --force-reinstall {name}" if version else f"pip install {name}",
    )


def _import_fault(name: str) -> str:
    """Why a library cannot be imported, in a line; empty where it can."""
    try:
        importlib.import_module(name)
    except Exception as error:  # a library's own start may fail in any way
        return f"cannot be imported ({one_line(str(error)) or type(error).__name__})"
    return ""


def _codecs() -> Finding:
    fix = "pip install --force-reinstall av"
    try:
        import av

        missing = [files for codec, files in CODECS.items() if codec not in av.codecs_available]
    except ImportError as error:
        return Finding(thing="decoders", found=str(error), fine=False, needed=True, fix=fix)
    found = "cannot read " + ", ".join(missing) if missing else "all"
    return Finding(thing="decoders", found=found, fine=not missing, needed=True, fix=fix)


def _ear(name: str) -> Finding:
    """An ear is well when it can be made; a complaint that it raises says how to fix it."""
    make: Callable[[], object] = EARS[name]
    needed = name == next(iter(EARS))
    try:
        described = getattr(make(), "name", name)
    except Complaint as complaint:
        return Finding(thing=f"{name} ear", found="missing", fine=False, needed=needed,
                       fix=str(complaint))  # fmt: skip
    except Exception as error:  # the runtime has errors of its own for a network it cannot open
        return Finding(thing=f"{name} ear", found=f"cannot be opened ({one_line(str(error))[:80]})",
                       fine=False, needed=needed, fix=AGAIN)  # fmt: skip
    return Finding(thing=f"{name} ear", found=described, fine=True, needed=needed)


def _weights() -> Finding:
    """Every file of weights: its digest as in the card beside it, and a network opens."""
    tables = sorted(Path(listen.__path__[0]).rglob("*.json"))
    cards = [one for one in tables if '"sha256"' in one.read_text(encoding="utf-8")]
    wrong = [fault for card in cards if (fault := _weights_fault(card))]
    found = "; ".join(wrong) or f"{len(cards)} files, all as shipped"
    return Finding(thing="weights", found=found, fine=bool(cards) and not wrong, needed=True,
                   fix=AGAIN)  # fmt: skip


def _weights_fault(card: Path) -> str:
    facts = json.loads(card.read_text(encoding="utf-8"))
    path = card.parent / facts["file"]
    if not path.is_file():
        return f"{path.name} is missing"
    as_shipped = hashlib.sha256(path.read_bytes()).hexdigest() == facts["sha256"]
    if not as_shipped:
        return f"{path.name} is not the file that was shipped"
    try:
        if path.suffix == ".onnx":
            open_network(path)
    except (Complaint, ImportError) as error:
        return f"{path.name} cannot be opened: {error}"
    return ""


def _printing() -> Finding:
    """PDFs are an extra: its library has no wheel on some systems."""
    try:
        version = metadata.version("typst")
        fault = _import_fault("typst")
    except metadata.PackageNotFoundError:
        version, fault = "", "not installed; the formats pdf and sheet need it"
    return Finding(
        thing="PDF (typst)",
        found=f"{version} {fault}".strip(),
        fine=not fault,
        needed=False,
        fix='in a clone: pip install ".[pdf]"; where it has no wheel, print the format page or '
        "score from the browser",
    )


def _recording() -> Finding:
    try:
        path = bundled_recording()
    except Complaint as complaint:
        return Finding(thing="bundled recording", found="missing", fine=False, needed=False,
                       fix=str(complaint))  # fmt: skip
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    return Finding(thing="bundled recording", found=f"{path.name}, sha256 {digest[:12]}",
                   fine=True, needed=False)  # fmt: skip


def _scratch() -> Finding:
    """Long recordings are spooled to the temporary folder."""
    folder = tempfile.gettempdir()
    try:
        with tempfile.TemporaryFile():
            pass
    except OSError as error:
        return Finding(
            thing="temporary folder",
            found=f"{folder}: {error.strerror}",
            fine=False,
            needed=True,
            fix="set TMPDIR to a folder that you may write to",
        )
    return Finding(thing="temporary folder", found=folder, fine=True, needed=True)


def _own_folder() -> Finding:
    """Where the library and the player's own targets lie: it must be there, or be made."""
    folder = data_folder()
    near = next((one for one in (folder, *folder.parents) if one.exists()), folder)
    fine = near.is_dir() and os.access(near, os.W_OK | os.X_OK)
    here = folder.is_dir()
    return Finding(
        thing="library folder",
        found=f"{folder}" if here and fine else f"{folder}: {'not made yet' if fine else 'closed'}",
        fine=fine,
        needed=False,
        fix=f"set {OWN} to a folder that you may write to",
    )
