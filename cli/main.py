"""The command line: each command is a module with one function `run`, which says its exit status."""

from __future__ import annotations

import errno
import os
import sys
from pathlib import Path

import typer

from evener.cli.adviser import ask, check, explain, interview, rank
from evener.cli.analyst import audit, bench, listing, method, query
from evener.cli.shed import assign, cover, letter, own_jointly
from evener.cli.shed import check as shed
from evener.cli.store import demo, export, fields, ingest, recover, undo
from evener.enquiry.refused import WrongUse

COMMANDS = (
    ("rank", rank, "rank demo_db/jobs/ridge.toml --among class,stock"),
    ("explain", explain, "explain demo_db/jobs/ridge.toml U50S4"),
    ("ask", ask, "ask demo_db/jobs/ridge.toml --answer cut-back-the-scrub.stems='1 1/2 in'"),
    ("interview", interview, "interview new_customer.toml"),
    ("check", check, "check demo_db/jobs/ridge.toml"),
    ("shed", shed, "shed demo_db/shed"),
    ("cover", cover, 'cover demo_db/shed "Merrow Stile"'),
    ("assign", assign, "assign demo_db/shed --rule equal_share --format ics"),
    ("own-jointly", own_jointly, "own-jointly demo_db/shed --among class --hire 60"),
    ("letter", letter, 'letter demo_db/shed "Sorrel Hag"'),
    ("list", listing, 'list implements --where "mass_lb < 900" --sort -pto_power'),
    ("ingest", ingest, "ingest demo_db/lists/dealer_list.xlsx --as tractors --kind stock --dry-run"),
    ("undo", undo, "undo B0022"),
    ("export", export, "export tractors --kind stock --out stock.csv"),
    ("recover", recover, "recover --store ./try-evener/demo.duckdb"),
    ("audit", audit, "audit round_baler --where \"duty IS DISTINCT FROM 'light'\" --plots ./plots"),
    ("query", query, 'query "SELECT family, count(*) FROM implement_us GROUP BY ALL ORDER BY 2 DESC"'),
    ("fields", fields, "fields tractor"),
    ("method", method, "method --format markdown"),
    ("demo", demo, "demo ./try-evener"),
)


def _leave(status: int) -> None:
    raise typer.Exit(status)


app = typer.Typer(
    name="evener",
    help="Size a tractor to the work a place asks of it, and show the margins and the reasons.",
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    result_callback=_leave,
)
for _name, _command, _example in COMMANDS:
    app.command(_name, epilog=f"Example: evener {_example}")(_command.run)
app.command(epilog="Example: evener ratings disc_mower --format latex")(bench.ratings)
app.command(epilog="Example: evener predict rotary_cutter --width '6 ft' --stems '2 in' --build mounted")(bench.predict)
app.command(epilog='Example: evener judge FX-09 left-out --why "a reel mixer among augers"')(bench.judge)


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
        option = "--" if isinstance(error, WrongUse) else ""
        sys.stderr.write(f"evener: {option}{error}\n")
        sys.exit(status)


def _close_output() -> None:
    # What is left in the buffer would be tried again at the end, and fail again.
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


if __name__ == "__main__":
    main()
