"""What is done with a store's records: listed, asked in SQL, audited, loaded, taken back, exported, recovered."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from evener.enquiry import accepted

if TYPE_CHECKING:
    from evener.ingest.columns.mappings import FileMapping
    from evener.results.auditing import Audit
    from evener.results.batches import LoadedFile, Quarantine, Undone
    from evener.results.record_list import ListKind, RecordList
    from evener.results.sql_answer import SqlAnswer
    from evener.schema.store.keeping.backups import Restored
    from evener.schema.store.keeping.recovery import Recovered
    from evener.schema.store.keeping.verifying import Verified

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
        self, sql: str, file: str | Path, *, most: int = 100_000, seconds: float = 30.0, replace: bool = False
    ) -> tuple[int, bool]:
        """Write the answer to one SELECT as Parquet; return how many rows, and whether there were more.

        Parameters
        ----------
        sql : one SELECT
        file : file to write, whole or not at all; never the store
        most, seconds : as `query`
        replace : whether a file that is there may be replaced

        Raises
        ------
        evener.WrongUse, evener.StoreError
            As `query`, or the file cannot be written.
        """
        from evener.schema.store import asking
        from evener.writing import written

        rows, limit = accepted.whole("rows", most, 1, MOST_ROWS), accepted.seconds("seconds", seconds)
        with written(Path(file), self.path, replace=replace) as unfinished:
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
        whole_list: bool | Literal["most gone"] = False,
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
        whole_list : the list is all its owner has: what it does not name is gone; "most gone" where that is most of it

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
        replace: bool = False,
    ) -> str:
        """Return records as CSV that ingest reads back to the same records.

        Parameters
        ----------
        kind : tractors or implements
        tractor_kind : tractors only: stock, member or class
        owner : only records of this owner
        file : file to write it to as well, whole or not at all; never the store
        replace : whether a file that is there may be replaced

        Raises
        ------
        evener.Refused, evener.StoreError
            There is no such kind of record or filter, or the file cannot be written.
        """
        from evener.lists import export

        only = {"kind": tractor_kind, "owner": owner}
        return export(self.path, kind, only, None if file is None else Path(file), replace=replace)

    def verify(self) -> Verified:
        """Read the store whole and hold it against what it says of itself.

        Raises
        ------
        evener.StoreError
            There is no store, it is in use, or it cannot be read whole.
        """
        from evener.schema.store.keeping.verifying import verify

        return verify(self.path)

    def back_up(self, file: str | Path, *, replace: bool = False) -> Verified:
        """Copy the store into a file, checked before and after; return what the copy holds.

        Parameters
        ----------
        file : file to write, whole or not at all; never the store
        replace : whether a file that is there may be replaced

        Raises
        ------
        evener.StoreError
            The store has findings, is busy or damaged, or the file cannot be written.
        """
        from evener.schema.store.keeping.backups import back_up
        from evener.writing import written

        with written(Path(file), self.path, replace=replace) as unfinished:
            return back_up(self.path, unfinished)

    def restore(self, file: str | Path) -> Restored:
        """Bring the store back from a copy, checked before and after; the one from before is kept.

        Parameters
        ----------
        file : the copy, which stays as it is

        Raises
        ------
        evener.StoreError
            The copy has findings or is no store, or the store is in use; nothing was changed.
        """
        from evener.schema.store.keeping.backups import restore

        return restore(self.path, Path(file))

    def take_previous(self) -> Restored:
        """Bring back the copy from before the last ingest that was begun; the store from before is kept.

        Raises
        ------
        evener.StoreError
            There is no such copy, it is damaged itself, or the store is in use; nothing was changed.
        """
        from evener.schema.store.keeping.recovery import take_previous

        return take_previous(self.path)

    def recover(self) -> Recovered:
        """Move a damaged log aside, so that the store opens again; nothing is deleted.

        Raises
        ------
        evener.StoreError
            There is no store, it is in use, or it cannot be read without its log either.
        """
        from evener.schema.store.keeping.recovery import recover

        return recover(self.path)
