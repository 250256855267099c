"""What is done with a store's records: listed, asked in SQL, audited, loaded, taken back, exported, recovered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from evener.enquiry import accepted

if TYPE_CHECKING:
    from evener.ingest.columns.mappings import FileMapping
    from evener.results.auditing import Audit
    from evener.results.batches import LoadedFile, Quarantine, Undone
    from evener.results.record_list import ListKind, RecordList
    from evener.results.sql_answer import SqlAnswer
    from evener.schema.store.recovery import Recovered

MOST_ROWS = 1_000_000


class RecordStore:
    """A store of records.

    Attributes
    ----------
    path : its file
    """

    def __init__(self, path: str | Path) -> None:
        self.path = Path(path)

    def list(
        self,
        kind: ListKind,
        *,
        only: Mapping[str, str | None] | None = None,
        where: str | Sequence[str] | None = None,
        columns: Sequence[str] = (),
        sort: Sequence[str] = (),
    ) -> RecordList:
        """Return the records of one kind.

        Parameters
        ----------
        kind : tractors, implements, families, sources or batches
        only : by field, the value wanted
        where : one SQL expression on the fields, or several that all are to hold, such as "mass_lb < 900"
        columns : fields wanted; all when left out
        sort : fields to order by, a minus before those that fall

        Raises
        ------
        evener.Refused, evener.StoreError
            There is no such kind or field, or the condition is refused.
        """
        from evener.results.record_list import records

        return records(self.path, kind, only=only, where=where, columns=columns, sort=sort)

    def query(self, sql: str, *, most: int = 100_000, seconds: float = 30.0) -> SqlAnswer:
        """Answer one SELECT, locked and read-only, in a process of its own.

        Parameters
        ----------
        sql : one SELECT, or EXPLAIN and one
        most : rows wanted at most [1]
        seconds : longest it may take [s]

        Raises
        ------
        evener.WrongUse, evener.StoreError
            An argument is out of its bounds, or the question is refused or was stopped.
        """
        from evener.results.sql_answer import query

        rows, limit = accepted.whole("rows", most, 1, MOST_ROWS), accepted.seconds("seconds", seconds)
        return query(self.path, sql, most=rows, seconds=limit)

    def query_to_parquet(
        self, sql: str, file: str | Path, *, most: int = 100_000, seconds: float = 30.0
    ) -> tuple[int, bool]:
        """Write the answer to one SELECT as Parquet; return how many rows, and whether there were more.

        Parameters
        ----------
        sql : one SELECT
        file : file to write, whole or not at all; never the store
        most, seconds : as `query`

        Raises
        ------
        evener.WrongUse, evener.StoreError
            As `query`, or the file cannot be written.
        """
        from evener.schema.store import asking
        from evener.writing import written

        rows, limit = accepted.whole("rows", most, 1, MOST_ROWS), accepted.seconds("seconds", seconds)
        with written(Path(file), self.path) as unfinished:
            return asking.ask_to_parquet(self.path, sql, unfinished, most=rows, seconds=limit)

    def audit(
        self,
        families: Sequence[str] = (),
        *,
        where: str | Sequence[str] | None = None,
        by: Sequence[str] = ("batch",),
        every: bool = False,
    ) -> Audit:
        """Audit rated PTO powers: lines per family, and records far from their peers or in the wrong unit.

        Parameters
        ----------
        families : families to audit, by name; all when left out
        where : one SQL expression that chooses implement records, or several that all are to hold

        Raises
        ------
        evener.StoreError
            There is no such family, nothing meets the condition, or it is refused.
        """
        from evener.results.auditing import audited

        return audited(self.path, families, where, by, every=every)

    def ingest(
        self,
        file: str | Path,
        *,
        record: str,
        owner: str | None = None,
        kind: str | None = None,
        mapping: FileMapping | str | Path | None = None,
        sheet: str | None = None,
        dry_run: bool = False,
        whole_list: bool = False,
        most_gone: bool = False,
    ) -> LoadedFile:
        """Load one list of tractors or implements: good rows into the store, the others set apart with reasons.

        Parameters
        ----------
        file : CSV, XLSX or Parquet; "-" for standard input
        record : what the rows are: tractors, implements, or machines for both in one list
        owner : whose they are, where no column says
        kind : tractors only: stock, member or class
        mapping : what the columns mean, or the path of a file that says so
        sheet : sheet of a workbook
        dry_run : read and check only
        whole_list : the list is all its owner has: units that it does not name are gone
        most_gone : of a whole list, most of the owner's units are gone indeed

        Raises
        ------
        evener.WrongUse, evener.UnreadableFile, evener.StoreError
            An argument does not fit the kind of record, the file holds no table, or the store cannot be used.
        """
        from evener.lists import load

        return load(
            self.path,
            Path(file),
            record=record,
            owner=owner,
            kind=kind,
            mapping=mapping,
            sheet=sheet,
            dry_run=dry_run,
            whole_list=whole_list,
            most_gone=most_gone,
        )

    def undo(self, batch_id: str) -> Undone:
        """Undo one ingest: its records go, and what they replaced comes back.

        Parameters
        ----------
        batch_id : as the list of batches shows it

        Raises
        ------
        evener.NotUndone, evener.StoreError
            There is no such ingest or others lean on it, or the store cannot be used; nothing was changed.
        """
        from evener.lists import undo

        return undo(self.path, batch_id)

    def quarantine(self, batch_id: str | None = None) -> Quarantine:
        """Return the rows that were refused and wait to be corrected.

        Parameters
        ----------
        batch_id : of one ingest; of all when left out
        """
        from evener.lists import quarantine

        return quarantine(self.path, batch_id)

    def export(
        self,
        kind: str,
        *,
        tractor_kind: str | None = None,
        owner: str | None = None,
        file: str | Path | None = None,
    ) -> str:
        """Return records as CSV that ingest reads back to the same records.

        Parameters
        ----------
        kind : tractors or implements
        tractor_kind : tractors only: stock, member or class
        owner : only records of this owner
        file : file to write it to as well, whole or not at all; never the store

        Raises
        ------
        evener.Refused, evener.StoreError
            There is no such kind of record or filter, or the file cannot be written.
        """
        from evener.lists import export

        return export(self.path, kind, {"kind": tractor_kind, "owner": owner}, None if file is None else Path(file))

    def recover(self) -> Recovered:
        """Move a damaged log aside, so that the store opens again; nothing is deleted.

        Raises
        ------
        evener.StoreError
            There is no store, it is in use, or it cannot be read without its log either.
        """
        from evener.schema.store.recovery import recover

        return recover(self.path)
