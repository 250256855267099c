"""What a page is made from: the ranking, the questions, the classes beside the pick, and the sources of its numbers."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from evener.cli.output.verdicts import NO_TRACTOR
from evener.ranking.ranking import Ranking, rank
from evener.results.explanation import explain
from evener.results.survey import ask
from evener.schema.records import Choice, Quantity

if TYPE_CHECKING:
    from evener.enquiry.enquiry import Enquiry
    from evener.schema.records import LandUse, Place, Task
    from evener.scoring.core.printing import Units

EVERY = 1000


@dataclass(frozen=True)
class Gathered:
    """The answers a page speaks of, in its units.

    Attributes
    ----------
    enquiry : the job and the records
    ranking : the answer
    units : of every number on the page
    """

    enquiry: Enquiry
    ranking: Ranking
    units: Units

    @cached_property
    def answer(self) -> Mapping[str, Any]:
        """The ranking's contract."""
        return self.ranking.to_dict(self.units)

    @property
    def choice(self) -> Mapping[str, Any] | None:
        """The choice with its money, where money is reckoned."""
        return self.answer.get("choice")

    @property
    def buys(self) -> bool:
        """Whether a tractor is the answer: not where all of it is hired."""
        said = self.answer["verdict"]
        return said is None or said["kind"] not in NO_TRACTOR

    @cached_property
    def survey(self) -> Mapping[str, Any]:
        """The contract of what is worth asking."""
        return ask(self.enquiry, units=self.units).to_dict()

    @cached_property
    def first(self) -> Mapping[str, Any] | None:
        """The tractor the page is about: the pick, else the first of the order."""
        rows = self.answer["tractors"]
        pick = self.choice["pick"]["tractor_id"] if self.choice else self.answer["pick"]
        return next((row for row in rows if row["tractor_id"] == pick), rows[0] if rows else None)

    @cached_property
    def beside(self) -> Mapping[str, Mapping[str, Any]]:
        """The generic sizes below and above with their margins, by the word for each."""
        whole = rank(replace(self.enquiry, among=("class",)), top=EVERY).to_dict(self.units)
        rows = {row["tractor_id"]: row for row in whole["tractors"]}
        steps = {name: self.answer["steps"][name] for name in ("below", "above")}
        return {name: rows[step["class"]] for name, step in steps.items() if step and step["class"] in rows}

    @cached_property
    def sources(self) -> tuple[tuple[str, str], ...]:
        """Ids of the sources that the first tractor's margins rest on, each with how well it is known."""
        if self.first is None:
            return ()
        said = explain(self.enquiry, self.first["tractor_id"])
        found: dict[tuple[str, str], None] = {}
        for one in said.tasks:
            for step in (*one.steps, *one.capacity_steps, *(step for part in one.estimates for step in part.steps)):
                found[step.source, step.status] = None
        return tuple(sorted(found))

    @cached_property
    def told(self) -> frozenset[str]:
        """What the sheet says in its own words, wherever it leaves something open."""
        job = self.enquiry.job
        parts: tuple[Place | LandUse | Task, ...] = (job.place, *job.place.land, *job.tasks)
        values = [getattr(part, one.name) for part in parts for one in fields(part)]
        return frozenset(one.text for one in values if isinstance(one, Quantity | Choice) and one.text)

    @cached_property
    def fingerprint(self) -> str:
        """What tells these records from any others: the start of a hash of all of them."""
        held = self.enquiry.holdings
        records = [*held.tractors, *held.library.implements.values(), *held.library.families.values()]
        whole = hashlib.sha256("\n".join(sorted(map(repr, records))).encode())
        return whole.hexdigest()[:12]
