"""Lists into a store and out of it: loaded, taken back, refused rows, exported."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal

from evener.enquiry.refused import Refused, WrongUse
from evener.ingest.columns.mappings import FileMapping, read_mapping, said_column
from evener.ingest.columns.mappings import written as mapping_text
from evener.ingest.rows.correction import Correction, shown
from evener.ingest.store import batches, senders
from evener.ingest.store import export as exports
from evener.ingest.store import lists as loading
from evener.ingest.store import quarantine as refused_rows
from evener.ingest.store import undo as undoing
from evener.ingest.store.lists import MACHINES
from evener.ingest.store.put_right import owning
from evener.ingest.store.put_right.owning import Joined
from evener.ingest.store.report import WholeList
from evener.results.batches import LoadedFile, Quarantine, Undone
from evener.schema import fields
from evener.schema.store import aliases, connection
from evener.schema.store import batches as entries
from evener.schema.store import undoing as undo_rows
from evener.scoring.ratings.refresh import refresh
from evener.writing import write


def meant(record: str, *, owner: str | None = None, kind: str | None = None) -> str:
    """Return the kind of record a word means, where owner and kind fit it.

    Raises
    ------
    evener.WrongUse
        It means none, or they do not fit.
    """
    try:
        name = "tractor" if record == MACHINES else batches.record_named(record)
    except ValueError as error:
        raise WrongUse(f"as: {error}") from None
    known = fields.of(name)
    for argument, value in (("kind", kind), ("owner", owner)):
        if value is not None and argument not in known:
            raise WrongUse(f"{argument}: {record} have none; leave it out")
    if kind is not None and kind not in known["kind"].choices:
        raise WrongUse(f"kind takes {', '.join(known['kind'].choices)}, not {kind}")
    return name


def mapping_of(mapping: FileMapping | str | Path | None, record: str, columns: Sequence[str] = ()) -> FileMapping:
    """Return what columns mean: as given, as a file says, or nothing settled.

    Parameters
    ----------
    mapping : a mapping, or the path of a file that says so
    record : kind of record
    columns : single columns, which go before it: "column C=mass_kg lb"
    """
    held = read_mapping(Path(mapping), record) if isinstance(mapping, str | Path) else mapping or FileMapping()
    said = dict(said_column(one, record) for one in columns)
    return replace(held, columns={**held.columns, **said}) if said else held


def write_mapping(
    loaded: LoadedFile,
    settled: FileMapping,
    file: Path,
    store: Path,
    *,
    inputs: Iterable[Path] = (),
    replace: bool = False,
) -> None:
    """Write what the columns of a list were taken for, to be edited and used again.

    Parameters
    ----------
    loaded : the list, as it was read
    settled : what was settled by hand
    file : file to write, whole or not at all
    store : the store, which is never written over
    inputs : files that were read, which are never written over either
    replace : whether a file that is there may be replaced
    """
    rows = loaded.report.rows
    if rows is not None:
        text = mapping_text(rows.matches, rows.record, settled)
        write(file, text, store, inputs=inputs, replace=replace)


def load(
    path: Path,
    file: Path,
    *,
    record: str,
    owner: str | None = None,
    kind: str | None = None,
    mapping: FileMapping | str | Path | None = None,
    sheet: str | None = None,
    dry_run: bool = False,
    whole_list: bool | Literal["most gone"] = False,
) -> LoadedFile:
    """Load one list, and fit the ratings again where implements changed; as `Store.ingest`.

    Parameters
    ----------
    path : the store
    file, record, owner, kind, mapping, sheet, dry_run, whole_list : as `Store.ingest` takes them
    """
    name = meant(record, owner=owner, kind=kind)
    settled = mapping_of(mapping, name)
    report, *further = loading.ingest_list(
        path,
        file,
        record=record,
        owner=owner,
        kind=kind,
        mapping=settled,
        sheet=sheet,
        dry_run=dry_run,
        whole=WholeList(whole_list == "most gone") if whole_list else None,
        after=refresh,
    )
    return LoadedFile(report, dry_run, tuple(further))


def undo(path: Path, batch_id: str) -> Undone:
    """Take one ingest back, and fit the ratings again; as `Store.undo`.

    Parameters
    ----------
    path : the store
    batch_id : the ingest
    """
    return Undone(**undoing.undo(path, batch_id, after=refresh).as_dict())


def quarantine(path: Path, batch_id: str | None = None) -> Quarantine:
    """Return the refused rows that wait; as `Store.quarantine`.

    Parameters
    ----------
    path : the store
    batch_id : of one ingest; of all when left out

    Raises
    ------
    evener.WrongUse
        There is no such ingest.
    """
    with connection.open_read(path) as con:
        if batch_id is not None and undo_rows.batch(con, batch_id) is None:
            raise WrongUse(f"batch: there is no ingest {batch_id!r} in the store; see: evener list batches")
        return Quarantine(tuple(refused_rows.waiting(con, batch_id)))


def export(
    path: Path, record: str, only: Mapping[str, str | None], file: Path | None = None, *, replace: bool = False
) -> str:
    """Return records as CSV that reads back; as `Store.export`.

    Parameters
    ----------
    path : the store
    record : tractors or implements
    only : by field, the value wanted; None is no condition
    file : file to write it to as well
    replace : whether a file that is there may be replaced
    """
    name = batches.record_named(record)
    wanted = {field: value for field, value in only.items() if value is not None}
    strange = [field for field in wanted if field not in fields.of(name)]
    if strange:
        raise Refused(f"{record} have no {' or '.join(strange)} to go by")
    for field, value in wanted.items():
        choices = fields.of(name)[field].choices
        if choices and value not in choices:
            raise WrongUse(f"{field} takes {', '.join(choices)}, not {value}")
    text = exports.export(path, name, wanted)
    if file is not None:
        write(file, text, path, replace=replace)
    return text


def memory(path: Path) -> list[dict[str, str]]:
    """Return what a store remembers of senders' lists: owner, kind of record, what, heading and what was settled.

    Parameters
    ----------
    path : the store
    """
    told = []
    for one in senders.remembered(path):
        named = one._asdict()
        del named["batch_id"]
        told.append({name: value or "" for name, value in named.items()})
    for held in senders.corrected(path):
        read = Correction.read(held)
        said = f"{shown(held.record, read.field, read.value)}: {held.why}"
        told.append(
            {
                "owner": held.owner or "",
                "record": held.record,
                "what": "correction",
                "heading": f"{read.field} of {read.number or ' '.join(read.row.values()).strip()}",
                "said": said,
            }
        )
    return told


def forget(path: Path, owner: str | None) -> int:
    """Forget what a store remembers of an owner's lists, and return how many things there were.

    Parameters
    ----------
    path : the store
    owner : the owner; None for lists without one
    """
    return senders.forget(path, owner)


def own_batches(path: Path) -> frozenset[str]:
    """Return the ids of the ingests that did not come with the library."""
    with connection.open_read(path) as con:
        return entries.own(con)


def owners(path: Path) -> list[dict[str, Any]]:
    """Return the owners of a store's machines: name, further names, how many tractors and implements.

    Parameters
    ----------
    path : the store
    """
    with connection.open_read(path) as con:
        return [{**one._asdict(), "also": list(one.also)} for one in aliases.every(con)]


def join_owners(path: Path, owner: str, also: Sequence[str]) -> Joined:
    """Say that further names are an owner's; his records come under one name, and all of them mean him from then on.

    Parameters
    ----------
    path : the store
    owner : the owner, as his records are to name him
    also : the further names
    """
    return owning.join(path, owner, also, after=refresh)
