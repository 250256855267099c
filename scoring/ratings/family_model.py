"""What the records of a family say of a machine of a size: its rating, its mass, its reach, and how sure that is."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from typing import TYPE_CHECKING, Any

from numpy.typing import ArrayLike

from evener.scoring.ratings.columns import Quantity
from evener.scoring.ratings.lines.level import Aside, Level
from evener.scoring.ratings.quantity_model import QuantityModel

if TYPE_CHECKING:
    from evener.scoring.core.setting import Library


@dataclass(frozen=True)
class FamilyModel:
    """Rating, mass and reach of one family, fitted together.

    Attributes
    ----------
    family : its name
    quantities : the model of each quantity that enough records state
    correlation : of what two quantities of one machine deviate by, by their names in one order [1]
    missing : per quantity without a model, why
    """

    family: str
    quantities: Mapping[Quantity, QuantityModel]
    correlation: Mapping[tuple[Quantity, Quantity], float]
    missing: Mapping[Quantity, str]

    def to_rows(self) -> list[dict[str, Any]]:
        """Return one plain row per quantity, nested values as JSON text; `from_rows` reads them back."""
        rows = []
        for quantity, model in self.quantities.items():
            row: dict[str, Any] = {"family": self.family, "quantity": quantity}
            told = asdict(model)
            told["correlation"] = {
                other: value
                for pair, value in self.correlation.items()
                for other in pair
                if quantity == pair[0] != other
            }
            for name, value in told.items():
                plain = isinstance(value, str | int | float)
                row[name] = value if plain else json.dumps(_without_nan(value))
            rows.append(row)
        return rows

    @staticmethod
    def from_rows(rows: Sequence[Mapping[str, Any]]) -> FamilyModel:
        """Return the model of one family from its rows.

        Parameters
        ----------
        rows : from `to_rows`, one per quantity

        Raises
        ------
        ValueError
            There is no row, or the rows are of several families.
        """
        if len({row["family"] for row in rows}) != 1:
            raise ValueError("a family's model is read from the rows of exactly one family")
        models: dict[Quantity, QuantityModel] = {}
        correlation: dict[tuple[Quantity, Quantity], float] = {}
        for row in rows:
            told = {name: _read(name, row[name]) for name in _FIELDS}
            told["aside"] = tuple(
                Aside(one["record"], one["reason"], math.nan if one["factor"] is None else one["factor"])
                for one in told["aside"]
            )
            models[row["quantity"]] = QuantityModel(**told)
            correlation |= {(row["quantity"], other): value for other, value in json.loads(row["correlation"]).items()}
        return FamilyModel(rows[0]["family"], models, correlation, {})


_FIELDS = tuple(field.name for field in fields(QuantityModel))
_LISTS = {
    *("variables", "centres", "coefficients", "covariance", "second", "lows", "highs", "aside"),
    *("builds", "duties", "build_shares", "duty_shares"),
}
_MAPS = {"groups", "group_errors", "group_spreads", "errors"}


def _read(name: str, value: Any) -> Any:
    if name in _MAPS:
        return json.loads(value)
    if name in _LISTS:
        read = json.loads(value)
        return tuple(read) if isinstance(read, list) else read
    return value


def _without_nan(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _without_nan(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_without_nan(one) for one in value]
    return None if isinstance(value, float) and math.isnan(value) else value


def predict(
    model: FamilyModel,
    sizes: Sequence[ArrayLike | None],
    build: str | None = None,
    duty: str | None = None,
    *,
    quantity: Quantity = "power",
) -> Level | None:
    """Return the rating of a machine of a size, or None where too few records state one.

    Parameters
    ----------
    model : of the family
    sizes : the first size, and the second or None [SI unit of each variable]
    build, duty : as records say them; None where not said
    quantity : power, tractor, mass or reach
    """
    found = model.quantities.get(quantity)
    return None if found is None else found.level(sizes, build=build, duty=duty)


def predict_mass(
    model: FamilyModel, sizes: Sequence[ArrayLike | None], build: str | None = None, duty: str | None = None
) -> Level | None:
    """Return the mass of a machine of a size, or None where too few records state one [ln kg]."""
    return predict(model, sizes, build, duty, quantity="mass")


def predict_reach(
    model: FamilyModel, sizes: Sequence[ArrayLike | None], build: str | None = None, duty: str | None = None
) -> Level | None:
    """Return how far behind the hitch the centre of mass lies, or None where too few records state it [ln m]."""
    return predict(model, sizes, build, duty, quantity="reach")


def model_of(library: Library, family: str) -> FamilyModel | None:
    """Return the model of a family, or None where too few of its records state anything.

    Parameters
    ----------
    library : the records and tables of a store
    family : its name
    """
    rows = library.models.get(family)
    return library.once("rating model", family, lambda: FamilyModel.from_rows(rows)) if rows else None
