"""A page written out: as one HTML file that needs nothing else, or as Markdown for a message."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from evener.cli.output import render
from evener.cli.page.second_side import HEADER

if TYPE_CHECKING:
    from evener.cli.page.content import Page
    from evener.cli.page.printed import Printed


def html(page: Page) -> str:
    """Return the page as HTML. Whatever a sheet or a list says is escaped; the charts alone are put in as they are."""
    return _filled("page.html", page=page, header=HEADER)


def printed_html(page: Printed, over: str) -> str:
    """Return a printed page as HTML; everything on it is escaped.

    Parameters
    ----------
    page : what stands on it
    over : what kind of page it is, above its title
    """
    return _filled("printed.html", page=page, over=over)


def _filled(template: str, **held: Any) -> str:
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    surroundings = Environment(
        loader=PackageLoader("evener.cli.page", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=lambda said: render.plain(said) if isinstance(said, str) and not isinstance(said, Markup) else said,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return surroundings.get_template(template).render(**held)


def markdown(page: Page) -> str:
    """Return the page as Markdown, without its charts: what they say stands in words."""
    written = render.Page(markdown=True)
    written.title(page.title)
    written.lead(page.land or page.day)
    for part in page.short:
        written.heading(part.heading)
        written.bullets(part.sentences)
    if page.chart is not None:
        written.heading("Which task is the tall one")
        written.bullets([page.chart.says, *([page.money.says] if page.money else [])])
    written.heading("Task by task")
    written.table(HEADER, page.tasks, right={3})
    for part in page.second:
        written.heading(part.heading)
        written.bullets(part.sentences)
    written.bullets([page.colophon])
    return written.text()
