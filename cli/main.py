"""The command line. Commands import what they need when they run, so that help is quick."""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path
from typing import Annotated, cast

import typer

from evener.cli.options import (
    Answer,
    CardFormat,
    Export,
    Format,
    Job,
    Judgement,
    Kind,
    Output,
    Rated,
    Store,
    UnitChoice,
    Where,
)

_LISTED = "tractors, implements, families, sources, batches or quarantine."

app = typer.Typer(
    name="evener",
    help="Size a tractor to the work a place asks of it, and show the margins and the reasons.",
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


@app.command(epilog="Example: evener rank demo_db/jobs/ridge.toml --among class,stock")
def rank(
    job: Job,
    among: Annotated[str, typer.Option(help="Kinds to rank: class, stock, member; several with commas.")] = "class",
    top: Annotated[int, typer.Option(min=1, max=1000, help="How many tractors to show.")] = 8,
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> None:
    """Rank tractors for a job: the size to buy, what decides it, how sure, and every margin."""
    from evener.cli.adviser import rank as rank_command

    raise typer.Exit(rank_command.run(job, among=among, top=top, output=output, units=units, store=store))


@app.command(epilog="Example: evener explain demo_db/jobs/ridge.toml U50S4")
def explain(
    job: Job,
    tractor: Annotated[str, typer.Argument(metavar="TRACTOR", help="Id of a tractor record.", show_default=False)],
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> None:
    """Explain what each task asks of one tractor: every step, with its formula, inputs, source and status."""
    from evener.cli.adviser import explain as explain_command

    raise typer.Exit(explain_command.run(job, tractor, output=output, units=units, store=store))


@app.command(epilog="Example: evener ask demo_db/jobs/ridge.toml --answer cut-back-the-scrub.stems='1 1/2 in'")
def ask(
    job: Job,
    answer: Annotated[
        list[str] | None,
        typer.Option(help="ID=VALUE: see the effect of an answer; the sheet stays as it is.", show_default=False),
    ] = None,
    interactive: Annotated[bool, typer.Option("--interactive", help="Ask one after the other.")] = False,
    write: Annotated[
        Path | None, typer.Option(help="Where --interactive writes the answered sheet.", show_default=False)
    ] = None,
    seeds: Annotated[
        int, typer.Option(min=0, max=100, help="Do it on so many other sets of draws too, and say how stable it is.")
    ] = 0,
    among: Annotated[
        str, typer.Option(help="Kinds to pick among: class, stock, member; several with commas.")
    ] = "class",
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> None:
    """Ask what is open: every question by how likely its answer changes the pick, with the pick by answer."""
    from evener.cli.adviser import ask as ask_command

    status = ask_command.run(
        job,
        given=answer or [],
        interactive=interactive,
        write=write,
        seeds=seeds,
        among=among,
        output=output,
        units=units,
        store=store,
    )
    raise typer.Exit(status)


@app.command(epilog="Example: evener interview new_customer.toml")
def interview(
    sheet: Annotated[
        Path | None,
        typer.Argument(metavar="FILE", help="Job sheet to write; stdout when left out.", show_default=False),
    ] = None,
    store: Store = None,
) -> None:
    """Interview a customer: from nothing to a job sheet by plain questions. It can be left and taken up again."""
    from evener.cli.adviser import interview as interview_command

    raise typer.Exit(interview_command.run(sheet, store=store))


@app.command(epilog="Example: evener check demo_db/jobs/ridge.toml")
def check(job: Job, output: Output = Format.table, units: UnitChoice = None, store: Store = None) -> None:
    """Check a job sheet: every mistake with its line, and the land that no task covers."""
    from evener.cli.adviser import check as check_command

    raise typer.Exit(check_command.run(job, output=output, units=units, store=store))


@app.command("list", epilog='Example: evener list implements --where "mass_lb < 900" --sort -pto_power')
def list_records(
    kind: Annotated[Kind, typer.Argument(metavar="KIND", help=_LISTED)],
    family: Annotated[str | None, typer.Option(help="Only implements of this family.", show_default=False)] = None,
    among: Annotated[str | None, typer.Option(help="Only tractors of this kind.", show_default=False)] = None,
    batch: Annotated[
        str | None, typer.Option(help="Quarantine only: rows this ingest refused.", show_default=False)
    ] = None,
    where: Where = None,
    columns: Annotated[
        str | None, typer.Option(help="Fields to show, with commas; see: evener fields.", show_default=False)
    ] = None,
    sort: Annotated[
        str | None,
        typer.Option(help="Fields to order by, with commas; -field for falling.", show_default=False),
    ] = None,
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> None:
    """List the store's records of one kind."""
    if kind is Kind.quarantine:
        from evener.cli.store import quarantine as quarantine_command

        raise typer.Exit(quarantine_command.run(batch, output=output, store=store))
    from evener.cli.analyst import listing as list_command

    only = {name: value for name, value in (("family", family), ("kind", among)) if value is not None}
    raise typer.Exit(
        list_command.run(
            cast("list_command.Kind", kind.value),
            only=only,
            where=where,
            columns=columns,
            sort=sort,
            output=output,
            units=units,
            store=store,
        )
    )


@app.command(epilog="Example: evener ingest demo_db/lists/dealer_list.xlsx --as tractors --kind stock --dry-run")
def ingest(
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
) -> None:
    """Load spreadsheets of tractors or implements: good rows into the store, the others set apart with reasons."""
    from evener.cli.store import ingest as ingest_command

    raise typer.Exit(
        ingest_command.run(
            files,
            record=record,
            owner=owner,
            kind=kind,
            mapping=mapping,
            sheet=sheet,
            dry_run=dry_run,
            write_mapping=write_mapping,
            output=output,
            store=store,
        )
    )


@app.command(epilog="Example: evener undo B0022")
def undo(
    batch: Annotated[str, typer.Argument(metavar="BATCH", help="As: evener list batches.", show_default=False)],
    output: Output = Format.table,
    store: Store = None,
) -> None:
    """Undo one ingest: its records go, and what they replaced comes back."""
    from evener.cli.store import undo as undo_command

    raise typer.Exit(undo_command.run(batch, output=output, store=store))


@app.command(epilog="Example: evener export tractors --kind stock --out stock.csv")
def export(
    kind: Annotated[Export, typer.Argument(metavar="KIND", help="tractors, implements, verdicts.", show_default=False)],
    among: Annotated[
        str | None, typer.Option("--kind", help="Only tractors of this kind: stock, member or class.")
    ] = None,
    owner: Annotated[str | None, typer.Option(help="Only records of this owner.", show_default=False)] = None,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE", help="File to write, else standard output.", show_default=False)
    ] = None,
    store: Store = None,
) -> None:
    """Write records as CSV that ingest reads back to the same records."""
    from evener.cli.store import export as export_command

    raise typer.Exit(export_command.run(kind.value, kind=among, owner=owner, out=out, store=store))


@app.command(epilog="Example: evener recover --store ./try-evener/demo.duckdb")
def recover(store: Store = None) -> None:
    """Open a store again whose log is damaged: the log is moved aside, and nothing is deleted."""
    from evener.cli.store import recover as recover_command

    raise typer.Exit(recover_command.run(store))


@app.command(epilog="Example: evener audit round_baler --where \"duty IS DISTINCT FROM 'light'\" --plots ./plots")
def audit(
    families: Annotated[
        list[str] | None, typer.Argument(metavar="[FAMILY]...", help="Families; all when left out.", show_default=False)
    ] = None,
    by: Annotated[
        str,
        typer.Option(
            metavar="GROUP,...",
            help="Compare whole groups of records: batch, maker, owner, duty, build, model_year, or a kept column.",
        ),
    ] = "batch",
    where: Where = None,
    every: Annotated[bool, typer.Option("--all", help="With families of which no record states a rating.")] = False,
    plots: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Draw each family's line into a folder.", show_default=False)
    ] = None,
    records: Annotated[bool, typer.Option("--records", help="Show what is measured of every record too.")] = False,
    top: Annotated[int, typer.Option(min=1, max=100_000, help="How many flags to show on screen.")] = 40,
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> None:
    """Audit rated PTO powers: lines per family, and records far from their peers or in the wrong unit."""
    from evener.cli.analyst import audit as audit_command

    raise typer.Exit(
        audit_command.run(
            families or [],
            by=[one.strip() for one in by.split(",") if one.strip()],
            where=where,
            every=every,
            plots=plots,
            records=records,
            top=top,
            output=output,
            units=units,
            store=store,
        )
    )


@app.command(epilog="Example: evener ratings disc_mower --format latex")
def ratings(
    family: Annotated[str, typer.Argument(metavar="FAMILY", help="As: evener list families.", show_default=False)],
    of: Annotated[Rated, typer.Option("--of", help="What the model is of.")] = Rated.power,
    plots: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Draw line, residuals and quantiles.", show_default=False)
    ] = None,
    output: Annotated[CardFormat, typer.Option("--format", help="How to write the answer.")] = CardFormat.table,
    units: UnitChoice = None,
    store: Store = None,
) -> None:
    """Show the card of a family's model: coefficients with errors, records used and set aside, bands and checks."""
    from evener.cli.analyst import ratings as ratings_command

    raise typer.Exit(ratings_command.run(family, of.value, plots=plots, output=output, units=units, store=store))


@app.command(epilog="Example: evener predict rotary_cutter --width '6 ft' --stems '2 in' --build mounted")
def predict(
    family: Annotated[str, typer.Argument(metavar="FAMILY", help="As: evener list families.", show_default=False)],
    width: Annotated[str | None, typer.Option(help="Working width, as '6 ft'.", show_default=False)] = None,
    stems: Annotated[str | None, typer.Option(help="Thickest stem, as '2 in'.", show_default=False)] = None,
    size: Annotated[
        list[str] | None,
        typer.Option(metavar="FIELD=VALUE", help="Another size, as tank='300 gal'.", show_default=False),
    ] = None,
    build: Annotated[str | None, typer.Option(help="As records say it, as mounted.", show_default=False)] = None,
    duty: Annotated[str | None, typer.Option(help="light, medium or heavy.", show_default=False)] = None,
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> None:
    """Predict what a machine of a size is rated for, weighs and reaches, with intervals."""
    from evener.cli.analyst import predict as predict_command

    given = {"working_width_m": width, "max_stem_m": stems}
    given |= {name.strip(): value.strip() for name, _, value in (one.partition("=") for one in size or [])}
    stated = {name: value for name, value in given.items() if value is not None}
    raise typer.Exit(
        predict_command.run(family, stated, build=build, duty=duty, output=output, units=units, store=store)
    )


@app.command(epilog='Example: evener judge FX-09 left-out --why "a reel mixer among augers"')
def judge(
    implement: Annotated[
        str, typer.Argument(metavar="IMPLEMENT", help="As: evener list implements.", show_default=False)
    ],
    verdict: Annotated[Judgement, typer.Argument(help="What you hold of it.", show_default=False)],
    why: Annotated[str, typer.Option(metavar="TEXT", help="The reason.", show_default=False)],
    corrections: Annotated[
        list[str] | None,
        typer.Option("--set", metavar="FIELD=VALUE", help="What a corrected record should hold.", show_default=False),
    ] = None,
    by_whom: Annotated[
        str | None, typer.Option(metavar="NAME", help="Who judges. Else the store's owner.", show_default=False)
    ] = None,
    output: Output = Format.table,
    store: Store = None,
) -> None:
    """Judge an implement record: sound, corrected or left out of every fit. The record itself stays as it is."""
    from evener.cli.analyst import judge as judge_command

    raise typer.Exit(
        judge_command.run(
            implement, verdict, why=why, corrections=corrections or [], by_whom=by_whom, output=output, store=store
        )
    )


@app.command(epilog='Example: evener query "SELECT family, count(*) FROM implement_us GROUP BY ALL ORDER BY 2 DESC"')
def query(
    sql: Annotated[str, typer.Argument(metavar="SQL", help="One SELECT, or EXPLAIN and one.", show_default=False)],
    output: Annotated[
        Answer | None,
        typer.Option("--format", help="How to write the answer. Else by the ending of --out.", show_default=False),
    ] = None,
    out: Annotated[
        Path | None, typer.Option(help="File to write; Parquet needs one.", show_default=False, metavar="FILE")
    ] = None,
    rows: Annotated[
        int | None,
        typer.Option(min=1, max=1_000_000, help="Rows at most; 200 on screen, 100,000 else.", show_default=False),
    ] = None,
    seconds: Annotated[float, typer.Option(min=0.1, max=600, help="Longest it may take.")] = 30.0,
    store: Store = None,
) -> None:
    """Ask the store one question in SQL, locked and read-only.

    Tables: tractor and implement, tractor_us and implement_us in feet and horsepower, and those of the fields command.
    """
    from evener.cli.analyst import query as query_command

    raise typer.Exit(query_command.run(sql, output=output, out=out, most=rows, seconds=seconds, store=store))


@app.command("fields", epilog="Example: evener fields tractor")
def list_fields(
    record: Annotated[str | None, typer.Argument(metavar="RECORD", help="Kind of record; all when left out.")] = None,
    output: Output = Format.table,
) -> None:
    """List the nomenclature: every field's name, unit, bounds, header spellings and meaning."""
    from evener.cli.store import fields as fields_command

    raise typer.Exit(fields_command.run(record, output=output))


@app.command(epilog="Example: evener method --format markdown")
def method(output: Output = Format.table) -> None:
    """List every formula: equation, source, status, validity, and the printed examples that hold it."""
    from evener.cli.analyst import method as method_command

    raise typer.Exit(method_command.run(output=output))


@app.command(epilog="Example: evener demo ./try-evener")
def demo(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Where to build it; made if missing.", show_default=False)
    ],
) -> None:
    """Build the invented demo store in a folder, and print commands to try."""
    from evener.cli.store import demo as demo_command

    raise typer.Exit(demo_command.run(folder))


def main() -> None:
    """Run the command line; a store that cannot be used and a closed pipe end in one line, never in a traceback."""
    if sys.stdout is None:  # closed by whoever started the command
        sys.stdout = Path(os.devnull).open("w", encoding="utf-8")  # noqa: SIM115
    try:
        try:
            app()
        finally:
            sys.stdout.flush()
    except BrokenPipeError:
        _close_output()
        sys.exit(1)
    except OSError as error:
        sys.stderr.write(f"evener: the answer cannot be written: {error.strerror or error}\n")
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(2)
    except Exception as error:
        status = getattr(error, "exit_status", None)
        if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EIO):
            _close_output()
            error, status = OSError(f"the answer cannot be written: {error.strerror}"), 2
        if status is None:
            raise
        sys.stderr.write(f"evener: {error}\n")
        sys.exit(status)


def _close_output() -> None:
    # What is left in the buffer would be tried again at the end, and fail again.
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


if __name__ == "__main__":
    main()
