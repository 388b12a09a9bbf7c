"""The quiz as one HTML file: no network, made for a phone, by touch and by keyboard."""

import base64
import hashlib
import json
from collections.abc import Sequence
from importlib import resources

from markupsafe import Markup

from stackline.practice.quiz.questions import Question
from stackline.report.html import asset, filled
from stackline.report.sound.page_piano import piano_json
from stackline.theory.chords.spelling import with_signs

PACKAGE = "stackline.practice.quiz"
POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src '{hash}'; media-src data: blob:"


def render(found: Sequence[Question]) -> str:
    """The page; its questions are numbers and escaped text."""
    script = asset("page_piano.js") + _own("quiz.js")
    digest = hashlib.sha256(script.encode()).digest()
    cards = json.dumps([_card(one) for one in found], ensure_ascii=False, separators=(",", ":"))
    return str(
        filled(
            "quiz.html",
            PACKAGE,
            policy=POLICY.format(hash=f"sha256-{base64.b64encode(digest).decode()}"),
            css=Markup(_own("quiz.css")),
            js=Markup(script),
            piano=Markup(piano_json()),
            cards=Markup(cards.replace("<", "\\u003c")),
            count=len(found),
        )
    )


def _card(one: Question) -> dict[str, object]:
    return {
        "ask": with_signs(one.ask),
        "choices": [with_signs(choice) for choice in one.choices],
        "right": one.right,
        "why": with_signs(one.why),
        "sounds": one.sounds,
        "roots": one.roots,
    }


def _own(name: str) -> str:
    return (resources.files(PACKAGE) / "templates" / name).read_text(encoding="utf-8")
