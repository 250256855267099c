"""Options that several commands share, spelled once."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer


class Format(StrEnum):
    """How an answer is written."""

    table = "table"
    json = "json"
    csv = "csv"
    markdown = "markdown"


class Readable(StrEnum):
    """How an answer is written that is handed to somebody on paper too."""

    table = "table"
    json = "json"
    csv = "csv"
    markdown = "markdown"
    html = "html"


class Answer(StrEnum):
    """How an answer to a question in SQL is written."""

    table = "table"
    json = "json"
    csv = "csv"
    markdown = "markdown"
    parquet = "parquet"


class Kind(StrEnum):
    """What the store holds lists of."""

    tractors = "tractors"
    implements = "implements"
    families = "families"
    sources = "sources"
    batches = "batches"
    quarantine = "quarantine"


class Export(StrEnum):
    """What can be written as a list that reads back."""

    tractors = "tractors"
    implements = "implements"
    verdicts = "verdicts"


class Machines(StrEnum):
    """What a machine of a list is."""

    tractors = "tractors"
    implements = "implements"


class CardFormat(StrEnum):
    """How the card of a family's model is written."""

    table = "table"
    json = "json"
    csv = "csv"
    markdown = "markdown"
    latex = "latex"


class Rated(StrEnum):
    """What a family's model is of."""

    power = "power"
    tractor = "tractor"
    mass = "mass"
    reach = "reach"


class Judgement(StrEnum):
    """What an analyst holds of a record."""

    sound = "sound"
    corrected = "corrected"
    left_out = "left-out"


class UnitSystem(StrEnum):
    """Units an answer is written in."""

    us = "us"
    si = "si"


Store = Annotated[
    Path | None,
    typer.Option(
        "--store", help="Store file. Else EVENER_STORE, else the folder for your own data.", show_default=False
    ),
]
Handed = Annotated[Readable, typer.Option("--format", help="How to write it; HTML goes to --out FILE.html.")]
Out = Annotated[Path | None, typer.Option("--out", metavar="FILE", help="File to write.", show_default=False)]
Replace = Annotated[bool, typer.Option("--replace", help="Write over a file that is there already.")]
Job = Annotated[Path, typer.Argument(metavar="JOB", help="Job sheet (TOML).", show_default=False)]
Output = Annotated[Format, typer.Option("--format", help="How to write the answer.")]
UnitChoice = Annotated[
    UnitSystem | None,
    typer.Option(
        "--units", help="Units to print. Else the job sheet's; JSON and CSV are SI unless asked.", show_default=False
    ),
]
Among = Annotated[str, typer.Option(help="Kinds to pick among: class, stock, member; several with commas.")]
Where = Annotated[
    list[str] | None,
    typer.Option(
        help="Only records that meet a condition in SQL, such as \"rated_pto_power_hp > 50 AND duty = 'heavy'\"; "
        "given again, all are to hold.",
        show_default=False,
    ),
]
