"""The study sheet of a take as a PDF: A4, to print, hand out and write on.

The same words and pictures as the page, without what needs a screen: what was played in a few
sentences, what landed of what was due, each voicing on its keyboard with the voices to the next,
and the vocabulary. The score is a file of its own (`stackline.report.printed.pdf_file`).
"""

from collections.abc import Iterator, Sequence

from stackline.report.contents.page_tables import key_rows, missed_rows, rate_rows
from stackline.report.printed.pdf_pages import A4_POINTS, bound, check_libraries
from stackline.report.printed.sheet_blocks import (
    FAINT,
    TEXT,
    WIDTH,
    Block,
    Column,
    heading,
    paragraph,
    rate_tables,
    shape_blocks,
    voicing_blocks,
)
from stackline.report.printed.sheet_drawings import SOFT
from stackline.report.printed.sheet_type import BOX, Type, fitted, is_whole, put
from stackline.report.words.page_text import facts, hands_note, prose
from stackline.report.words.summary import as_text, summary, title
from stackline.report.words.time_words import rhythm_sentences
from stackline.shared.take import Take

LEFT, TOP, BOTTOM = (A4_POINTS[0] - WIDTH) / 2, 44.0, 52.0
ROOM = A4_POINTS[1] - TOP - BOTTOM
FOOT = Type(size=8, colour=SOFT)


def render(take: Take) -> bytes:
    """The bytes of the PDF; a take in which nothing was heard says so on one page.

    Raises Complaint where the extra is not installed.
    """
    check_libraries("choose the format page and print it from the browser")
    pages = paged(list(_blocks(take)))
    name, made_by = title(take), f"stackline {take.version}; ear: {take.ear}"
    drawn = [_page(page, name, made_by, i, len(pages)) for i, page in enumerate(pages, 1)]
    return bound(drawn, name)


def _blocks(take: Take) -> Iterator[Block]:
    yield _head(take)
    yield from (paragraph(prose(as_text((one,)))) for one in summary(take))
    yield from _resolutions(take)
    rhythm = rhythm_sentences(take)
    if rhythm:
        yield heading("Harmonic rhythm")
        yield from (paragraph(prose(as_text((one,)))) for one in rhythm)
    if not take.voicings:
        return
    yield heading("Voicing by voicing")
    yield paragraph(LEGEND, FAINT)
    yield from voicing_blocks(take)
    shapes = list(shape_blocks(take))
    if shapes:
        yield heading("Vocabulary: each shape once, whatever its key")
        yield from shapes
    yield paragraph(hands_note(take), FAINT)


LEGEND = (
    "Square: guide tone (3, 7). Round and filled: tension (9, 11, 13). Outline: root, 5, 6. "
    "Dashed: held from before. Triangle: top line. Between keyboards, thick: common tone; "
    "broken: guide-tone line."
)
BOXES = (
    f"{BOX} stands for a letter that this sheet's type has not (it has Latin, Greek and Cyrillic); "
    "the web page of the take shows the name in full."
)


def _head(take: Take) -> Block:
    column = Column(0, WIDTH)
    column.add("Study sheet", FAINT)
    column.add(title(take), Type(size=22))
    if not is_whole(title(take)):
        column.add(BOXES, FAINT)
    column.add(facts(take), FAINT)
    return Block(height=column.y + 10, svg=column.svg, keep=True)


def _resolutions(take: Take) -> Iterator[Block]:
    """What landed of what was due, and what came instead; nothing where nothing was due."""
    rates, keys = rate_rows(take), key_rows(take)
    if not rates:
        return
    yield heading("Resolutions")
    tables = [("degree of the dominant", rates), ("into", keys)]
    yield rate_tables(tables if len(keys) > 1 else tables[:1])
    for one in missed_rows(take):
        yield paragraph(f"{one.where}: {one.words}.", TEXT)


def paged(blocks: Sequence[Block]) -> list[list[Block]]:
    """Blocks on pages, in order: none is cut, none that must be kept stands last on a page.

    A block higher than a page has one to itself.
    """
    pages: list[list[Block]] = [[]]
    used = 0.0
    for i, block in enumerate(blocks):
        needed, following = block.height, i
        while blocks[following].keep and following + 1 < len(blocks):
            following += 1
            needed += blocks[following].height
        if pages[-1] and used + needed > ROOM:
            pages.append([])
            used = 0.0
        pages[-1].append(block)
        used += block.height
    return pages


def _page(blocks: Sequence[Block], name: str, made_by: str, number: int, of: int) -> str:
    """One page as SVG."""
    wide, high = A4_POINTS
    parts, y = [], TOP
    for block in blocks:
        parts.append(f'<g transform="translate({LEFT:.2f} {y:.2f})">{block.svg}</g>')
        y += block.height
    foot = high - BOTTOM / 2
    parts += [
        put(fitted(name, FOOT, WIDTH / 2), LEFT, foot, FOOT),
        put(made_by, LEFT + WIDTH * 0.62, foot, FOOT, "middle"),
        put(f"{number} of {of}", LEFT + WIDTH, foot, FOOT, "end"),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{high}" '
        f'viewBox="0 0 {wide} {high}">{"".join(parts)}</svg>'
    )
