"""``stackline doctor``: what is installed, what is missing, how to mend it."""

import hashlib
import json
import platform
import sys
import tempfile
from collections.abc import Callable
from dataclasses import asdict, dataclass
from importlib import metadata
from importlib.util import find_spec

import click

from stackline.commands.demo_command import bundled_recording
from stackline.ears import EARS
from stackline.shared.complaint import Complaint
from stackline.version import __version__

LIBRARIES = ("numpy", "scipy", "soxr", "av", "onnxruntime", "mido", "verovio",
             "click", "rich", "jinja2", "tomlkit", "platformdirs")  # fmt: skip
OLDEST_PYTHON = (3, 11)
CODECS = {"aac": "m4a and mp4", "opus": "webm and opus", "mp3": "mp3", "vorbis": "ogg",
          "flac": "flac"}  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing looked at. needed: the main job fails without it. mend: what to type."""

    thing: str
    found: str
    fine: bool
    needed: bool
    mend: str = ""


def examine() -> tuple[Finding, ...]:
    """Look at everything the program stands on; never raises."""
    return (
        _python(),
        *(_library(name) for name in LIBRARIES),
        _codecs(),
        *(_ear(name) for name in EARS),
        _recording(),
        _scratch(),
    )


def print_table(findings: tuple[Finding, ...]) -> None:
    """One line a finding; a line below it where something is to be mended."""
    click.echo(f"stackline {__version__}")
    for finding in findings:
        sign = "ok     " if finding.fine else "MISSING" if finding.needed else "absent "
        click.echo(f"  {sign}  {finding.thing:<22} {finding.found}")
        if not finding.fine:
            click.echo(f"           to mend: {finding.mend}")


def print_json(findings: tuple[Finding, ...]) -> None:
    """The findings as a JSON list."""
    click.echo(json.dumps([asdict(finding) for finding in findings], indent=2))


def _python() -> Finding:
    return Finding(
        thing="Python",
        found=platform.python_version(),
        fine=sys.version_info >= OLDEST_PYTHON,
        needed=True,
        mend="install Python 3.11 or newer",
    )


def _library(name: str) -> Finding:
    try:
        version = metadata.version(name)
    except metadata.PackageNotFoundError:
        version = ""
    fine = bool(version) and find_spec(name) is not None
    return Finding(
        thing=name,
        found=version or "not installed",
        fine=fine,
        needed=True,
        mend=f"pip install {name}",
    )


def _codecs() -> Finding:
    mend = "pip install --force-reinstall av"
    try:
        import av

        missing = [files for codec, files in CODECS.items() if codec not in av.codecs_available]
    except ImportError as error:
        return Finding(thing="decoders", found=str(error), fine=False, needed=True, mend=mend)
    found = "cannot read " + ", ".join(missing) if missing else "all"
    return Finding(thing="decoders", found=found, fine=not missing, needed=True, mend=mend)


def _ear(name: str) -> Finding:
    """An ear is well when it can be made; the complaint it raises says how to mend it."""
    make: Callable[[], object] = EARS[name]
    needed = name == next(iter(EARS))
    try:
        described = getattr(make(), "name", name)
    except (Complaint, ImportError) as error:
        return Finding(thing=f"{name} ear", found="not installed", fine=False, needed=needed,
                       mend=str(error))  # fmt: skip
    return Finding(thing=f"{name} ear", found=described, fine=True, needed=needed)


def _recording() -> Finding:
    try:
        path = bundled_recording()
    except Complaint as complaint:
        return Finding(thing="bundled recording", found="missing", fine=False, needed=False,
                       mend=str(complaint))  # fmt: skip
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
            mend="set TMPDIR to a folder that you may write to",
        )
    return Finding(thing="temporary folder", found=folder, fine=True, needed=True)
