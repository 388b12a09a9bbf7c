"""``stackline demo``: the bundled recording, heard and opened."""

from importlib.resources import files
from pathlib import Path

from stackline.shared.complaint import Complaint

BUNDLED = "warmup.m4a"


def bundled_recording() -> Path:
    """Where the bundled recording lies: inside the installed package, or in a source tree.

    Raises Complaint when neither has it.
    """
    places = (
        Path(str(files("stackline"))) / "bundled" / BUNDLED,
        Path(__file__).parents[2] / "fixtures" / BUNDLED,
    )
    for place in places:
        if place.is_file():
            return place
    raise Complaint(
        f"the bundled recording {BUNDLED} is missing from this installation; "
        "install again with: pip install --force-reinstall ."
    )


def open_page(page: Path) -> bool:
    """Open a page in the player's browser; False where there is none."""
    import webbrowser

    try:
        return webbrowser.open(page.resolve().as_uri())
    except webbrowser.Error:
        return False
