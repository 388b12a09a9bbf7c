"""Results as Markdown: what was run, one table a listener, and how honest its confidence is."""

from bench.scoring.pooled import Pooled, Rate, TrustRow

COLUMNS = (
    "", "attacks", "exact set (95 %)", "top", "bottom", "pitch classes", "note F1",
    "onset error, ms", "velocity rank", "false per s", "root", "root + family", "sure: right",
    "sure: share",
)  # fmt: skip


def results_table(rows: dict[tuple[str, str], Pooled]) -> str:
    """One listener's scenes, table by table; keys are (table, scene)."""
    lines = [_line(COLUMNS), _line("---" if i == 0 else "---:" for i in range(len(COLUMNS)))]
    table_before = None
    tables = list(dict.fromkeys(table for table, _ in rows))
    for table, scene in sorted(rows, key=lambda row: tables.index(row[0])):
        if table != table_before:
            lines.append(_line([f"**{table} voicings**", *[""] * (len(COLUMNS) - 1)]))
            table_before = table
        lines.append(_line(_cells(scene, rows[table, scene])))
    return "\n".join(lines)


def _cells(scene: str, pooled: Pooled) -> list[str]:
    return [
        scene,
        str(pooled.exact.total),
        _with_interval(pooled.exact),
        _share(pooled.top.value),
        _share(pooled.bottom.value),
        _share(pooled.pitch_classes.value),
        _share(pooled.note_f1),
        "-" if pooled.onset_error_ms is None else f"{pooled.onset_error_ms:.1f}",
        _share(pooled.velocity_rank),
        f"{pooled.false_attacks_per_s:.3f}",
        _of(pooled.root),
        _of(pooled.family),
        _of(pooled.trusted_exact),
        _share(pooled.coverage.value) if pooled.trusted_exact.total else "-",
    ]


def quiet_table(false_per_s: dict[str, dict[str, float]], seconds: float) -> str:
    """False attacks a second where nobody plays: rows listeners, columns kinds of quiet."""
    kinds = list(next(iter(false_per_s.values())))
    lines = [
        _line([f"false attacks per s, {seconds:.0f} s each", *kinds]),
        _line(["---", *["---:"] * len(kinds)]),
    ]
    for listener, row in false_per_s.items():
        lines.append(_line([listener, *[f"{row[kind]:.3f}" for kind in kinds]]))
    return "\n".join(lines)


def trust_lines(rows: tuple[TrustRow, ...]) -> str:
    """The reliability table, with a bar that shows the share exact."""
    lines = [
        _line(("confidence", "attacks", "mean confidence", "exact", "")),
        _line(("---", "---:", "---:", "---:", "---")),
    ]
    for row in rows:
        bar = "" if row.exact is None else "#" * round(20 * row.exact)
        lines.append(
            _line(
                (
                    f"{row.low:.2f} to {row.high:.2f}",
                    str(row.count),
                    _share(row.mean_confidence),
                    _share(row.exact),
                    f"`{bar:<20}`",
                )
            )
        )
    return "\n".join(lines)


def _line(cells: object) -> str:
    return "| " + " | ".join(cells) + " |"  # type: ignore[arg-type]


def _share(value: float | None) -> str:
    return "-" if value is None else f"{value:.3f}"


def _of(rate: Rate) -> str:
    return "-" if rate.value is None else f"{rate.value:.3f}"


def _with_interval(rate: Rate) -> str:
    if rate.value is None or rate.interval is None:
        return "-"
    low, high = rate.interval
    return f"{rate.value:.3f} ({low:.3f} to {high:.3f})"
