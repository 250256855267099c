"""Writes the demo's workbook: an invented dealer's list, as untidy as lists are.

Run as a program it writes `demo_db/lists/dealer_list.xlsx` anew; a test holds the shipped workbook to it.
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import openpyxl

TARGET = Path(__file__).resolve().parents[2] / "demo_db" / "lists" / "dealer_list.xlsx"
TITLE = "The yard behind nowhere: used tractors in the yard (invented for demonstration)"
HEADINGS = [
    "Stock #", "Make and model", "Yr", "Hrs", "Engine power, gross", "HP", "Drive", "Trans", "Weight", "3pt category",
    "Lift, 24 in behind", "Loader lift", "Loader height", "SCVs", "Asking price ($)", "Bay", "Status", "Remarks",
]  # fmt: skip
UNITS = [None, None, None, "h", "hp", "hp", None, None, "lb", None, "lb", "lb", "in", None, "$", None, None, None]
ROWS: list[list[Any]] = [
    ["Q-101", "Utility, loader", 2014, 2210, 60, 51, "4WD", "power shuttle", 5900, "II", 3150, 2450, 119, 2, 21500,
     "north", "invented", None],
    ["Q-102", "Utility, loader", 2011, "3,480", "60 HP", "50 hp", "4x4", "synchro", "5,750 lbs", "Cat 2", 3100, 2400,
     "9 ft 10 in", 2, "$18,900", "low", "invented", "new clutch"],
    ["Q-103", "Compact", 2018, 640, 25, 20.5, "4WD", "HST", 2400, "I", 1080, 960, 82, 1, "call", "middle", "invented",
     None],
    ["Q-104", "Row-crop", 2009, 6120, 125, 104, "4WD", "powershift", "5.1 t", "2", 6400, None, None, 3, 46000, "low",
     "invented", "weights go with it"],
    None,
    ["Q-105", "Utility", 2003, "n/a", 73, 62, "2 wheel drive", "shuttle", 6700, "II", 3800, "-", "-", 2, 14250, "high",
     "invented", None],
    "headings",
    ["Q-106", "Utility, loader", 2016, 1875, 91, "57 kW", "4WD", "semi powershift", "approx. 8,400", "Cat. II", 4750,
     3500, 141, 2, 37800, "north", "invented", "loader off for storage"],
    ["Q-107", "Large utility", 2012, 5230, 110, None, "4WD", "powershift", 9850, "2", 5650, 3950, 146, 3, 33000,
     "corner", "invented", "shaft power not on the plate"],
    # What is wrong from here on is wrong on purpose.
    ["Q-108", "Utility", 2008, 4400, 40, 62, "2WD", "shuttle", 5200, "2", 3000, None, None, 1, 9900, "low", "invented",
     None],
    ["Q-109", "Compact", 2015, 900, 31, 26, "4WD", "gear", 3050, dt.date(2024, 2, 1), 1400, 1300, 90, 1, 12400, "high",
     "invented", "category typed as 1-2"],
    ["Q-110", "Utility, loader", 2017, 1300, 75, "=E17*0.85", "4WD", "shuttle", 7100, "2", 4000, 3050, 131, 2, 29900,
     "north", "invented", None],
    ["Q-101", "Utility, no loader", 2006, 7300, 60, 50, "2WD", "gear", 5300, "2", 3000, None, None, 1, 8900, "low",
     "invented", "number used twice"],
    None,
    ["Total", None, None, None, None, None, None, None, None, None, None, None, None, None, 232550, None, None, None],
    ["* prices as they stand in the yard, subject to prior sale"],
]  # fmt: skip


def sheet_rows() -> list[list[Any]]:
    """Return the rows of the sheet of tractors, from the first."""
    rows: list[list[Any]] = [[TITLE], ["List of 3 May; figures as the last owners told them"], [], HEADINGS, UNITS]
    return rows + [list(HEADINGS) if row == "headings" else row or [] for row in ROWS]


def workbook() -> openpyxl.Workbook:
    """Return the workbook."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "Yard"
    for row in sheet_rows():
        sheet.append(row)
    sheet.merge_cells("A1:H1")
    about = book.create_sheet("How to read")
    about.append(["Ask at the office for anything that is blank."])
    costs = book.create_sheet("Costs")
    costs.append(["Stock #", "Paid"])
    costs.sheet_state = "hidden"
    book.properties.creator = "invented"
    book.properties.created = book.properties.modified = dt.datetime(2024, 5, 3)  # noqa: DTZ001  workbooks hold no zone
    return book


if __name__ == "__main__":
    workbook().save(TARGET)
