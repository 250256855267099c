"""The plots of a family's card: the line with its bands, residuals by size, residuals against a normal's quantiles."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from evener.scoring.ratings.card import Card
from evener.scoring.ratings.columns import UNITS

INK, BAND = "#222222", "#D9D9D9"


def draw_card(card: Card, folder: Path) -> Path:
    """Draw the three plots of a card into one file, and return it.

    Parameters
    ----------
    card : the card
    folder : where the file goes; it is made when it is missing

    Raises
    ------
    OSError
        If the folder cannot be made or written.
    """
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{card.family}_{card.model.quantity}.svg"
    path.write_text(svg(card), encoding="utf-8", newline="\n")
    return path


def svg(card: Card) -> str:
    """Return the three plots of a card as one SVG picture.

    Parameters
    ----------
    card : the card
    """
    import io

    from matplotlib import rc_context
    from matplotlib.figure import Figure
    from scipy.special import ndtri

    drawn = io.StringIO()
    with rc_context({"svg.hashsalt": "card", "svg.fonttype": "none", "text.parse_math": False, "font.size": 9}):
        figure = Figure(figsize=(9.6, 3.4), layout="constrained")
        line, spread, quantiles = figure.subplots(1, 3)
        low, high = card.band.interval()
        mean_low, mean_high = card.band.interval(of_one=False)
        line.fill_between(card.band_sizes, low, high, color=BAND, lw=0, label="95 of 100 machines")
        for end in (mean_low, mean_high):
            line.plot(card.band_sizes, end, color=INK, lw=0.6, ls=":")
        line.plot(card.band_sizes, card.band.middle, color=INK, lw=1.6, label=card.model.form)
        name = card.model.variables[0] if card.model.variables else "nothing"
        line.set(xlabel=name, ylabel=f"{card.model.quantity} [{UNITS[card.model.quantity]}]")
        line.legend(fontsize=7, frameon=False)
        spread.scatter(card.logs, card.residuals, s=14, facecolors="none", edgecolors=INK, linewidths=0.8)
        spread.axhline(0, color=INK, lw=0.6)
        spread.set(xlabel="ln of size over its centre", ylabel="residual in spreads")
        ordered = np.sort(card.residuals)
        normal = ndtri((np.arange(1, ordered.size + 1) - 0.5) / ordered.size)
        quantiles.plot(normal, normal, color=INK, lw=0.6)
        quantiles.scatter(normal, ordered, s=14, facecolors="none", edgecolors=INK, linewidths=0.8)
        quantiles.set(xlabel="quantile of a normal", ylabel="residual in spreads")
        figure.savefig(drawn, format="svg", metadata={"Date": None, "Creator": None})
    return drawn.getvalue()
