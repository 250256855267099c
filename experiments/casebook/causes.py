"""Why sheets are missed: a row with a cause for each, in words until somebody knows it better."""

from __future__ import annotations

import csv
from collections.abc import Sequence

from experiments.casebook.cases import HERE, Case, read_rows
from experiments.casebook.judging import Judged


def causes() -> dict[tuple[str, str], tuple[str, str]]:
    """Return verdict and cause of each missed sheet that has a row."""
    return {(row["case_id"], row["telling"]): (row["verdict"], row["cause"]) for row in read_rows("causes.csv")}


def keep_causes(of: Sequence[Case], results: Sequence[Judged]) -> None:
    """Write a row for each missed sheet: the cause that was there while the verdict stays, else what can be seen."""
    case_of, known = {case.case_id: case for case in of}, causes()
    with (HERE / "causes.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["case_id", "telling", "verdict", "cause"])
        for one in results:
            if one.verdict != "met":
                verdict, cause = known.get((one.case_id, one.telling), ("", ""))
                seen = cause if verdict == one.verdict else seen_of(case_of[one.case_id], one)
                writer.writerow([one.case_id, one.telling, one.verdict, seen])


def seen_of(case: Case, one: Judged) -> str:
    """Return what can be seen of a miss without looking into it."""
    if one.verdict == "no plan":
        return "no class does it as surely as is asked"
    if one.asked_hp is None:
        limit = "more" if one.verdict == "large" else "less"
        return f"the pick rests on another axis than power, which asks {limit} than the source"
    if one.verdict == "large":
        if one.asked_hp > case.high_hp:
            return "more power is asked in the middle than the source has"
        return "the middle of what is asked fits; the pick keeps more in hand, or another axis decides"
    if one.asked_hp < case.low_hp:
        return "less power is asked in the middle than the source has"
    return "the middle of what is asked fits; the pick keeps less in hand"
