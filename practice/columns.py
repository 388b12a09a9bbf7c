"""Plain text in columns, for the terminal: ASCII, no colour, nothing cut off."""

from collections.abc import Sequence


def columns(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """A table: heads, a rule, rows; each column as wide as its widest cell."""
    table = [tuple(heads), *(tuple(row) for row in rows)]
    widths = [max(len(row[i]) for row in table) for i in range(len(heads))]
    lines = [_line(row, widths) for row in table]
    lines.insert(1, _line(["-" * width for width in widths], widths))
    return "\n".join(lines) + "\n"


def _line(cells: Sequence[str], widths: Sequence[int]) -> str:
    return "  ".join(cell.ljust(width) for cell, width in zip(cells, widths, strict=True)).rstrip()


def plural(count: int, one: str, many: str | None = None) -> str:
    """``1 pass``, ``2 passes``; `many` is `one` with an s if left out."""
    return f"{count} {one if count == 1 else many or one + 's'}"
