"""What all charts share: the library's settings, size, legend, and how series look.

Series differ by hatch and lightness, so that nothing depends on colour. A chart is as wide as a
phone; its sizes are in points of that width.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from bot.figures.svg import EDGE, FILLS, INK

WIDTH = 300
LETTER = 6.1
"""How wide a letter is, about."""
SIZE = 11
ROW = 34
HATCHES = ("", "////", "||", "\\\\\\\\", "xxxx", "----")
LABEL = 47
"""Letters of a label; the table has the whole."""


@contextmanager
def settings(id: str) -> Iterator[None]:
    """Settings under which nothing of the machine or of the clock gets into the file."""
    import matplotlib

    with matplotlib.rc_context(
        {
            "svg.fonttype": "none",
            "svg.hashsalt": id,
            "font.family": "DejaVu Sans",
            "font.size": SIZE,
            "hatch.linewidth": 1.0,
            "text.color": INK,
            "axes.edgecolor": EDGE,
            "xtick.color": INK,
            "ytick.color": INK,
            "lines.linewidth": 1.5,
        }
    ):
        yield


def blank(height: float, left: float, right: float, top: float, bottom: float) -> tuple[Any, Any]:
    """A figure with one plot in it; margins in points. Nothing is drawn behind it."""
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    figure = Figure(figsize=(WIDTH / 72, height / 72), dpi=72)
    FigureCanvasSVG(figure)
    figure.patch.set_visible(False)
    inner = (WIDTH - left - right) / WIDTH, (height - top - bottom) / height
    axes = figure.add_axes([left / WIDTH, bottom / height, *inner])
    axes.patch.set_visible(False)
    for side in ("top", "right", "left", "bottom"):
        axes.spines[side].set_visible(False)
    axes.tick_params(length=0, labelsize=SIZE - 1)
    return figure, axes


def label(text: str) -> str:
    """A text cut to fit, which the library takes for no formula."""
    cut = text if len(text) <= LABEL else text[: LABEL - 1].rstrip() + "…"
    return cut.replace("$", r"\$")


def legend_height(names: list[str]) -> float:
    """Points a legend takes; a single series has none."""
    return 0.0 if len(names) < 2 else 17.0 * len(names) + 4


def legend(figure: Any, handles: list[Any], names: list[str]) -> None:
    """What the hatches or markers mean, one to a line, in the order in which they are drawn."""
    if len(names) > 1:
        figure.legend(
            handles,
            [label(n) for n in names],
            loc="upper left",
            bbox_to_anchor=(0, 1),
            borderaxespad=0,
            borderpad=0.2,
            frameon=False,
            handlelength=2.2,
            handleheight=1.1,
            labelspacing=0.35,
        )


def style(number: int) -> dict[str, Any]:
    """How the bars of a series look."""
    return {
        "color": FILLS[number % len(FILLS)],
        "hatch": HATCHES[number % len(HATCHES)],
        "edgecolor": EDGE,
        "linewidth": 0.8,
    }


def keys(count: int) -> list[Any]:
    """Patches for the legend."""
    from matplotlib.patches import Patch

    made = []
    for number in range(count):
        look = style(number)
        look["facecolor"] = look.pop("color")
        made.append(Patch(**look))
    return made
