"""Evener sizes a farm tractor to the work a place asks of it, and shows the margins and the reasons.

    import evener
    store = evener.open()
    job = store.read_job("ridge.toml")
    answer = store.rank(job)

Nothing heavy is imported before a call needs it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from evener.bench import FamilyCard, audit, ratings
    from evener.calls import ask, check, explain, rank
    from evener.comparing.beside import Beside
    from evener.comparing.runs import Runs
    from evener.comparing.yearly import CostSheet
    from evener.enquiry.enquiry import Enquiry
    from evener.enquiry.refused import JobRefused, NoSuchTractor, RecordRefused, Refused, WrongUse
    from evener.ingest.files.readers import UnreadableFile
    from evener.ingest.jobsheet.answers import AnswerRefused
    from evener.ingest.store.undo import NotUndone
    from evener.interview.conversation import Interview
    from evener.opening import location
    from evener.opening import open_store as open  # noqa: A004
    from evener.ranking.ranking import Ranking
    from evener.results.auditing import Audit
    from evener.results.batches import LoadedFile, LoadedFiles, Quarantine, Undone
    from evener.results.choosing import UnknownColumn
    from evener.results.explanation import Explanation
    from evener.results.record_list import RecordList
    from evener.results.sheet_check import SheetCheck
    from evener.results.sql_answer import SqlAnswer
    from evener.results.survey import Survey
    from evener.results.tables import FieldList, MethodTable, fields, methods
    from evener.scenario import Demo, demo
    from evener.schema.records import Implement, JobSheet, Tractor
    from evener.schema.store.faults import NoStore, StoreBusy, StoreError
    from evener.scoring.audit.frames import AuditFrames
    from evener.sheds.checking import ShedCheck
    from evener.sheds.covering import Cover
    from evener.sheds.letters import Letter
    from evener.sheds.season import Assignment
    from evener.sheds.shed import Shed
    from evener.sheds.together import Jointly
    from evener.store import Store

    __version__: str

_HOME = {
    "AnswerRefused": "ingest.jobsheet.answers",
    "Assignment": "sheds.season",
    "Audit": "results.auditing",
    "AuditFrames": "scoring.audit.frames",
    "Beside": "comparing.beside",
    "CostSheet": "comparing.yearly",
    "Cover": "sheds.covering",
    "Demo": "scenario",
    "Enquiry": "enquiry.enquiry",
    "Explanation": "results.explanation",
    "FamilyCard": "bench",
    "FieldList": "results.tables",
    "Implement": "schema.records",
    "Interview": "interview.conversation",
    "JobRefused": "enquiry.refused",
    "JobSheet": "schema.records",
    "Jointly": "sheds.together",
    "Letter": "sheds.letters",
    "LoadedFile": "results.batches",
    "LoadedFiles": "results.batches",
    "MethodTable": "results.tables",
    "NoStore": "schema.store.faults",
    "NoSuchTractor": "enquiry.refused",
    "NotUndone": "ingest.store.undo",
    "Quarantine": "results.batches",
    "Ranking": "ranking.ranking",
    "RecordList": "results.record_list",
    "RecordRefused": "enquiry.refused",
    "Refused": "enquiry.refused",
    "Runs": "comparing.runs",
    "Shed": "sheds.shed",
    "ShedCheck": "sheds.checking",
    "SheetCheck": "results.sheet_check",
    "SqlAnswer": "results.sql_answer",
    "Store": "store",
    "StoreBusy": "schema.store.faults",
    "StoreError": "schema.store.faults",
    "Survey": "results.survey",
    "Tractor": "schema.records",
    "Undone": "results.batches",
    "UnknownColumn": "results.choosing",
    "UnreadableFile": "ingest.files.readers",
    "WrongUse": "enquiry.refused",
    "ask": "calls",
    "audit": "bench",
    "check": "calls",
    "demo": "scenario",
    "explain": "calls",
    "fields": "results.tables",
    "location": "opening",
    "methods": "results.tables",
    "open": "opening",
    "rank": "calls",
    "ratings": "bench",
}
_NAMED = {"open": "open_store"}

__all__ = [
    "AnswerRefused",
    "Assignment",
    "Audit",
    "AuditFrames",
    "Beside",
    "CostSheet",
    "Cover",
    "Demo",
    "Enquiry",
    "Explanation",
    "FamilyCard",
    "FieldList",
    "Implement",
    "Interview",
    "JobRefused",
    "JobSheet",
    "Jointly",
    "Letter",
    "LoadedFile",
    "LoadedFiles",
    "MethodTable",
    "NoStore",
    "NoSuchTractor",
    "NotUndone",
    "Quarantine",
    "Ranking",
    "RecordList",
    "RecordRefused",
    "Refused",
    "Runs",
    "Shed",
    "ShedCheck",
    "SheetCheck",
    "SqlAnswer",
    "Store",
    "StoreBusy",
    "StoreError",
    "Survey",
    "Tractor",
    "Undone",
    "UnknownColumn",
    "UnreadableFile",
    "WrongUse",
    "__version__",
    "ask",
    "audit",
    "check",
    "demo",
    "explain",
    "fields",
    "location",
    "methods",
    "open",
    "rank",
    "ratings",
]


def __getattr__(name: str) -> Any:
    if name == "__version__":
        from importlib.metadata import version

        return version("evener")
    if name not in _HOME:
        raise AttributeError(f"evener has no {name!r}")
    from importlib import import_module

    value = getattr(import_module(f"evener.{_HOME[name]}"), _NAMED.get(name, name))
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
