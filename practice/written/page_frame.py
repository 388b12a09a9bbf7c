"""Pages on paper: one quiet look for everything that the practice room prints.

A page is one file without scripts, pictures or fonts from elsewhere; it turns dark with the
reader's setting and prints in black. Everything from outside is escaped.
"""

from typing import Any

from stackline.report.html import filled

TONES = {"solid": "good", "coming": "mid", "not yet": "bad", "not played": "soft"}
SIGNS = {"solid": "\u2713", "coming": "\u223c", "not yet": "\u2715", "not played": "\u00b7"}


def page(template: str, **facts: Any) -> str:
    """A template of this room, filled in."""
    return filled(template, "stackline.practice.written", **facts)
