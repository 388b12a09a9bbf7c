"""Pages on paper: one quiet look for everything that the practice room prints.

A page is one file without scripts, pictures or fonts from elsewhere; it turns dark with the
reader's setting and prints in black. Everything from outside is escaped.
"""

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from stackline.theory.chords.spelling import with_signs

TONES = {"solid": "good", "coming": "mid", "not yet": "bad", "not played": "soft"}
SIGNS = {"solid": "\u2713", "coming": "\u223c", "not yet": "\u2715", "not played": "\u00b7"}


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("stackline.practice.written"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["signs"] = with_signs
    return environment


def page(template: str, **facts: Any) -> str:
    """A template of this room, filled in."""
    return _environment().get_template(template).render(**facts)
