"""The one way to HTML: templates, filled in, with everything from outside escaped.

A value that a template asks for and nobody gave is a fault, not an empty place. Other rooms that
print pages come here with the name of the package that holds their ``templates``; all of them may
use those of this one (``head.html``).
"""

from functools import cache
from importlib import resources

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from stackline.theory.chords.spelling import with_signs

HERE = "stackline.report"


@cache
def environment(package: str) -> Environment:
    """The templates of a package; their filter ``signs`` writes real accidentals, ``n`` numbers.

    ``tokens`` is the style that all pages share: colours and faces.
    """
    made = Environment(
        loader=ChoiceLoader([PackageLoader(package), PackageLoader(HERE)]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["signs"] = with_signs
    made.filters["n"] = short_number
    made.globals["tokens"] = Markup(asset("tokens.css"))
    return made


def short_number(value: float) -> str:
    """A number in a drawing: one place behind the point, and none where it is a whole one."""
    return f"{value:.1f}".removesuffix(".0")


def filled(template: str, package: str = HERE, /, **values: object) -> Markup:
    """A template with its values, as markup."""
    return Markup(environment(package).get_template(template).render(**values))


@cache
def asset(name: str) -> str:
    """A style or script of this room, as text."""
    return (resources.files(HERE) / "templates" / name).read_text(encoding="utf-8")
