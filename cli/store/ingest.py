"""`evener ingest`: files of tractors or implements into the store, and what was found in them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evener.cli.options import Format, Output, Store
from evener.cli.output import render
from evener.cli.store.opened import opened

if TYPE_CHECKING:
    from evener.ingest.findings import Finding
    from evener.ingest.store.batches import IngestReport
    from evener.results.batches import LoadedFile

_STANDARD_INPUT = "-"
_MOST_SHOWN = 40
_LONGEST_RAW = 40
_OWN = ("kind", "owner")


def run(
    files: Annotated[
        list[str],
        typer.Argument(metavar="FILE...", help="CSV, XLSX or Parquet; - for standard input.", show_default=False),
    ],
    record: Annotated[
        str, typer.Option("--as", metavar="KIND", help="What the rows are: tractors or implements.", show_default=False)
    ],
    owner: Annotated[str | None, typer.Option(help="Whose they are, where no column says.", show_default=False)] = None,
    kind: Annotated[str | None, typer.Option(help="Tractors only: stock, member or class.", show_default=False)] = None,
    mapping: Annotated[
        Path | None, typer.Option(metavar="FILE", help="What the columns mean, in TOML.", show_default=False)
    ] = None,
    sheet: Annotated[str | None, typer.Option(help="Sheet of a workbook.", show_default=False)] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Read and check only; show what columns mean.")] = False,
    write_mapping: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Save what the columns mean, to edit.", show_default=False)
    ] = None,
    output: Output = Format.table,
    store: Store = None,
) -> int:
    """Load spreadsheets of tractors or implements: good rows into the store, the others set apart with reasons."""
    from evener import lists
    from evener.ingest.files.readers import UnreadableFile
    from evener.results.batches import LoadedFiles

    name = lists.meant(record, owner=owner, kind=kind)
    if write_mapping is not None and len(files) > 1:
        render.complain("--write-mapping takes one file at a time")
        return 2
    if files.count(_STANDARD_INPUT) > 1:
        render.complain("standard input can be read once")
        return 2
    settled = lists.mapping_of(mapping, name)
    held = opened(store)
    loaded: list[LoadedFile] = []
    status = 0
    for file in files:
        try:
            one = held.ingest(
                file, record=record, owner=owner, kind=kind, mapping=settled, sheet=sheet, dry_run=dry_run
            )
        except UnreadableFile as error:
            render.complain(str(error))
            status = 2
            continue
        status = max(status, 1 if one.findings else 0)
        if write_mapping is not None and one.report.rows is not None:
            lists.write_mapping(one, settled, write_mapping, held.path)
            render.complain(f"the mapping is in {write_mapping}; edit it, and use it with --mapping")
        if output in (Format.table, Format.markdown):
            _page(one, markdown=output is Format.markdown)
        loaded.append(one)
    if output is Format.json and loaded:
        render.json_out(loaded[0].to_dict() if len(files) == 1 else LoadedFiles(tuple(loaded)).to_dict())
    elif output is Format.csv:
        render.csv_out(LoadedFiles(tuple(loaded)).rows())
    return status


def _page(one: LoadedFile, *, markdown: bool) -> None:
    page, report, dry_run = render.Page(markdown=markdown), one.report, one.dry_run
    record = report.rows.record if report.rows is not None else ""
    rows = f"{report.read} row{'' if report.read == 1 else 's'} of {record}s"
    page.title(f"{one.name}: {rows}" + ("; a dry run, nothing was changed" if dry_run else ""))
    unusable = report.rows is not None and report.rows.unusable
    page.facts(_facts(report, dry_run=dry_run) if not unusable else [("nothing", "is loaded until this is settled")])
    if dry_run or unusable:
        _mapping(page, report)
    _findings(page, report.findings)
    page.show()


def _facts(report: IngestReport, *, dry_run: bool) -> list[tuple[str, str]]:
    facts = [("loaded", str(report.loaded))]
    facts += [("unchanged", f"{report.unchanged}, as the store holds them")] if report.unchanged else []
    facts += [("superseded", f"{report.superseded}, the old versions kept")] if report.superseded else []
    if report.quarantined:
        hint = "" if dry_run else f"; to correct them: evener list quarantine --batch {report.batch_id} --format csv"
        facts.append(("refused", f"{report.quarantined}{hint}"))
    changed = report.loaded or report.superseded or report.quarantined
    if report.batch_id is not None and not dry_run:
        facts.append(
            ("ingest", f"{report.batch_id}; to take it back: evener undo {report.batch_id}")
            if changed
            else ("ingest", f"nothing new; {report.batch_id} loaded the same")
        )
    if report.rows is not None and not report.rows.unusable:
        facts.append(("read as", _read_as(report)))
    return facts


def _read_as(report: IngestReport) -> str:
    if report.rows is None:
        return ""
    setting = report.rows.setting
    mark = {".": "decimal points", ",": "decimal commas", "": "no settled decimal mark"}[setting.decimal]
    return f"{report.rows.table.encoding}, {mark}, {setting.measures} gallons and tons"


def _mapping(page: render.Page, report: IngestReport) -> None:
    if report.rows is None:
        return
    page.heading("What the columns mean")
    rows = []
    for one in report.rows.matches:
        column = report.rows.table.columns[one.position]
        example = next((text.strip() for text in column[:200] if text.strip()), "")
        implied = "".join(f", {word}" for word in one.implies.values())
        meaning = f"{one.field.name}{implied}" if one.field is not None else "not loaded"
        unit = one.unit or ("" if one.field is None or not one.field.is_measured else "in each cell")
        rows.append([one.header, meaning, unit, _cut(example)])
    given = [(name, getattr(report.rows, name)) for name in _OWN]
    rows += [[f"--{name}", name, "", value] for name, value in given if value]
    page.table(["heading", "field", "unit of bare numbers", "first cell"], rows)


def _findings(page: render.Page, findings: Sequence[Finding]) -> None:
    if not findings:
        return
    page.heading(f"{len(findings)} finding{'' if len(findings) == 1 else 's'}")
    page.table(
        ["line", "column", "found", "what is wrong", "what to do"],
        [[one.where, one.column or "", _cut(one.raw or ""), one.message, one.fix] for one in findings[:_MOST_SHOWN]],
        right={0},
    )
    rest = Counter(one.id for one in findings[_MOST_SHOWN:])
    if rest:
        counts = ", ".join(f"{count} {name}" for name, count in rest.most_common())
        page.bullets([f"and {sum(rest.values())} more: {counts}. All of them: --format csv"])


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST_RAW else f"{text[: _LONGEST_RAW - 3]}..."
