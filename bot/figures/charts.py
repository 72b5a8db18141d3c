"""Draws charts as SVG: the same bytes for the same figures, with letters kept as letters."""

from __future__ import annotations

import io
import warnings
from threading import Lock
from typing import Any

from bot.figures.canvas import (
    LETTER,
    ROW,
    SIZE,
    blank,
    keys,
    label,
    legend,
    legend_height,
    settings,
    style,
)
from bot.figures.figure import Bars, Chart, Columns, Pairs
from bot.figures.svg import EDGE, FILLS, INK, LINE, PAPER

LOCK = Lock()
"""The library's settings are the process's, so one chart is drawn at a time."""


def svg(chart: Chart, id: str) -> str:
    """The chart as the library writes it; `bot.figures.svg.cleaned` makes it fit for a page."""
    with LOCK, settings(id):
        if isinstance(chart, Bars):
            drawn = bars(chart)
        elif isinstance(chart, Columns):
            drawn = columns(chart)
        else:
            drawn = pairs(chart)
        out = io.StringIO()
        with warnings.catch_warnings():
            # A letter the measuring font lacks; the reader's own font draws it.
            warnings.filterwarnings("ignore", message="Glyph")
            drawn.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
        return out.getvalue()


def bars(chart: Bars) -> Any:
    """Bars that lie: the label above, the number at the end."""
    names = [name for name, _ in chart.series]
    top, bottom = legend_height(names), 20.0
    grouped = chart.grouped and len(names) > 1
    row = ROW + (14 * (len(names) - 1) if grouped else 0)
    notes = chart.notes if not grouped else tuple(f"{max(v):,.0f}" for _, v in chart.series)
    right = LETTER * max(map(len, notes)) + 8
    count = len(chart.labels)
    figure, axes = blank(row * count + top + bottom, 1, right, top, bottom)
    ends = [[values[n] for _, values in chart.series] for n in range(count)]
    widest = max(max(e) if grouped else sum(e) for e in ends) or 1
    axes.set_xlim(0, widest)
    axes.set_ylim(row * count, 0)
    axes.set_xticks([])
    axes.set_yticks([])
    for n, text in enumerate(chart.labels):
        axes.annotate(label(text), (0, row * n + 13), va="baseline", annotation_clip=False)
    starts = [0.0] * count
    for number, (_, values) in enumerate(chart.series):
        for n, value in enumerate(values):
            y = row * n + 18 + (14 * number if grouped else 0)
            if value:
                axes.barh(y, value, 12, starts[n], align="edge", clip_on=False, **style(number))
            if grouped:
                note(axes, value, y, f"{value:,.0f}")
            else:
                starts[n] += value
    for n, text in enumerate(chart.notes if not grouped else ()):
        note(axes, starts[n], row * n + 18, text)
    axes.annotate(label(chart.unit), (0, row * count + 14), annotation_clip=False, size=SIZE - 1)
    legend(figure, keys(len(names)), names)
    return figure


def note(axes: Any, value: float, y: float, text: str) -> None:
    """What stands at the end of a bar."""
    axes.annotate(
        label(text),
        (value, y + 10),
        (5, 0),
        textcoords="offset points",
        va="baseline",
        annotation_clip=False,
        size=SIZE - 0.5,
    )


def columns(chart: Columns) -> Any:
    """Bars that stand, one to a day or week."""
    from matplotlib.ticker import MaxNLocator

    names = [name for name, _ in chart.series]
    top, count = legend_height(names) + 14, len(chart.labels)
    totals = [sum(values[n] for _, values in chart.series) for n in range(count)]
    highest = max(totals) or 1
    left = LETTER * len(f"{highest:,}") + 10
    figure, axes = blank(200 + top, left, 4, top, 34)
    axes.set_xlim(-0.6, count - 0.4)
    axes.set_ylim(0, highest * 1.04)
    axes.yaxis.set_major_locator(MaxNLocator(4, integer=True))
    axes.yaxis.set_major_formatter(lambda value, _: f"{value:,.0f}")
    axes.grid(axis="y", color=LINE, linewidth=0.8)
    axes.set_axisbelow(True)
    starts = [0] * count
    for number, (_, values) in enumerate(chart.series):
        for n, value in enumerate(values):
            if value:
                axes.bar(n, value, 0.8, starts[n], **style(number))
                starts[n] += value
    if count <= 10:
        for n, total in enumerate(totals):
            axes.annotate(
                f"{total:,}",
                (n, total),
                (0, 2),
                textcoords="offset points",
                ha="center",
                size=SIZE - 1,
                annotation_clip=False,
            )
    ticks = list(range(0, count, -(-count // 4)))
    axes.set_xticks(ticks)
    axes.set_xticklabels([label(chart.labels[n]) for n in ticks])
    axes.axhline(0, color=EDGE, linewidth=1)
    axes.annotate(
        label(chart.unit),
        (0, 0),
        (1, 3),
        xycoords="figure points",
        textcoords="offset points",
        size=SIZE - 1,
        annotation_clip=False,
    )
    legend(figure, keys(len(names)), names)
    return figure


def pairs(chart: Pairs) -> Any:
    """Shares before (a ring) and after (a square), each on the line of its interval."""
    from matplotlib.lines import Line2D

    looks: tuple[dict[str, Any], ...] = (
        {"marker": "o", "markersize": 7, "markerfacecolor": PAPER},
        {"marker": "s", "markersize": 6, "markerfacecolor": FILLS[0]},
    )
    ink = {"color": INK, "markeredgecolor": INK, "markeredgewidth": 1.5}
    names = ["Before", "After"]
    top, bottom, count = legend_height(names), 24.0, len(chart.labels)
    row = ROW + 6
    figure, axes = blank(row * count + top + bottom, 6, 20, top, bottom)
    axes.set_xlim(0, 1)
    axes.set_ylim(row * count, 0)
    axes.set_yticks([])
    axes.set_xticks([0, 0.25, 0.5, 0.75, 1])
    axes.set_xticklabels(["0", "25%", "50%", "75%", "100%"])
    axes.grid(axis="x", color=LINE, linewidth=0.8)
    axes.set_axisbelow(True)
    for n, text in enumerate(chart.labels):
        axes.annotate(
            label(text),
            (0, row * n + 13),
            (3, 0),
            textcoords="offset points",
            va="baseline",
            annotation_clip=False,
        )
        for side, told in enumerate((chart.before[n], chart.after[n])):
            y = row * n + 21 + 11 * side
            if told is None:
                axes.annotate(
                    "none", (0, y + 4), va="baseline", annotation_clip=False, size=SIZE - 1
                )
                continue
            value, low, high = told
            spread = [[max(0.0, value - low)], [max(0.0, high - value)]]
            axes.errorbar(
                [value],
                [y],
                xerr=spread,
                linestyle="none",
                capsize=3,
                clip_on=False,
                ecolor=INK,
                **looks[side],
                **ink,
            )
    legend(figure, [Line2D([], [], linestyle="-", **look, **ink) for look in looks], names)
    return figure
