"""Print the tables of docs/audit.md about the shipped library, and draw its plots.

Run: python benchmarks/audit_tables.py docs/audit
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from evener.ingest.store import library
from evener.schema.store import connection as store
from evener.schema.units import factor
from evener.scoring.audit.auditing import AuditReport, audit
from evener.scoring.audit.plots import plots
from evener.scoring.core.printing import rounded


def audited() -> AuditReport:
    """Return the audit of a freshly built library."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "store.duckdb"
        library.build(path)
        with store.open_read(path) as con:
            return audit(store.read_implements(con), store.read_families(con).values(), store.read_reference(con))


def main(folder: Path) -> None:
    """Print both tables and draw the plots into a folder."""
    report = audited()
    hp = factor("kW", "hp")
    print("| family | n | line | error by cross-validation: through origin, straight, power | slope | scatter |")
    print("|---|---|---|---|---|---|")
    for family in report.families:
        if family.fitted is not None:
            one = family.as_dict()
            errors = ", ".join("-" if error is None else f"{error:.0%}" for error in one["choice"].values())
            slope, unit = family.slope_said("us")
            scatter = rounded(one["spread_kw"] * hp)
            model = one["model"].replace("_", " ")
            print(f"| {one['family']} | {one['n']} | {model} | {errors} | {rounded(slope)} {unit} | {scatter} hp |")
    print("\n| record | kind | strength | evidence |\n|---|---|---|---|")
    for flag in report.flags:
        print(f"| {flag.implement_id} | {flag.kind} | {flag.strength:.2f} | {flag.evidence('us')} |")
    print(f"\n{report.tests} tests, {len(plots(report, folder, units='us'))} plots in {folder}")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
