"""A report as HTML: the parts of a page, and one file that needs nothing else."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from bot import paths
from bot.figures.charts import svg
from bot.figures.figure import shown
from bot.figures.report import Report
from bot.figures.svg import cleaned
from rules.model import Book

TITLE = "What people ask"
STYLES = (paths.WEB / "figures.css", paths.WEB / "figures-saved.css")


@cache
def templates() -> Environment:
    """The templates beside this file."""
    made = Environment(
        loader=FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["shown"] = shown
    return made


def charts(report: Report) -> dict[str, Markup]:
    """Each figure's chart as an SVG element; empty where there is nothing to draw."""
    return {
        f.id: Markup(
            cleaned(
                svg(f.chart, f.id),
                f"chart-{f.id}",
                f.title,
                f"{f.summary} The table beside the chart has all numbers.",
            )
        )
        if f.chart
        else Markup("")
        for f in report.figures
    }


def about(report: Report) -> Markup:
    """Whose questions the report counts, as part of a page."""
    return Markup(templates().get_template("about.html").render(report=report))


def figures(report: Report) -> Markup:
    """All figures, as part of a page."""
    page = templates().get_template("figures.html")
    return Markup(page.render(report=report, charts=charts(report)))


def saved(report: Report, book: Book, figures: Markup) -> str:
    """The report as one file: no script, and nothing to fetch."""
    css = "".join(path.read_text(encoding="utf-8") for path in STYLES)
    return (
        templates()
        .get_template("saved.html")
        .render(
            title=TITLE,
            scheme=book.scheme.name,
            css=Markup(css),
            report=report,
            about=about(report),
            figures=figures,
        )
    )
