"""From the checked sections of a job sheet to the records the scoring reads."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from evener.ingest.jobsheet.bales import Bale
from evener.ingest.jobsheet.rules import Section
from evener.schema.records import LandUse, OwnedMachine, Place, Quantity, Task, Tractor

NOT_STATED = Quantity(None, None, "unknown")
SAID = "customer"


def place(section: Section, land: Sequence[Section]) -> Place:
    """Return the place; a slope that is not stated is not known, rather than level."""
    uses = tuple(LandUse(one.fields["use"], one.fields["area_ha"]) for one in land)
    return Place(**{"slope": NOT_STATED, **section.fields, "land": uses})


def task(section: Section, *, line: int) -> Task:
    """Return one task, with the line on which it begins."""
    fields: dict[str, Any] = dict(section.fields)
    planned = fields.pop("when", "now") == "planned"
    bale: Bale | None = fields.pop("bale", None)
    if bale is not None:
        fields.update(bale.fields(fields["family"]))
    return Task(**fields, planned=planned, line=line)


def machine(section: Section, number: int, *, line: int) -> OwnedMachine:
    """Return one machine the customer has; one described in the sheet becomes a tractor record of its own.

    A number given as a range or as about is taken at its middle and keeps its ends as its certainty.
    """
    fields: dict[str, Any] = dict(section.fields)
    names = {key: fields.pop(key, None) for key in ("label", "tractor_id", "implement_id")}
    label = names.pop("label") or " with ".join(filter(None, names.values()))
    takes = fields.pop("takes", ())
    tractor = None
    if fields:
        stated: dict[str, Any] = {
            key: value.middle if isinstance(value, Quantity) else value for key, value in fields.items()
        }
        estimated = {
            key: value.certainty
            for key, value in fields.items()
            if isinstance(value, Quantity) and value.given in {"about", "range"}
        }
        tractor = Tractor(f"owned-{number}", "member", label, **stated, estimated=estimated, source_id=SAID)
    return OwnedMachine(label=label, **names, takes=takes, tractor=tractor, line=line)
