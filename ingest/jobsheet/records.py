"""From the checked sections of a job sheet to the records the scoring reads."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Any

from evener.ingest.jobsheet.bales import Bale
from evener.ingest.jobsheet.rules import Section
from evener.ingest.jobsheet.values import Build
from evener.schema.records import LandUse, Machine, OwnedMachine, Place, Quantity, Task, Tractor

NOT_STATED = Quantity(None, None, "unknown")
SAID = "customer"
SAID_BY = ", as the customer says"


def place(section: Section, land: Sequence[Section]) -> Place:
    """Return the place; a slope that is not stated is not known, rather than level."""
    uses = tuple(LandUse(**one.fields) for one in land)
    return Place(**{"slope": NOT_STATED, **section.fields, "land": uses})


def machine(section: Section, *, line: int) -> Machine:
    """Return one implement of the place, with the line on which it begins."""
    return Machine(**_built(section), line=line)


def task(section: Section, machines: Sequence[Machine], *, line: int) -> Task:
    """Return one task, with the line on which it begins; what it does not say itself it takes from its machine."""
    fields = _built(section)
    planned = fields.pop("when", "now") == "planned"
    own = next((one for one in machines if one.name == fields.get("machine")), None)
    if own is not None:
        fields = _of_machine(own) | fields
    return Task(**fields, planned=planned, line=line)


def _built(section: Section) -> dict[str, Any]:
    """Return a section's fields with bale and build taken apart."""
    stated: dict[str, Any] = dict(section.fields)
    bale: Bale | None = stated.pop("bale", None)
    if bale is not None:
        stated.update(bale.fields(stated["family"]))
    build: Build | None = stated.pop("build", None)
    if build is not None:
        stated.update(attachment=build.attachment, build=build.kind, duty=build.duty)
    return stated


def _of_machine(own: Machine) -> dict[str, Any]:
    return {one.name: getattr(own, one.name) for one in dataclasses.fields(own) if one.name not in {"name", "line"}}


def tractor(section: Section, number: int, *, line: int) -> OwnedMachine:
    """Return one tractor the customer has; one described in the sheet becomes a tractor record of its own.

    A number given as a range or as about is taken at its middle and marked estimated.
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
            key: f"{value.text}{SAID_BY}"
            for key, value in fields.items()
            if isinstance(value, Quantity) and value.given in {"about", "range"}
        }
        tractor = Tractor(f"owned-{number}", "member", label, **stated, estimated=estimated, source_id=SAID)
    return OwnedMachine(label=label, **names, takes=takes, tractor=tractor, line=line)
