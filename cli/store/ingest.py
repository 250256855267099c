"""`evener ingest`: files of tractors or implements into the store, and what was found in them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from evener.cli.options import Format, Output, Replace, Store
from evener.cli.output import render
from evener.cli.store.opened import opened
from evener.opening import location
from evener.writing import check_target

if TYPE_CHECKING:
    from evener.ingest.findings import Finding
    from evener.ingest.store.report import IngestReport
    from evener.ingest.store.snapshot import Difference
    from evener.results.batches import LoadedFile

_STANDARD_INPUT = "-"
_MOST_SHOWN = 40
_LONGEST_RAW = 40
# What a list may hold day after day without a person's looking at it.
_IN_NO_DOUBT = frozenset({"unknown-column", "no-heading", "no-name", "named-by-label"})
_OWN = ("kind", "owner")


def run(
    files: Annotated[
        list[str] | None,
        typer.Argument(metavar="FILE...", help="CSV, XLSX or Parquet; - for standard input.", show_default=False),
    ] = None,
    record: Annotated[
        str | None,
        typer.Option(
            "--as",
            metavar="KIND",
            help="What the rows are: tractors, implements, or machines for both.",
            show_default=False,
        ),
    ] = None,
    owner: Annotated[str | None, typer.Option(help="Whose they are, where no column says.", show_default=False)] = None,
    kind: Annotated[str | None, typer.Option(help="Tractors only: stock, member or class.", show_default=False)] = None,
    mapping: Annotated[
        Path | None, typer.Option(metavar="FILE", help="What the columns mean, in TOML.", show_default=False)
    ] = None,
    column: Annotated[
        list[str] | None,
        typer.Option(
            metavar="COLUMN=FIELD",
            help="What one column means, by heading or place: 'column C=mass_kg lb'; 'Bay=' leaves it out.",
            show_default=False,
        ),
    ] = None,
    sheet: Annotated[str | None, typer.Option(help="Sheet of a workbook to read.", show_default=False)] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Read and check only; show what columns mean.")] = False,
    whole_list: Annotated[
        bool, typer.Option("--whole-list", help="The list is all its owner has: what it does not name is gone.")
    ] = False,
    most_gone: Annotated[
        bool, typer.Option("--most-gone", help="With --whole-list: most of the owner's units are gone indeed.")
    ] = False,
    write_mapping: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Save what the columns mean, to edit.", show_default=False)
    ] = None,
    show_memory: Annotated[
        bool, typer.Option("--show-memory", help="Show how senders' lists were settled, and load nothing.")
    ] = False,
    forget: Annotated[
        bool, typer.Option("--forget", help="Forget how the lists of --owner were settled, and load nothing.")
    ] = False,
    replace: Replace = False,
    new_store: Annotated[
        bool, typer.Option("--new-store", help="Make a new store with the library, where --store says.")
    ] = False,
    output: Output = Format.table,
    store: Store = None,
) -> int:
    """Load spreadsheets of tractors or implements: good rows into the store, the others set apart with reasons."""
    from evener import lists
    from evener.ingest.files.readers import UnreadableFile
    from evener.results.batches import LoadedFiles

    if show_memory or forget:
        return _memory(opened(store).path, owner, forget=forget)
    if not files or record is None:
        render.complain("name the lists to load and what their rows are: evener ingest FILE --as tractors")
        return 2
    name = lists.meant(record, owner=owner, kind=kind)
    if write_mapping is not None and len(files) > 1:
        render.complain("--write-mapping takes one file at a time")
        return 2
    if new_store and dry_run:
        render.complain("--new-store goes with loading, and --dry-run changes nothing; leave one out")
        return 2
    if files.count(_STANDARD_INPUT) > 1:
        render.complain("standard input can be read once")
        return 2
    inputs = [*(Path(file) for file in files if file != _STANDARD_INPUT), *filter(None, [mapping])]
    if write_mapping is not None:
        check_target(write_mapping, location(store), inputs=inputs, replace=replace)
    settled = lists.mapping_of(mapping, name, column or ())
    held = opened(store, new=new_store)
    loaded: list[LoadedFile] = []
    status = 0
    for file in files:
        try:
            one = held.ingest(
                file,
                record=record,
                owner=owner,
                kind=kind,
                mapping=settled,
                sheet=sheet,
                dry_run=dry_run,
                whole_list="most gone" if whole_list and most_gone else whole_list,
            )
        except UnreadableFile as error:
            render.complain(str(error))
            status = 2
            continue
        asked = [finding for finding in one.findings if finding.asks]
        told = [finding for finding in asked if not whole_list or finding.id not in _IN_NO_DOUBT]
        status = max(status, 1 if told else 0)
        if write_mapping is not None and one.report.rows is not None:
            lists.write_mapping(one, settled, write_mapping, held.path, inputs=inputs, replace=replace)
            render.complain(f"the mapping is in {write_mapping}; edit it, and use it with --mapping")
        if output in (Format.table, Format.markdown):
            for report in one.reports:
                _page(one, report, markdown=output is Format.markdown)
        loaded.append(one)
    if output is Format.json and loaded:
        render.json_out(loaded[0].to_dict() if len(files) == 1 else LoadedFiles(tuple(loaded)).to_dict())
    elif output is Format.csv:
        render.csv_out(LoadedFiles(tuple(loaded)).rows())
    return status


def _memory(path: Path, owner: str | None, *, forget: bool) -> int:
    from evener import lists

    if forget:
        render.complain(f"{lists.forget(path, owner)} things forgotten of the lists of {owner or 'no owner'}")
        return 0
    held = [one for one in lists.memory(path) if owner in (None, one["owner"])]
    page = render.Page()
    page.title("How senders' lists were settled")
    page.table(["owner", "rows", "what", "heading", "settled"], [list(one.values()) for one in held])
    if not held:
        page.lead("Nothing is remembered: a list that is loaded with --mapping is.")
    page.show()
    return 0


def _page(one: LoadedFile, report: IngestReport, *, markdown: bool) -> None:
    page, dry_run = render.Page(markdown=markdown), one.dry_run
    record = report.rows.record if report.rows is not None else ""
    rows = f"{report.read} row{'' if report.read == 1 else 's'} of {record}s"
    sheet = report.rows.table.sheet if report.rows is not None and len(one.reports) > 1 else ""
    page.title(
        f"{one.name}{f', sheet {sheet}' if sheet else ''}: {rows}"
        + ("; a dry run, nothing was changed" if dry_run else "")
    )
    changed = report.loaded or report.superseded
    unusable = report.rows is not None and report.rows.unusable
    page.facts(_facts(report, dry_run=dry_run) if not unusable else [("nothing", "is loaded until this is settled")])
    if report.difference is not None:
        _difference(page, report.difference)
    if changed or dry_run or unusable:
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


def _difference(page: render.Page, told: Difference) -> None:
    rows = [[one.name, one.label, "new", _money(one.price)] for one in told.new]
    for one in told.changed:
        priced = one.price_before != one.price and None not in (one.price_before, one.price)
        others = ", ".join(name for name in one.fields if name != "price" or not priced)
        money = f"{_money(one.price_before)} -> {_money(one.price)}" if priced else _money(one.price)
        rows.append([one.name, one.label, f"changed: {others}" if others else "price", money])
    rows += [[one.name, one.label, "gone", _money(one.price)] for one in told.gone]
    rows += [[one.name, one.label, "not in the list, kept", _money(one.price)] for one in told.in_doubt]
    page.heading(f"{len(told.new)} new, {len(told.changed)} changed, {len(told.gone)} gone")
    if rows:
        page.table(["unit", "called", "what", "price"], rows[:_MOST_SHOWN], right={3})
    if len(rows) > _MOST_SHOWN:
        page.bullets([f"and {len(rows) - _MOST_SHOWN} more; all of them: --format json"])


def _money(price: float | None) -> str:
    return "" if price is None else f"{price:,.0f}"


def _mapping(page: render.Page, report: IngestReport) -> None:
    if report.rows is None:
        return
    from evener.ingest.rows.meaning import NOT_READ, meanings

    page.heading("What the columns mean")
    rows = []
    for one in meanings(report.rows):
        measured = one.unit or ""
        counted = f"{one.read}" + (f", {one.unread} not" if one.unread else "")
        rows.append([one.heading, one.field or NOT_READ, measured, counted, _cut(one.example), one.unusual])
    given = [(name, getattr(report.rows, name)) for name in _OWN]
    rows += [[f"--{name}", name, "", "", value, ""] for name, value in given if value]
    page.table(["heading", "taken for", "unit", "read", "such as", "look at"], rows)


def _findings(page: render.Page, findings: Sequence[Finding]) -> None:
    asked, noted = [one for one in findings if one.asks], [one for one in findings if not one.asks]
    if asked:
        page.heading(f"{len(asked)} finding{'' if len(asked) == 1 else 's'}")
        page.table(
            ["line", "", "column", "found", "what is wrong", "what to do"],
            [
                [one.where, _severity(one), one.column or "", _cut(one.raw or ""), one.message, one.what_to_do]
                for one in asked[:_MOST_SHOWN]
            ],
            right={0},
        )
    if noted:
        page.heading("Told for the record")
        page.bullets(one.message for one in noted[:_MOST_SHOWN])
    rest = Counter(one.id for one in asked[_MOST_SHOWN:])
    if rest:
        counts = ", ".join(f"{count} {name}" for name, count in rest.most_common())
        page.bullets([f"and {sum(rest.values())} more: {counts}. All of them: --format csv"])


def _severity(one: Finding) -> str:
    """Return in a word or two what a finding does to the file, its row or its cell."""
    if one.unread:
        return "not read"
    if not one.stops:
        return "remark"
    return "stops the file" if one.row is None else "row left out"


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST_RAW else f"{text[: _LONGEST_RAW - 3]}..."
