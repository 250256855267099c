"""`evener ingest`: files of tractors or implements into the store, and what was found in them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from evener.cli.options import Format
from evener.cli.output import exports, render
from evener.cli.store import stores
from evener.ingest.columns import mappings
from evener.ingest.columns.mappings import FileMapping
from evener.ingest.files import readers
from evener.ingest.findings import Finding
from evener.ingest.store import batches
from evener.ingest.store.batches import IngestReport
from evener.schema import fields

_MOST_SHOWN = 40
_LONGEST_RAW = 40
_OWN = ("kind", "owner")


def run(
    files: Sequence[str],
    *,
    record: str,
    owner: str | None,
    kind: str | None,
    mapping: Path | None,
    sheet: str | None,
    dry_run: bool,
    write_mapping: Path | None,
    output: Format,
    store: Path | None,
) -> int:
    """Load the files one by one; return 0, 1 when anything was found in one, or 2 when one could not be read."""
    wrong = _wrong_use(files, record, owner, kind, write_mapping)
    if wrong:
        render.complain(wrong)
        return 2
    from evener.scoring.ratings.model import refresh

    meant = batches.record_named(record)
    settled = mappings.read_mapping(mapping, meant) if mapping is not None else FileMapping()
    path = stores.ensure_library_store(store)
    answers: list[dict[str, Any]] = []
    status = 0
    for file in files:
        try:
            report = batches.ingest_file(
                path,
                Path(file),
                record=record,
                owner=owner,
                kind=kind,
                mapping=settled,
                sheet=sheet,
                dry_run=dry_run,
                after=refresh,
            )
        except readers.UnreadableFile as error:
            render.complain(str(error))
            status = 2
            continue
        status = max(status, 1 if report.findings else 0)
        if write_mapping is not None and report.rows is not None:
            _write(write_mapping, mappings.written(report.rows.matches, meant, settled), path)
        if output in (Format.table, Format.markdown):
            _page(report, dry_run=dry_run, markdown=output is Format.markdown)
        answers.append(_answer(report, dry_run=dry_run))
    if output is Format.json and answers:
        render.json_out({"schema": 1, **(answers[0] if len(files) == 1 else {"files": answers})})
    elif output is Format.csv:
        render.csv_out([{"file": answer["file"], **finding} for answer in answers for finding in answer["findings"]])
    return status


def _wrong_use(
    files: Sequence[str], record: str, owner: str | None, kind: str | None, write_mapping: Path | None
) -> str | None:
    try:
        meant = batches.record_named(record)
    except ValueError as error:
        return f"--as: {error}"
    known = fields.of(meant)
    for name, value in (("kind", kind), ("owner", owner)):
        if value is not None and name not in known:
            return f"--{name}: {record} have none; leave it out"
    if kind is not None and kind not in known["kind"].choices:
        return f"--kind takes {', '.join(known['kind'].choices)}, not {kind}"
    if write_mapping is not None and len(files) > 1:
        return "--write-mapping takes one file at a time"
    if sum(file == readers.STANDARD_INPUT for file in files) > 1:
        return "standard input can be read once"
    return None


def _write(target: Path, text: str, store_path: Path) -> None:
    with exports.written(target, store_path) as unfinished:
        unfinished.write_text(text, encoding="utf-8")
    render.complain(f"the mapping is in {target}; edit it, and use it with --mapping")


def _answer(report: IngestReport, *, dry_run: bool) -> dict[str, Any]:
    answer = {"file": _name(report), **report.as_dict()}
    if dry_run:
        answer["mapping"] = {
            heading: {"field": field, "unit": unit} for heading, (field, unit) in report.mapping.items()
        }
    return answer


def _name(report: IngestReport) -> str:
    return report.rows.table.name if report.rows is not None else ""


def _page(report: IngestReport, *, dry_run: bool, markdown: bool) -> None:
    page = render.Page(markdown=markdown)
    record = report.rows.record if report.rows is not None else ""
    rows = f"{report.read} row{'' if report.read == 1 else 's'} of {record}s"
    page.title(f"{_name(report)}: {rows}" + ("; a dry run, nothing was changed" if dry_run else ""))
    unusable = report.rows is not None and report.rows.unusable
    page.facts(
        _facts(report, dry_run=dry_run) if not unusable else [("nothing", "is loaded until the headings are settled")]
    )
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
        [
            [str(one.row or ""), one.column or "", _cut(one.raw or ""), one.message, one.fix]
            for one in findings[:_MOST_SHOWN]
        ],
        right={0},
    )
    rest = Counter(one.id for one in findings[_MOST_SHOWN:])
    if rest:
        counts = ", ".join(f"{count} {name}" for name, count in rest.most_common())
        page.bullets([f"and {sum(rest.values())} more: {counts}. All of them: --format csv"])


def _cut(text: str) -> str:
    return text if len(text) <= _LONGEST_RAW else f"{text[: _LONGEST_RAW - 3]}..."
