"""An answer handed over: on the screen, as Markdown, or as one HTML file that prints and asks for nothing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from evener.cli.output import render
from evener.cli.page.printed import Printed
from evener.cli.page.writing import printed_html
from evener.enquiry.refused import WrongUse
from evener.writing import check_target, write

HTML = "html"


def check(output: str, out: Path | None, store: Path, *, replace: bool) -> None:
    """Refuse what cannot be handed over before anything is worked out.

    Raises
    ------
    evener.WrongUse
        HTML without a file, or a file for what is printed.
    """
    if output == HTML and out is None:
        raise WrongUse("out: HTML is written to a file, and none is named; type --out FILE.html")
    if out is not None and output != HTML:
        raise WrongUse("out is for --format html; the screen can be sent to a file with >")
    if out is not None:
        check_target(out, store, replace=replace)


def hand(
    fill: Callable[[render.Page], None], output: str, out: Path | None, store: Path, *, over: str, replace: bool
) -> None:
    """Fill a page and show it, or write it.

    Parameters
    ----------
    fill : puts on a page what there is to say
    output, out, replace : how and where it is written, as `check` has seen them
    store : the store, which no page may stand on
    over : what kind of page it is, above its title on paper
    """
    if output == HTML and out is not None:
        page = Printed()
        fill(page)
        write(out, printed_html(page, over), store, replace=replace)
        render.complain(f"wrote {out}")
        return
    screen = render.Page(markdown=output == "markdown")
    fill(screen)
    screen.show()
