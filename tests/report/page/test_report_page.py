"""The study sheet as a document: what it says, and that it is one safe file."""

import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path
from urllib.parse import unquote

import pytest

from stackline.report.contents.chart import bars
from stackline.report.contents.chart_slots import BAR_W
from stackline.report.contents.keyboard_picture import Stretch, lines, markers, stretch_of
from stackline.report.contents.vocabulary import vocabulary
from stackline.report.outputs import write, write_index
from stackline.report.page.page import render, score_fold
from stackline.report.sound.embedded_audio import EmbeddedAudio
from stackline.report.words.page_text import prose
from stackline.report.words.summary import as_text, summary
from stackline.report.words.take_view import TakeView
from stackline.shared.harmony import Alternative, ChordSymbol
from stackline.shared.notes import Beat
from stackline.shared.take import Take
from tests.support.takes.sample_take import (
    empty_take,
    gridless_take,
    long_take,
    sample_take,
    time_of,
)

HOSTILE = '<img src=x onerror="document.title=1"></script><script>document.title=1</script>'


class Document(HTMLParser):
    """The page as a browser's parser would split it: elements, their text, their ids."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.ids: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Keep the element."""
        named = dict(attrs)
        self.tags.append((tag, named))
        if named.get("id"):
            self.ids.append(str(named["id"]))

    def handle_data(self, data: str) -> None:
        """Keep the text."""
        self.text.append(data)

    def all(self, tag: str) -> list[dict[str, str | None]]:
        """Attributes of each element of a kind."""
        return [attrs for name, attrs in self.tags if name == tag]


def with_hostile_names() -> Take:
    """Names from outside wherever a take can carry them."""
    take = sample_take(HOSTILE)
    symbol = ChordSymbol(root=HOSTILE, quality="m9", text=HOSTILE, harte=HOSTILE)
    first = take.voicings[0]
    chord = replace(
        first.chord,
        symbol=symbol,
        alternatives=(Alternative(symbol=symbol, confidence=0.3, reason=HOSTILE),),
    )
    bad = replace(first, chord=chord, structures=(HOSTILE,), warnings=(HOSTILE,))
    return replace(take, ear=HOSTILE, version=HOSTILE, voicings=(bad, *take.voicings[1:]))


def test_names_from_a_file_are_text() -> None:
    """A hostile title, symbol, reason or ear adds no element to the page."""
    clean, hostile = (
        Document(render(TakeView(sample_take()))),
        Document(render(TakeView(with_hostile_names()))),
    )
    assert hostile.all("img") == []
    assert len(hostile.all("script")) == len(clean.all("script")) == 4
    assert not any(name.startswith("on") for _, attrs in hostile.tags for name in attrs)
    assert HOSTILE in "".join(hostile.text)


def test_the_page_reaches_for_nothing_outside() -> None:
    """No element and no style fetches from anywhere but the page itself."""
    html = render(TakeView(sample_take()), EmbeddedAudio(mime="audio/mp4", data=b"1234"))
    document = Document(html)
    for _, attrs in document.tags:
        for name in ("src", "href", "data", "action", "poster", "srcset"):
            value = attrs.get(name)
            assert value is None or value.startswith(("#", "data:"))
    assert not re.search(r"url\((?!#)|@import|https?://", html)
    assert document.all("link") == []
    policy = next(m["content"] for m in document.all("meta") if m.get("http-equiv"))
    assert policy is not None
    assert policy.startswith("default-src 'none'")
    assert "script-src 'sha256-" in policy


def test_ids_are_unique_and_links_lead_somewhere() -> None:
    """Every link inside the page has a target."""
    document = Document(render(TakeView(sample_take())))
    assert len(document.ids) == len(set(document.ids))
    targets = {str(a["href"])[1:] for a in document.all("a")}
    assert targets <= set(document.ids)
    assert "v5" in targets  # the unsure voicing is pointed at from the summary


def test_every_voicing_has_a_picture_in_words() -> None:
    """Screen readers get the keys of each voicing with their degrees."""
    document = Document(render(TakeView(sample_take())))
    pictures = [a for a in document.all("svg") if a.get("class") == "keyboard"]
    assert len(pictures) == len(sample_take().voicings)
    assert pictures[1]["aria-label"] == (
        "A\u266d13(\u266d9): G\u266d3 the \u266d7, C4 the 3, F4 the 13, B\u266d\u266d4 the \u266d9"
    )
    for button in document.all("button"):
        assert button.get("type") == "button"


def test_the_engraved_score_stands_in_the_page() -> None:
    """Every voicing's chord can be found in it; a long score folds all but its first page."""
    document = Document(render(TakeView(sample_take())))
    marked = {
        word for svg_tag, attrs in document.tags if svg_tag == "g"
        for word in str(attrs.get("class")).split() if word.startswith("voicing-")
    }  # fmt: skip
    assert marked == {f"voicing-{i}" for i in range(len(sample_take().voicings))}
    pages = ["<svg/>"] * 9
    fold = score_fold(pages)
    assert fold is not None
    assert (len(fold.shown), len(fold.folded), fold.fold_label) == (1, 8, "Pages 2 to 9")
    short = score_fold(pages[:2])
    assert short is not None
    assert (len(short.shown), len(short.folded)) == (2, 0)
    assert score_fold(()) is None


def test_the_page_uses_real_accidentals() -> None:
    """No ASCII flat or sharp is left in what is read."""
    text = "".join(Document(render(TakeView(sample_take()))).text.copy())
    body = text[text.index("Study sheet") : text.index('{"pitches"')]
    assert "G7(\u266d9,\u266d13)" in body
    assert not re.search(r"\b[A-G]b|\bb\d|#\d", body)


@pytest.mark.parametrize(
    ("plain", "signed"),
    [
        ("the b9 of Ab13(b9), then Bb.", "the \u266d9 of A\u266d13(\u266d9), then B\u266d."),
        ("About Ebony, Debbie and a #11", "About Ebony, Debbie and a \u266f11"),
        ("Ebmaj7 and F#m", "E\u266dmaj7 and F\u266fm"),
    ],
)
def test_prose_changes_musical_words_only(plain: str, signed: str) -> None:
    """English stays English."""
    assert prose(plain) == signed


def test_the_summary_says_what_matters() -> None:
    """Counts with denominators, what did not land and where, what is unsure."""
    text = as_text(summary(TakeView(sample_take())))
    assert "Six voicings at 96 beats a minute" in text
    assert (
        "7 of 8 due resolutions landed (2 in another octave). 4 of the 8 rest on an unsure" in text
    )
    assert "the b9 of Ab13(b9) went up to the 13 of Dbmaj13, bar 2, beat 1" in text
    assert "One of six voicings is unsure: bar 5, beat 4& (notes and name)." in text


def test_counts_read_as_english() -> None:
    """Several unsure voicings are counted of all, the favourite structures of the sure ones."""
    take = sample_take()
    poor = tuple(
        replace(voicing, confidence=0.3) if i < 2 else voicing
        for i, voicing in enumerate(take.voicings)
    )
    text = as_text(summary(TakeView(replace(take, voicings=poor))))
    assert "Three of six voicings are unsure: bar 1, beat 1 (notes); " in text
    assert "Most used, of three sure voicings: rootless, open (2); spread (1)." in text


def test_an_empty_take_has_a_page_that_says_so() -> None:
    """No chart, no tables, one sentence."""
    document = Document(render(TakeView(empty_take())))
    text = "".join(document.text)
    assert "No note was heard in this recording." in text
    assert document.all("table") == []


def test_the_vocabulary_counts_shapes_across_keys() -> None:
    """Each shape once, with all its places; unsure readings left out."""
    shapes = vocabulary(long_take(60))
    assert [shape.count for shape in shapes] == [10] * 5
    assert all("b13" not in shape.stack for shape in shapes)
    moved = [replace(v, chord=replace(v.chord, symbol=replace(v.chord.symbol, root="F")))
             for v in sample_take().voicings[:1]]  # fmt: skip
    take = replace(sample_take(), voicings=(*sample_take().voicings[:1], *moved), motions=())
    (shape,) = vocabulary(take)
    assert (shape.count, shape.keys) == (2, ("Eb", "F"))


def test_the_chart_covers_every_note_once_per_bar() -> None:
    """Bars join up in time, hold every voicing's label once, and nothing leaves its bar."""
    take = sample_take()
    drawn = bars(TakeView(take))
    assert [bar.title for bar in drawn] == ["1", "2", "3", "4", "5", "6", "7"]
    assert all(a.end_s == b.start_s for a, b in pairwise(drawn))
    assert sorted(label.index for bar in drawn for label in bar.degrees) == list(range(6))
    assert sum(box.begins for bar in drawn for box in bar.boxes) == len(take.notes)
    for bar in drawn:
        assert all(box.x >= 0 and box.x + box.width <= BAR_W + 1.5 for box in bar.boxes)


def test_the_chart_has_room_for_notes_outside_the_grid() -> None:
    """Beats found only in the middle still leave every note on the chart."""
    take = sample_take()
    few = take.grid.beats[6:18]
    drawn = bars(TakeView(replace(take, grid=replace(take.grid, beats=few))))
    assert drawn[0].start_s <= take.notes[0].onset_s
    assert drawn[-1].end_s >= max(note.onset_s for note in take.notes)
    assert sum(box.begins for bar in drawn for box in bar.boxes) == len(take.notes)


def test_a_pickup_is_bar_nought() -> None:
    """A first beat that is no downbeat opens bar 0, as the grid counts."""
    take = sample_take()
    pickup = Beat(time_s=time_of(1, 1) - 0.4, number=4)
    grid = replace(take.grid, beats=(pickup, *take.grid.beats))
    early = replace(take.notes[0], onset_s=0.2, offset_s=0.4)
    take = replace(take, grid=grid, notes=(early, *take.notes))
    assert [bar.title for bar in bars(TakeView(take))][:2] == ["0", "1"]


def test_a_chord_struck_early_stands_in_its_bar() -> None:
    """30 ms before the downbeat is still the downbeat: its symbol opens the new bar."""
    take = sample_take()
    second = take.voicings[1]
    early = replace(second, attack=replace(second.attack, onset_s=second.attack.onset_s - 0.03))
    drawn = bars(TakeView(replace(take, voicings=(take.voicings[0], early, *take.voicings[2:]))))
    assert [(label.x, label.text) for label in drawn[1].symbols] == [(0.0, "Ab13(b9)")]
    assert [label.index for label in drawn[0].degrees] == [0]


def test_no_bar_is_drawn_for_a_first_chord_that_comes_early() -> None:
    """40 ms before the first downbeat the chart begins with bar 1, and shows the whole note."""
    take = sample_take()
    early = replace(take.notes[0], onset_s=take.grid.beats[0].time_s - 0.04)
    drawn = bars(TakeView(replace(take, notes=(early, *take.notes[1:]))))
    assert drawn[0].title == "1"
    assert drawn[0].start_s == early.onset_s
    assert sum(box.begins for bar in drawn for box in bar.boxes) == len(take.notes)
    pickup = replace(early, onset_s=take.grid.beats[0].time_s - 0.4)
    assert bars(TakeView(replace(take, notes=(pickup, *take.notes[1:]))))[0].title == ""


def test_every_voicing_unsure_makes_a_draft() -> None:
    """A hearing that is poor throughout is called a draft, not listed place by place."""
    take = sample_take()
    poor = tuple(replace(voicing, confidence=0.3) for voicing in take.voicings)
    assert "take this as a draft" in as_text(summary(TakeView(replace(take, voicings=poor))))


def test_without_a_grid_pictures_are_stretches_of_time() -> None:
    """No beat lines are invented."""
    drawn = bars(TakeView(gridless_take()))
    assert {bar.end_s - bar.start_s for bar in drawn} == {4.0}
    assert not any(bar.beats for bar in drawn)


# Middle of each key within an octave, in white keys from C, on a real keyboard: the black
# keys of each group of two and three are spread evenly (common practice of piano makers).
# Only order and neighbourhood are checked.
@pytest.mark.parametrize("low", [21, 36, 48])
def test_keys_stand_in_order(low: int) -> None:
    """Each key stands right of the one below it, a black one between its white neighbours."""
    stretch = Stretch(low=low, high=108)
    places = [stretch.x(midi) for midi in range(low, 109)]
    assert places == sorted(set(places))
    assert places[0] == 10.0
    assert stretch.width - places[-1] == 10.0
    assert all(b - a < 20.0 or (m % 12 in (4, 11))
               for m, a, b in zip(range(low, 108), places, places[1:], strict=False))  # fmt: skip


def test_an_octave_is_seven_white_keys() -> None:
    """The same key an octave higher stands 140 units further right."""
    stretch = stretch_of([36, 96])
    assert all(stretch.x(m + 12) - stretch.x(m) == pytest.approx(140.0) for m in range(36, 84))


def test_the_stretch_holds_its_notes() -> None:
    """From A0 to C8 nothing falls off the picture."""
    for pitches in ([21], [108], [21, 108], [60], [61, 66], []):
        stretch = stretch_of(pitches)
        assert 21 <= stretch.low <= min(pitches, default=60)
        assert max(pitches, default=60) <= stretch.high <= 108
        assert stretch.high - stretch.low >= 22


def test_neighbouring_markers_do_not_cover_each_other() -> None:
    """White neighbours are set apart in height."""
    take = sample_take()
    voicing = take.voicings[0]
    cluster = tuple(
        replace(tone, midi=midi) for tone, midi in zip(voicing.tones, (60, 62, 64, 65), strict=True)
    )
    drawn = markers(replace(voicing, tones=cluster), stretch_of([60, 65]))
    for one, other in pairwise(drawn):
        assert abs(one.x - other.x) > 19 or abs(one.y - other.y) > 17


def test_lines_tell_what_a_voice_does() -> None:
    """Guide tones, common tones, entering, leaving and missed voices of the sample."""
    take = sample_take()
    stretch = stretch_of(m for v in take.voicings for m in v.pitches)
    kinds = [[line.kind for line in lines(motion, stretch)] for motion in take.motions]
    assert kinds[1] == ["guide", "guide", "move", "missed"]  # the b9 strays
    assert kinds[2] == ["stay", "stay", "move", "enter", "move", "enter"]
    assert kinds[4] == ["move", "leave", "move", "move", "enter", "enter"]


def test_the_index_links_every_sheet_and_sums_up(tmp_path: Path) -> None:
    """A row a take, its link to the file that `write` makes, and the counts of all."""
    takes = [sample_take("first one.wav"), sample_take(HOSTILE), empty_take()]
    written = [write(take, tmp_path, ("page",))[0] for take in takes]
    document = Document(write_index(takes, tmp_path).read_text(encoding="utf-8"))
    links = [unquote(str(link["href"])) for link in document.all("a")]
    assert links == [path.name for path in written]
    assert document.all("img") == document.all("script") == []
    text = " ".join(" ".join(document.text).split())
    assert "14 of 16" in text
    assert "none due" in text


def test_the_page_says_what_an_ear_cannot() -> None:
    """An organ's octaves under the general ear (a 16' stop sounds an octave down: common practice);
    no chances from the large one; of the piano ear nothing.
    """
    by_ear = {
        ear: render(TakeView(replace(sample_take(), ear=ear)))
        for ear in ("general (basic-pitch 0.4.0)", "large (a model)", "piano 4")
    }
    assert ["16\u0027 stop" in html or "16&#39; stop" in html for html in by_ear.values()] == [
        True, False, False,
    ]  # fmt: skip
    assert ["gives no chances" in html for html in by_ear.values()] == [False, True, False]
