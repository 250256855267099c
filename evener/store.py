"""A store, and everything that can be asked of it or done to it: one call for each command of the command line."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from evener.enquiry import accepted, given, holdings, sheets
from evener.enquiry.enquiry import Enquiry
from evener.record_store import RecordStore

if TYPE_CHECKING:
    from pandas import DataFrame

    from evener.comparing.beside import Beside
    from evener.comparing.runs import Runs
    from evener.comparing.yearly import CostSheet
    from evener.enquiry.holdings import Holdings
    from evener.enquiry.sheets import ReadSheet
    from evener.interview.conversation import Interview
    from evener.ranking.ranking import Ranking
    from evener.results.explanation import Explanation
    from evener.results.sheet_check import SheetCheck
    from evener.results.survey import Survey
    from evener.schema.records import Implement, JobSheet, Tractor
    from evener.scoring.core.printing import Units
    from evener.sheds.shed import Shed

Kinds = str | Iterable[str]


class Store(RecordStore):
    """A store of records. Open one with `evener.open`.

    Attributes
    ----------
    path : its file
    built : whether it was built just now, with the library
    """

    def __init__(self, path: str | Path, *, built: bool = False) -> None:
        super().__init__(path)
        self.built = built
        self._read: tuple[tuple[int, int], Holdings] | None = None
        self._tractors: tuple[Tractor, ...] = ()
        self._implements: tuple[Implement, ...] = ()

    def __repr__(self) -> str:
        return f"Store({str(self.path)!r})"

    @property
    def holdings(self) -> Holdings:
        """The records and tables that answers rest on; read again when the file has changed."""
        stat = os.stat(self.path) if self.path.is_file() else None  # noqa: PTH116
        stamp = (stat.st_mtime_ns, stat.st_size) if stat else (0, 0)
        if self._read is None or self._read[0] != stamp:
            self._read = (stamp, given.beside(holdings.read(self.path), self._tractors, self._implements))
        return self._read[1]

    def with_records(
        self,
        *,
        tractors: Iterable[Tractor] | DataFrame | str | Path = (),
        implements: Iterable[Implement] | DataFrame | str | Path = (),
    ) -> Store:
        """Return this store with records brought along for sizing; nothing is written.

        Parameters
        ----------
        tractors : tractor records; a DataFrame whose columns are fields, in SI or, by their names, in US units; or the
            path of a list. Classes among them take the place of the store's
        implements : implement records, likewise

        Raises
        ------
        evener.RecordRefused, evener.UnreadableFile
            A record has a field or a number it cannot have, which is named; or the path holds no list.
        """
        store = Store(self.path, built=self.built)
        store._tractors = given.tractors(tractors, self.path)
        store._implements = given.implements(implements, self.path)
        return store

    def read_sheet(self, path: str | Path) -> ReadSheet:
        """Read a job sheet, with everything that was noticed; nothing is raised for what is in it.

        Parameters
        ----------
        path : a TOML file
        """
        return sheets.read_sheet(path, self.holdings)

    def read_job(self, path: str | Path) -> JobSheet:
        """Read a job sheet that can be sized.

        Parameters
        ----------
        path : a TOML file

        Raises
        ------
        evener.JobRefused
            It cannot be sized; `.findings` has every mistake with its line.
        """
        return self.read_sheet(path).sizable()

    def enquiry(self, job: JobSheet | str | Path, among: Kinds = ("class",)) -> Enquiry:
        """Return a job with this store's records, to go on from.

        Parameters
        ----------
        job : a job sheet, or the path of one
        among : kinds of tractor record to pick among: class, stock, member

        Raises
        ------
        evener.JobRefused, evener.WrongUse
            The sheet cannot be sized, or there is no such kind.
        """
        kinds = accepted.kinds(among)
        read = self.read_job(job) if isinstance(job, str | Path) else accepted.job(job)
        return Enquiry(read, self.holdings, kinds)

    def rank(
        self,
        job: JobSheet | str | Path,
        *,
        among: Kinds = ("class",),
        top: int = 8,
        only: Mapping[str, Any] | None = None,
        where: str | Sequence[str] | None = None,
        with_second: bool = False,
    ) -> Ranking:
        """Rank tractors for a job: the size to buy, what decides it, how sure, and every margin.

        Parameters
        ----------
        job : a job sheet, or the path of one
        among : kinds of tractor record to rank: class, stock, member
        top : how many tractors to detail
        only : filters by name: price_up_to, year_from, hours_up_to, drive, loader, width_up_to, height_up_to
        where : conditions in SQL on the fields of tractors, which all are to hold
        with_second : whether the best two tractors together are looked for too

        Raises
        ------
        evener.JobRefused, evener.WrongUse
            The sheet cannot be sized, or an argument is out of its bounds.
        """
        from evener.enquiry.filters import filters
        from evener.ranking.ranking import rank
        from evener.results.choosing import keys_meeting

        conditions = [where] if isinstance(where, str) else list(where or ())
        meeting = {one: keys_meeting(self.path, "tractor", one) or () for one in conditions}
        most, those = accepted.whole("top", top, 1, 1000), filters(**(only or {}), where=meeting)
        return rank(self.enquiry(job, among), top=most, only=those, second=with_second)

    def explain(self, job: JobSheet | str | Path, tractor_id: str) -> Explanation:
        """Explain what each task asks of one tractor: every step with its formula, inputs, source and status.

        Parameters
        ----------
        job : a job sheet, or the path of one
        tractor_id : id of a tractor record of any kind

        Raises
        ------
        evener.JobRefused, evener.NoSuchTractor
            The sheet cannot be sized, or there is no such record.
        """
        from evener.results.explanation import explain

        return explain(self.enquiry(job), tractor_id)

    def cost(
        self, job: JobSheet | str | Path, tractor_id: str | None = None, *, among: Kinds = ("class",)
    ) -> CostSheet:
        """Say what a tractor costs in a year: by task, by year, and every step in the middle case.

        Parameters
        ----------
        job : a job sheet, or the path of one
        tractor_id : id of a tractor record of any kind; the one that costs least when left out
        among : kinds of tractor record that one is picked among

        Raises
        ------
        evener.JobRefused, evener.NoSuchTractor, evener.Refused
            The sheet cannot be sized, there is no such record, or no money can be reckoned.
        """
        from evener.comparing.yearly import cost

        return cost(self.enquiry(job, among), tractor_id)

    def beside(self, job: JobSheet | str | Path, *tractor_ids: str) -> Beside:
        """Set two to five tractors side by side, the customer's tasks as rows.

        Parameters
        ----------
        job : a job sheet, or the path of one
        tractor_ids : ids of tractor records of any kind

        Raises
        ------
        evener.JobRefused, evener.NoSuchTractor, evener.Refused, evener.WrongUse
            The sheet cannot be sized, there is no such record, no money can be reckoned, or they are too few or many.
        """
        from evener.comparing.beside import beside

        return beside(self.enquiry(job), tractor_ids)

    def runs(self, tractor_id: str, *, slope: str = "5 %", soil: str = "firm") -> Runs:
        """Say what a tractor runs: the largest machine of each family on stated ground, and what holds it there.

        Parameters
        ----------
        tractor_id : id of a tractor record of any kind
        slope, soil : the ground, in the words of a job sheet

        Raises
        ------
        evener.NoSuchTractor, evener.WrongUse
            There is no such record, or the ground is said in words that a sheet does not know.
        """
        from evener.comparing.runs import runs
        from evener.enquiry.enquiry import tractor_of

        return runs(
            self.holdings, tractor_of(tractor_id, self.holdings.tractors, self.holdings.aliases), slope=slope, soil=soil
        )

    def ask(
        self,
        job: JobSheet | str | Path,
        *,
        among: Kinds = ("class",),
        answers: Mapping[str, str] | None = None,
        units: Units | None = None,
        seeds: int = 0,
    ) -> Survey:
        """Say what to ask or measure next, the likeliest to change the pick first.

        Parameters
        ----------
        job : a job sheet, or the path of one
        among : kinds of tractor record to pick among
        answers : answers to put in first, by the id of their question
        units : "si" or "us"; the sheet's own when left out
        seeds : on how many other sets of draws to do it again, to say how stable it is

        Raises
        ------
        evener.JobRefused, evener.AnswerRefused, evener.WrongUse
            The sheet cannot be sized, an answer cannot be held, or an argument is out of its bounds.
        """
        from evener.results.survey import ask

        others = accepted.whole("seeds", seeds, 0, 100)
        said = [f"{question}={answer}" for question, answer in (answers or {}).items()]
        return ask(self.enquiry(job, among).with_answers(said), units=accepted.units(units), seeds=others)

    def open_shed(self, path: str | Path) -> Shed:
        """Open a shed: members with their tractors, machines and work; nothing is raised for what is in its file.

        Parameters
        ----------
        path : its folder, which holds a shed.toml, or that file
        """
        from evener.enquiry.sheds import read_shed
        from evener.sheds.shed import Shed

        return Shed(read_shed(path, self.holdings, self.path))

    def interview(self, answers: Sequence[str] = ()) -> Interview:
        """Begin an interview: from nothing to a job sheet by plain questions.

        Parameters
        ----------
        answers : answers kept from an earlier interview, to go on from; one that cannot be held is refused
        """
        from evener.interview.conversation import Interview

        return Interview(self.holdings, answers)

    def check(self, job: JobSheet | str | Path) -> SheetCheck:
        """Check a job sheet: every mistake with its line, whether the place adds up, and what owned machines do.

        Parameters
        ----------
        job : a job sheet, or the path of one
        """
        from evener.results.sheet_check import check

        if isinstance(job, str | Path):
            read = self.read_sheet(job)
            return check(read.job, read.findings, self.holdings)
        return check(accepted.job(job), (), self.holdings)
