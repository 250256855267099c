"""Run the casebook and print how it came out: python -m experiments.casebook [--keep] [--rule RULE] [CASE ...]."""

from __future__ import annotations

import argparse
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import evener
from experiments.casebook.cases import TELLINGS, Case, Telling, cases
from experiments.casebook.judging import Judged, judge, keep, tally

PROCESSES = 2


def run(chosen: list[Case], policy: str = "", store: Path | None = None) -> list[Judged]:
    """Return how both sheets of some cases come out, case by case.

    Parameters
    ----------
    chosen : cases
    policy : lines to add to each sheet's [policy]
    store : a store with the library; one is built where it is left out
    """
    with tempfile.TemporaryDirectory() as folder:
        path = store or evener.open(Path(folder) / "store.duckdb", build=True).path
        parts = [(path, case, telling, policy) for case in chosen for telling in TELLINGS]
        with ProcessPoolExecutor(PROCESSES) as pool:
            return list(pool.map(_one, parts, chunksize=8))


def _one(part: tuple[Path, Case, Telling, str]) -> Judged:
    path, case, telling, policy = part
    return judge(evener.open(path), case, telling, policy)


def lines(chosen: list[Case], results: list[Judged]) -> list[str]:
    """Return one line a case, what is missed first, and the shares below."""
    case_of = {case.case_id: case for case in chosen}
    said = [f"{'case':18} {'sheet':5} {'band, hp':>9} {'asked':>6} {'pick':>5}  verdict"]
    for one in sorted(results, key=lambda one: one.verdict == "met"):
        case = case_of[one.case_id]
        asked = f"{one.asked_hp:.0f}" if one.asked_hp else "-"
        pick = f"{one.pick_hp:.0f}" if one.pick_hp else "-"
        off = "" if not case.by_power or one.asked_met(case) else "; asked is off"
        band = f"{case.low_hp:.0f}-{case.high_hp:.0f}"
        said.append(f"{one.case_id:18} {one.telling:5} {band:>9} {asked:>6} {pick:>5}  {one.verdict}{off}")
    said += ["", f"{'':22} {'as said':>8} {'told':>8}"]
    both = [tally(chosen, [one for one in results if one.telling == telling]) for telling in TELLINGS]
    said.append(f"{'asked where it belongs':22} {both[0].asked_met:8.0%} {both[1].asked_met:8.0%}")
    said.append(f"{'asked / middle of band':22} {both[0].ratio:8.2f} {both[1].ratio:8.2f}")
    said.append(f"{'picks met':22} {both[0].met:8.0%} {both[1].met:8.0%}")
    said.append(f"{'over one size under':22} {both[0].short:8.0%} {both[1].short:8.0%}")
    said.append(f"{'no plan':22} {both[0].no_plan:8.0%} {both[1].no_plan:8.0%}")
    return said


def main() -> None:
    """Read the arguments, run, print, and keep the results where that is asked."""
    parser = argparse.ArgumentParser(prog="python -m experiments.casebook", description=__doc__)
    parser.add_argument("case", nargs="*", help="ids of cases; all where none is named")
    parser.add_argument("--rule", help="pick by this rule instead of the usual one")
    parser.add_argument("--keep", action="store_true", help="write results.csv beside the cases")
    given = parser.parse_args()
    chosen = [case for case in cases() if not given.case or case.case_id in given.case]
    results = run(chosen, f'rule = "{given.rule}"' if given.rule else "")
    if given.keep:
        keep(results)
    sys.stdout.write("\n".join(lines(chosen, results)) + "\n")


if __name__ == "__main__":
    main()
