"""The calls that need no store at hand: they open one, and take plain paths, records or DataFrames."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

from evener.enquiry import given
from evener.opening import open_store
from evener.store import Kinds, Store

if TYPE_CHECKING:
    from pandas import DataFrame

    from evener.ranking.ranking import Ranking
    from evener.results.explanation import Explanation
    from evener.results.sheet_check import SheetCheck
    from evener.results.survey import Survey
    from evener.schema.records import Implement, JobSheet, Tractor
    from evener.scoring.core.printing import Units

    Tractors: TypeAlias = Iterable[Tractor] | DataFrame | str | Path
    Implements: TypeAlias = Iterable[Implement] | DataFrame | str | Path


def rank(
    job: JobSheet | str | Path,
    *,
    tractors: Tractors | None = None,
    implements: Implements = (),
    among: Kinds | None = None,
    top: int = 8,
    with_second: bool = False,
    store: Store | str | Path | None = None,
) -> Ranking:
    """Rank tractors for a job: the size to buy, what decides it, how sure, and every margin.

    Parameters
    ----------
    job : a job sheet, or the path of one
    tractors : tractors to rank: records, a DataFrame, or the path of a list; the store's when left out
    implements : implements that the job may name, likewise; beside the store's
    among : kinds of tractor record to rank; those of `tractors`, else classes, when left out
    top : how many tractors to detail
    with_second : whether the best two tractors together are looked for too
    store : a store or its path; the usual one when left out

    Raises
    ------
    evener.JobRefused, evener.RecordRefused, evener.WrongUse
        The sheet cannot be sized, a record has a value it cannot have, or an argument is out of its bounds.
    """
    held, kinds = _with(store, tractors, implements, among)
    return held.rank(job, among=kinds, top=top, with_second=with_second)


def explain(
    job: JobSheet | str | Path,
    tractor_id: str,
    *,
    tractors: Tractors | None = None,
    implements: Implements = (),
    store: Store | str | Path | None = None,
) -> Explanation:
    """Explain what each task asks of one tractor: every step with its formula, inputs, source and status.

    Parameters
    ----------
    job : a job sheet, or the path of one
    tractor_id : id of a tractor record
    tractors, implements, store : as `rank` takes them

    Raises
    ------
    evener.JobRefused, evener.RecordRefused, evener.NoSuchTractor
        As `rank`, or there is no such record.
    """
    held, _ = _with(store, tractors, implements, None)
    return held.explain(job, tractor_id)


def ask(
    job: JobSheet | str | Path,
    *,
    tractors: Tractors | None = None,
    implements: Implements = (),
    among: Kinds | None = None,
    answers: Mapping[str, str] | None = None,
    units: Units | None = None,
    seeds: int = 0,
    store: Store | str | Path | None = None,
) -> Survey:
    """Say what to ask or measure next, the likeliest to change the pick first.

    Parameters
    ----------
    job : a job sheet, or the path of one
    tractors, implements, among, store : as `rank` takes them
    answers, units, seeds : as `Store.ask` takes them

    Raises
    ------
    evener.JobRefused, evener.RecordRefused, evener.AnswerRefused, evener.WrongUse
        As `rank`, or an answer cannot be held.
    """
    held, kinds = _with(store, tractors, implements, among)
    return held.ask(job, among=kinds, answers=answers, units=units, seeds=seeds)


def check(job: JobSheet | str | Path, *, store: Store | str | Path | None = None) -> SheetCheck:
    """Check a job sheet: every mistake with its line, whether the place adds up, and what owned machines do.

    Parameters
    ----------
    job : a job sheet, or the path of one
    store : a store or its path; the usual one when left out
    """
    return _store(store).check(job)


def _store(store: Store | str | Path | None) -> Store:
    return store if isinstance(store, Store) else open_store(store)


def _with(
    store: Store | str | Path | None, tractors: Tractors | None, implements: Implements, among: Kinds | None
) -> tuple[Store, Kinds]:
    held = _store(store)
    if tractors is None:
        return held.with_records(implements=implements), "class" if among is None else among
    brought = given.tractors(tractors, held.path)
    kinds = sorted({one.kind for one in brought}) or ["class"]
    return held.with_records(tractors=brought, implements=implements), kinds if among is None else among
