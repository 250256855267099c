"""`evener method`: every formula with its source, validity, and whether an outside check holds it."""

from __future__ import annotations

from typing import Any

from evener.cli.options import Format, Output
from evener.cli.output import render
from evener.cli.output.markdown import Marked, inert

INTRODUCTION = Marked(
    "Every formula the sizing rests on, as the code holds it. `held by` names the printed examples that fail when the "
    "formula is 10 % off; a dash means that no outside example holds it. A number outside its range is refused."
)


def run(output: Output = Format.table) -> int:
    """List every formula: equation, source, status, validity, and the printed examples that hold it."""
    from evener.results.tables import methods

    found = methods()
    if output is Format.json:
        render.json_out(found.to_dict())
    elif output is Format.csv:
        render.csv_out(found.rows())
    else:
        _page(found.to_dict()["methods"], markdown=output is Format.markdown)
    return 0


def _page(found: list[dict[str, Any]], *, markdown: bool) -> None:
    page = render.Page(markdown=markdown)
    held = sum(bool(one["checks"]) for one in found)
    page.title("Methods")
    page.lead(f"{len(found)} formulas, {held} of them held by printed examples.")
    page.bullets([INTRODUCTION])
    for chapter in dict.fromkeys(one["formula_id"].partition(".")[0] for one in found):
        page.heading(chapter.replace("_", " "))
        page.table(
            ["formula", "equation", "source", "status", "valid", "held by"],
            [
                [
                    Marked(f"`{one['formula_id']}` {inert(one['title'])}")
                    if markdown
                    else one["formula_id"].partition(".")[2],
                    one["equation"],
                    f"{one['source']}: {one['clause']}" if markdown and one["clause"] else one["source"],
                    one["status"],
                    one["valid"],
                    ", ".join(one["checks"]) or "-",
                ]
                for one in found
                if one["formula_id"].partition(".")[0] == chapter
            ],
        )
    page.show()
