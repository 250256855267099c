"""The command line: each command is a module with one function `run`, which says its exit status."""

from __future__ import annotations

from typing import NoReturn

import typer

from evener.cli import entry
from evener.cli.adviser import beside, check, cost, explain, page, rank, runs
from evener.cli.analyst import audit, bench, listing, method, query
from evener.cli.asking import ask, interview
from evener.cli.shed import assign, cover, letter, own_jointly
from evener.cli.shed import check as shed
from evener.cli.store import (
    amend,
    backup,
    demo,
    dismiss,
    export,
    fields,
    ingest,
    owners,
    recover,
    restore,
    undo,
    verify,
)
from evener.cli.wrong_use import Commands

COMMANDS = (
    ("rank", rank, "rank demo_db/jobs/ridge.toml --among class,stock"),
    ("explain", explain, "explain demo_db/jobs/ridge.toml utility-50-4wd"),
    ("beside", beside, "beside demo_db/jobs/ridge.toml utility-50-4wd utility-62-4wd utility-76-4wd"),
    ("cost", cost, "cost demo_db/jobs/ridge.toml utility-62-4wd --steps"),
    ("runs", runs, "runs utility-62-4wd --slope '8 %' --soil firm"),
    ("ask", ask, "ask demo_db/jobs/ridge.toml --answer cut-back-the-scrub.stems='1 1/2 in'"),
    ("interview", interview, "interview new_customer.toml"),
    ("page", page, "page demo_db/jobs/ridge.toml --out ridge.html --adviser 'the co-op'"),
    ("check", check, "check demo_db/jobs/ridge.toml"),
    ("shed", shed, "shed demo_db/shed"),
    ("cover", cover, 'cover demo_db/shed "Merrow Stile"'),
    ("assign", assign, "assign demo_db/shed --rule equal_share --format ics"),
    ("own-jointly", own_jointly, "own-jointly demo_db/shed --among class --hire 60"),
    ("letter", letter, 'letter demo_db/shed "Sorrel Hag" --format html --out letter.html'),
    ("list", listing, 'list implements --where "mass_lb < 900" --sort -pto_power'),
    ("ingest", ingest, "ingest demo_db/lists/dealer_list.xlsx --as tractors --kind stock --dry-run"),
    ("amend", amend, "amend 12@'Cold Spring' hitch_lift_610='1500 lb' --why 'weak'"),
    ("dismiss", dismiss, "dismiss B0025 14 15 --why 'parts, no machines'"),
    ("owners", owners, "owners 'Cold Spring' --also 'Cold Spring Farm'"),
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
    cls=Commands,
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
app.command(epilog='Example: evener judge feed-mixer-09 left-out --why "a reel mixer among augers"')(bench.judge)


def main() -> NoReturn:
    """Run the command line, and leave with its status."""
    entry.hold(lambda: app)


if __name__ == "__main__":
    main()
