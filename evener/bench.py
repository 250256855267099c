"""An analyst's calls on data frames: for a notebook, or a study of one's own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evener.enquiry.refused import WrongUse
from evener.opening import open_store
from evener.results import families
from evener.scoring.audit.auditing import BY
from evener.scoring.audit.frames import AuditFrames, audit_frame, records_of
from evener.scoring.ratings.card import Card, card, card_rows
from evener.scoring.ratings.columns import FIELDS, Quantity, from_records
from evener.store import Store

if TYPE_CHECKING:
    from pandas import DataFrame


@dataclass(frozen=True, repr=False)
class FamilyCard:
    """The model of one quantity of a family, as a notebook shows it.

    Attributes
    ----------
    card : coefficients, bands, checks and influence
    """

    card: Card

    def __repr__(self) -> str:
        model = self.card.model
        return f"FamilyCard({self.card.family}, {model.quantity}, n = {model.n}, {model.formula})"

    def to_dict(self) -> dict[str, Any]:
        """Return the keys of the JSON contract, in SI."""
        return self.card.to_dict()

    def to_frame(self) -> DataFrame:
        """Return one row per coefficient, with its standard error, n and the spread about the line."""
        import pandas as pd

        return pd.DataFrame([dict(row) for row in card_rows(self.card)])

    def bands(self) -> DataFrame:
        """Return what the model gives at sizes over its range: the mean, and 95 of 100 machines."""
        import pandas as pd

        return pd.DataFrame(self.card.to_dict()["bands"])

    def _repr_html_(self) -> str:
        from evener.scoring.ratings.card_plots import svg

        drawn = svg(self.card)
        return str(self.to_frame().to_html(index=False)) + drawn[drawn.index("<svg") :]


def audit(frame: DataFrame, *, by: Sequence[str] = BY, store: Store | str | Path | None = None) -> AuditFrames:
    """Audit the ratings in a data frame: flags, lines, groups and records come back as data frames.

    Parameters
    ----------
    frame : one row per record; columns by the nomenclature's names, in its units (`evener.fields`); `family` and
        `rated_pto_power_kw` at least. Without `implement_id` the index names the records
    by : what whole groups of records are compared by: any column of the frame
    store : a store or its path, whose families and published tables count; the usual one when left out

    Raises
    ------
    evener.WrongUse
        A column is missing, a name stands twice, a family is not known, or records cannot be grouped so.
    """
    held = _store(store).holdings.library
    try:
        return audit_frame(frame, held.families, by=by, reference=held.tables)
    except ValueError as error:
        raise WrongUse(str(error)) from None


def ratings(
    family: str,
    frame: DataFrame | None = None,
    *,
    quantity: Quantity = "power",
    store: Store | str | Path | None = None,
) -> FamilyCard:
    """Fit one quantity of a family, and return its card: a table and plots in a notebook.

    Parameters
    ----------
    family : its name, its label or another word for it
    frame : records, as `audit` takes them; the store's when left out
    quantity : power, tractor, mass or reach
    store : a store or its path; the usual one when left out

    Raises
    ------
    evener.WrongUse
        There is no such quantity, the frame is not one of records, or there are too few to fit.
    evener.StoreError
        There is no such family.
    """
    if quantity not in FIELDS:
        raise WrongUse(f"there is no quantity {quantity!r}. It is one of: {', '.join(FIELDS)}.")
    held = _store(store)
    kind, columns = families.columns(held.path, family)
    if frame is not None:
        try:
            records = records_of(frame, held.holdings.library.families)
        except ValueError as error:
            raise WrongUse(str(error)) from None
        columns = from_records(kind, [one for one in records if one.family == kind.family])
    found = card(columns, quantity)
    if isinstance(found, str):
        raise WrongUse(f"{kind.family} has no model of its {quantity}: {found}")
    return FamilyCard(found)


def _store(store: Store | str | Path | None) -> Store:
    return store if isinstance(store, Store) else open_store(store)
