"""`evener judge`: an analyst's word on a record, which every fit obeys."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from evener.cli.options import Format, Judgement
from evener.cli.output import render
from evener.cli.store.opened import opened
from evener.ingest.store.judging import OWNER, CannotJudge, judge


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
    word = verdict.value.replace("-", "_")
    report = judge(path, implement, word, why=why, corrections=given, by_whom=by_whom or OWNER, after=refresh)
    answer = {"schema": 1, "implement_id": implement, "verdict": word, "batch_id": report.batch_id}
    if output is Format.json:
        render.json_out(answer)
    elif output is Format.csv:
        render.csv_out([answer])
    else:
        page = render.Page(markdown=output is Format.markdown)
        stood = "stood so already" if report.unchanged and not report.loaded else "is kept"
        page.title(f"{implement} is {verdict.value}: the verdict {stood}")
        page.facts([("why", why), ("take back", f"evener undo {report.batch_id}")])
        page.show()
    return 0
