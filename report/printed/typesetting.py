"""Sheets to print: a template and its data in, a PDF out, typeset by typst.

A4, fonts inside, tagged for screen readers (PDF/UA-1, ISO 14289-1). typst's own fonts have Latin,
Greek, Cyrillic, Hebrew and Arabic, and with these alone the same data give the same bytes on
every machine. For other letters the fonts of the machine are asked. Where they lack one, too, a
box stands for it, and the sheet says so: such a sheet is no PDF/UA.
"""

import json
from collections.abc import Sequence
from typing import Any

from stackline.report.html import asset
from stackline.shared.complaint import Complaint

INSTALL = (
    'a PDF needs the library typst, which is not installed; in a clone type: pip install ".[pdf]" '
    "(Linux, Windows and macOS on x86-64, Linux and macOS on ARM)"
)
_NO_LETTER = "could not be displayed"  # what typst says of a letter that no font has


def typeset(
    template: str, data: dict[str, Any], *, instead: str, over: Sequence[str] = ()
) -> bytes:
    """The PDF of a template, by its name, and its data. instead: what else a player can do.

    over: templates that it takes from, read before it.

    Raises Complaint where typst is missing, or refuses the sheet.
    """
    try:
        import typst
    except ImportError:
        raise Complaint(f"{INSTALL}, or {instead}") from None
    names = ("printed.typ", *over, template)
    source = "".join(asset(name) for name in names).encode("utf-8")
    said = ""
    for own_fonts_alone, boxes in ((True, False), (False, False), (False, True)):
        try:
            return typst.compile(
                source,
                sys_inputs={"data": json.dumps(data | {"boxes": boxes})},
                ignore_system_fonts=own_fonts_alone,
                pdf_standards=[] if boxes else ["ua-1"],
            )
        except typst.TypstError as error:
            said = error.message
            if _NO_LETTER not in said:
                break
    raise Complaint(f"the sheet could not be typeset (typst: {said}); {instead}")
