"""`evener shed`: what is missing, double or impossible in a shed, before anything is computed."""

from __future__ import annotations

from typing import Any

from evener.cli.options import Format, Output, Store
from evener.cli.output import render
from evener.cli.shed.opening import ShedFolder
from evener.cli.store.opened import opened


def run(shed: ShedFolder, output: Output = Format.table, store: Store = None) -> int:
    """Check a shed: every mistake of its file, sheets and lists, and what each member has."""
    answer = opened(store).open_shed(shed).check()
    if output is Format.json:
        render.json_out(answer.to_dict())
    elif output is Format.csv:
        render.csv_out(answer.rows(), ("id", "row", "column", "raw", "message", "remedy"))
    else:
        _page(answer.to_dict(), markdown=output is Format.markdown)
    if answer.refused:
        return 2
    return 1 if answer.findings else 0


def _page(answer: dict[str, Any], *, markdown: bool) -> None:
    page = render.Page(markdown=markdown)
    count = len(answer["findings"])
    said = f"{count} thing{'s' if count > 1 else ''} to look at" if count else "nothing wrong"
    page.title(f"{answer['shed']}: {said}")
    if answer["refused"]:
        page.lead("Nothing can be planned until these are put right.")
    if answer["findings"]:
        page.table(
            ["line", "what is wrong", "what to do"],
            [[str(one["row"] or ""), one["message"], one["remedy"]] for one in answer["findings"]],
            right={0},
        )
    if answer["members"]:
        page.heading("Members")
        page.table(
            ["member", "tractors", "machines", "drivers", "tasks", "windows", "owed h"],
            [
                [
                    one["member"],
                    *(str(one[key]) for key in ("tractors", "machines", "drivers", "tasks", "windows")),
                    f"{one['hours_owed']:g}",
                ]
                for one in answer["members"]
            ],
            right={1, 2, 3, 4, 5, 6},
        )
    if answer["lending"]:
        page.heading("Lending")
        page.table(
            ["what", "whose", "limit", "from", "to", "said by"],
            [
                [
                    one["thing"],
                    one["owner"] or "",
                    one["rule"],
                    one["first"] or "",
                    one["last"] or "",
                    one["words"] or "the shed file",
                ]
                for one in answer["lending"]
            ],
        )
    page.show()
