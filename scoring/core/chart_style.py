"""One style for every chart: ink on paper, letters that stay text, the same file for the same data.

Every distinction is made twice, by shape or dash and by a colour that colour-blind eyes tell apart (M. Okabe and K.
Ito, Color Universal Design (2008)), so that charts can be read in print.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.figure import Figure

INK, BAND, PAPER = "#222222", "#D9D9D9", "#FFFFFF"
VERMILION, SKY, PURPLE, BLUE, GREEN, ORANGE = "#D55E00", "#56B4E9", "#CC79A7", "#0072B2", "#009E73", "#E69F00"


@contextmanager
def style(salt: str) -> Iterator[None]:
    """Draw in the style inside this block.

    Parameters
    ----------
    salt : what tells the ids inside one picture from those of another on the same page
    """
    from matplotlib import rc_context

    with rc_context({"svg.hashsalt": salt, "svg.fonttype": "none", "text.parse_math": False, "font.size": 9}):
        yield


def svg(figure: Figure) -> str:
    """Return a figure as an SVG picture that says neither when nor by what it was drawn."""
    drawn = io.StringIO()
    figure.savefig(drawn, format="svg", metadata={"Date": None, "Creator": None})
    return drawn.getvalue()


def inline(picture: str, *, alt: str, ids: str) -> str:
    """Return an SVG picture to stand inside a page: with a text alternative, and in the page's own ink.

    Parameters
    ----------
    picture : as `svg` returns it
    alt : what the chart says, in words; it must be escaped for XML
    ids : put before every id, so that two pictures of a page do not share one
    """
    whole = picture[picture.index("<svg") :]
    whole = re.sub(r"<metadata>.*?</metadata>\s*", "", whole, flags=re.DOTALL)
    whole = re.sub(r'\bid="([^"]+)"', rf'id="{ids}-\1"', whole)
    whole = re.sub(r'(href="#|url\(#)', rf"\g<1>{ids}-", whole)
    whole = re.sub(r"font: ([\d.]+px) [^;\"]*", r"font-size: \1", whole)
    whole = re.sub(r'^<svg [^>]*?viewBox="([^"]+)"[^>]*>', rf'<svg role="img" aria-label="{alt}" viewBox="\1">', whole)
    for colour, name in ((INK, "ink"), (BAND, "band"), (PAPER, "paper"), (BLUE, "mark")):
        whole = whole.replace(colour.lower(), f"var(--{name})")
    return whole
