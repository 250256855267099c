"""`evener judge`: an analyst's word on a record, which every fit obeys."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from evener.cli.options import Format, Judgement
from evener.cli.output import render
from evener.cli.store.opened import opened
from evener.ingest.store.judging import OWNER, CannotJudge, judge
from evener.results import families
from evener.schema import former_ids
from evener.schema.store import connection as store_module
from evener.scoring.core.printing import Units, show
from evener.scoring.ratings.columns import FIELDS, UNITS, Quantity
from evener.scoring.ratings.family_model import predict
from evener.scoring.ratings.fitting import fit_family
from evener.scoring.ratings.sizes import size_of

NAMES: Mapping[Quantity, str] = {"power": "PTO power", "tractor": "tractor power", "mass": "mass"}


def run(
    implement: str,
    verdict: Judgement,
    *,
    why: str,
    corrections: Sequence[str],
    by_whom: str | None,
    output: Format,
    store: Path | None,
) -> int:
    """Keep a verdict and say how to take it back; return 0."""
    from evener.scoring.ratings.refresh import refresh

    given = {}
    for pair in corrections:
        name, equals, value = pair.partition("=")
        if not equals:
            raise CannotJudge(f"--set {pair!r} has no value: write --set FIELD=VALUE, as rated_pto_power='45 kW'.")
        given[name.strip()] = value.strip()
    path = opened(store).path
    before = _levels(path, implement)
    word = verdict.value.replace("-", "_")
    report = judge(path, implement, word, why=why, corrections=given, by_whom=by_whom or OWNER, after=refresh)
    after = _levels(path, implement)
    moved = [
        {"quantity": name, "unit": UNITS[name], "before": before[name], "after": after[name]}
        for name in NAMES
        if name in before and name in after
    ]
    answer = {"schema": 1, "implement_id": implement, "verdict": word, "batch_id": report.batch_id, "moved": moved}
    if output is Format.json:
        render.json_out(answer)
    elif output is Format.csv:
        render.csv_out([{**answer, "moved": "; ".join(_moved(one, "si") for one in moved)}])
    else:
        page = render.Page(markdown=output is Format.markdown)
        stood = "stood so already" if report.unchanged and not report.loaded else "is kept"
        page.title(f"{implement} is {verdict.value}: the verdict {stood}")
        page.facts([("why", why), *(("moved", f"machines of its size: {_moved(one, 'us')}") for one in moved)])
        page.facts([("take back", f"evener undo {report.batch_id}")])
        page.show()
    return 0


def _levels(path: Path, implement: str) -> dict[Quantity, float]:
    """Return what its family's model gives for a machine of its size; nothing for a record that is not there."""
    with store_module.open_read(path) as con:
        every = {one.implement_id: one for one in store_module.read_implements(con)}
    record = every.get(former_ids.found(implement, every))
    if record is None:
        return {}
    _, columns = families.columns(path, record.family)
    model, sizes = fit_family(columns), [size_of(record, name) for name in columns.variables]
    found = {name: predict(model, sizes, None, None, quantity=name) for name in NAMES if name in model.quantities}
    return {name: float(level.middle[0]) for name, level in found.items() if level is not None}


def _moved(one: Mapping[str, Any], units: Units) -> str:
    before, after = (show(one[key], one["unit"], units, FIELDS[one["quantity"]]) for key in ("before", "after"))
    name = NAMES[one["quantity"]]
    return f"{name} stays {after}" if before == after else f"{name} {before} before, {after} now"
