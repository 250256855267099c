"""The command line. Commands import what they need when they run, so that help is quick."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated

import typer

from evener.cli.options import Format, Job, Kind, Output, Store, UnitChoice

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
    from evener.cli import rank_command

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
    from evener.cli import explain_command

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
    from evener.cli import ask_command

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
    from evener.cli import interview_command

    raise typer.Exit(interview_command.run(sheet, store=store))


@app.command(epilog="Example: evener check demo_db/jobs/ridge.toml")
def check(job: Job, output: Output = Format.table, units: UnitChoice = None, store: Store = None) -> None:
    """Check a job sheet: every mistake with its line, and the land that no task covers."""
    from evener.cli import check_command

    raise typer.Exit(check_command.run(job, output=output, units=units, store=store))


@app.command("list", epilog="Example: evener list implements --family round_baler")
def list_records(
    kind: Annotated[Kind, typer.Argument(metavar="KIND", help="tractors, implements, families, sources or batches.")],
    family: Annotated[str | None, typer.Option(help="Only implements of this family.", show_default=False)] = None,
    among: Annotated[str | None, typer.Option(help="Only tractors of this kind.", show_default=False)] = None,
    output: Output = Format.table,
    units: UnitChoice = None,
    store: Store = None,
) -> None:
    """List the store's records of one kind."""
    from evener.cli import list_command

    only = {name: value for name, value in (("family", family), ("kind", among)) if value is not None}
    raise typer.Exit(list_command.run(kind.value, only=only, output=output, units=units, store=store))


@app.command("fields", epilog="Example: evener fields tractor")
def list_fields(
    record: Annotated[str | None, typer.Argument(metavar="RECORD", help="Kind of record; all when left out.")] = None,
    output: Output = Format.table,
) -> None:
    """List the nomenclature: every field's name, unit, bounds, header spellings and meaning."""
    from evener.cli import fields_command

    raise typer.Exit(fields_command.run(record, output=output))


@app.command(epilog="Example: evener demo ./try-evener")
def demo(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Where to build it; made if missing.", show_default=False)
    ],
) -> None:
    """Build the invented demo store in a folder, and print commands to try."""
    from evener.cli import demo_command

    raise typer.Exit(demo_command.run(folder))


def main() -> None:
    """Run the command line; a store that cannot be used and a closed pipe end in one line, never in a traceback."""
    try:
        app()
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)
    except Exception as error:
        status = getattr(error, "exit_status", None)
        if status is None:
            raise
        sys.stderr.write(f"evener: {error}\n")
        sys.exit(status)


if __name__ == "__main__":
    main()
