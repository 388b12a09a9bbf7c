"""Pages of practice can be heard: a button plays what the page says, and nothing else runs."""

import base64
import hashlib
import json
import re
from pathlib import Path
from typing import Any

import pytest

from stackline.practice.drills.drill import make_drill
from stackline.practice.drills.drill_page import render as drill_page
from stackline.practice.review.reviewing import review_gestures
from stackline.practice.targets.target_text import parse_target
from stackline.practice.written.review_page import render as review_page
from tests.support.readers.browser_pages import NEEDS_CHROMIUM, bare, until
from tests.support.takes.practice_scenes import TARGET_TEXT, TWO_FIVE, gestures_of, played

II, V, I = TWO_FIVE  # noqa: E741
TARGET = parse_target(TARGET_TEXT, name="study")


def sounds(html: str) -> list[dict[str, Any]]:
    """What the page can play."""
    found = re.search(r'<script type="application/json" id="sounds">(.*?)</script>', html)
    assert found
    return json.loads(found[1])


def reviewed() -> str:
    """Two passes, the second with a wrong note."""
    rows = [*played(II, V, I), *played(II, (53, 56, 60, 64), I, start_s=6.0, up=3)]
    return review_page(review_gestures(gestures_of(rows), TARGET, "x"))


def test_the_policy_allows_the_script_and_nothing_else() -> None:
    """Content security policy level 2: the hash of the one script that stands on the page."""
    html = reviewed()
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', html)
    assert policy
    script = html.rpartition("<script>")[2].partition("</script>")[0]
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert f"script-src &#39;sha256-{digest}&#39;" in policy[1]
    assert "default-src &#39;none&#39;" in policy[1]
    assert "://" not in html


def test_a_page_without_passes_has_no_player() -> None:
    """Nothing to hear: no script, no piano."""
    html = review_page(review_gestures((), TARGET, "x"))
    assert "<script" not in html
    assert "script-src &#39;none&#39;" in html


def test_what_was_played_and_what_was_meant_can_be_heard() -> None:
    """The wrong C of the second pass sounds in the one and the B in the other, a minor third up."""
    found = sounds(reviewed())
    assert len(found) == 4
    as_played, as_meant = ([midi for _, _, midi in one["notes"]] for one in found[2:])
    assert (as_played.count(63), as_meant.count(63)) == (2, 1)  # the II has it, too
    assert (as_played.count(62), as_meant.count(62)) == (0, 1)
    assert [at for at, _, _ in found[0]["notes"]] == sorted(at for at, _, _ in found[0]["notes"])


@pytest.mark.parametrize(("meter", "parts", "clicks"), [(4, 2, 16), (3, 2, 12), (2, 3, 8)])
def test_a_drill_is_played_as_it_is_written(meter: int, parts: int, clicks: int) -> None:
    """Every voicing on its beat after the count-in, a click a beat, the first of a bar marked."""
    drill = make_drill(TARGET, [0, 5], beats_per_bar=meter, parts=parts)
    html = drill_page(drill)
    whole, first, second = sounds(html)
    written = [(float(one.start), pitch) for one in drill.struck() for pitch in one.pitches]
    assert [(at, midi) for at, _, midi in whole["notes"]] == written
    assert len(whole["clicks"]) == drill.beats
    assert [at for at, is_first in whole["clicks"] if is_first] == list(
        range(0, drill.beats, meter)
    )
    assert len(first["clicks"]) == clicks  # the count-in and three bars
    assert first["notes"][0][0] == second["notes"][0][0] == meter
    assert "does not listen" in html


class TestInChromium:
    """Buttons make sound; tempo and click are obeyed; a second click stops."""

    pytestmark = NEEDS_CHROMIUM

    def test_a_drill_sounds(self, browser: Any, tmp_path: Path) -> None:
        """All notes, then with the click as many more; the row that sounds is lit."""
        drill = make_drill(TARGET, [0], tempo_bpm=200)
        path = tmp_path / "drill.html"
        path.write_text(drill_page(drill), encoding="utf-8")
        page = bare(browser, path)
        notes = sum(len(one.pitches) for one in drill.struck())
        page.fill("#tempo", "400")
        page.click("[data-sound='0']")
        until(page, f"document.body.dataset.sounded === '{notes + drill.beats}'")
        until(page, "document.querySelectorAll('.sounding').length === 1")
        page.click("[data-sound='0']")
        assert page.evaluate("document.querySelectorAll('.sounding').length") == 0
        page.uncheck("#click")
        page.click("[data-sound='1']")
        until(page, f"document.body.dataset.sounded === '{notes}'")
        until(page, "document.getElementById('stop').disabled")  # it ends by itself
        assert page.faults == []
        page.close()

    @pytest.mark.parametrize("scheme", ["light", "dark"])
    def test_a_review_fits_a_phone(self, browser: Any, tmp_path: Path, scheme: str) -> None:
        """Nothing is wider than the screen, and what was played sounds."""
        path = tmp_path / "review.html"
        path.write_text(reviewed(), encoding="utf-8")
        page = bare(browser, path, "phone", scheme)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        page.click("[data-sound='0']")
        until(page, "document.body.dataset.sounded === '12'")
        assert page.faults == []
        page.close()
