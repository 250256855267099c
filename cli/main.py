"""The command line: each command is a module with one function `run`, which says its exit status."""

from __future__ import annotations

from typing import NoReturn

import typer

from evener.cli import entry
from evener.cli.adviser import ask, check, explain, interview, rank
from evener.cli.analyst import audit, bench, listing, method, query
from evener.cli.store import backup, demo, export, fields, ingest, recover, restore, undo, verify

COMMANDS = (
    ("rank", rank, "rank demo_db/jobs/ridge.toml --among class,stock"),
    ("explain", explain, "explain demo_db/jobs/ridge.toml U50S4"),
    ("ask", ask, "ask demo_db/jobs/ridge.toml --answer cut-back-the-scrub.stems='1 1/2 in'"),
    ("interview", interview, "interview new_customer.toml"),
    ("check", check, "check demo_db/jobs/ridge.toml"),
    ("list", listing, 'list implements --where "mass_lb < 900" --sort -pto_power'),
    ("ingest", ingest, "ingest demo_db/lists/dealer_list.xlsx --as tractors --kind stock --dry-run"),
    ("undo", undo, "undo B0022"),
    ("export", export, "export tractors --kind stock --out stock.csv"),
    ("verify", verify, "verify --store ./try-evener/demo.duckdb"),
    ("backup", backup, "backup stock-2026-03-01.backup"),
    ("restore", restore, "restore stock-2026-03-01.backup"),
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
    epilog="With --debug anywhere, what goes wrong is shown in full.",
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


def main() -> NoReturn:
    """Run the command line, and leave with its status."""
    entry.hold(lambda: app)


if __name__ == "__main__":
    main()
