"""`swatchword records`: look at, export, correct and delete the records of services."""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from assistant.core.record import WRITTEN
from assistant.edges import record_sheets
from assistant.edges.records import RecordStore
from assistant.errors import ConfigError

ABOUT = f"""\
Every service leaves a record. Here it is read, exported, corrected (the old value is kept) and
deleted. None of this can be done by voice. The file is not encrypted: keep it on an encrypted
disk.

fields to write: {", ".join(WRITTEN)}
"""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "records",
        help="read, export, correct and delete service records",
        description=ABOUT,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("store", type=Path, help="the file records.db of a salon or rehearsal")
    does = parser.add_subparsers(metavar="WHAT", required=True)
    does.add_parser("list", help="one line for each record").set_defaults(run=_list)
    show = does.add_parser("show", help="one record as a sheet")
    show.add_argument("id", type=int)
    show.set_defaults(run=_show)
    export = does.add_parser("export", help="all records, or one, printed in a format")
    export.add_argument("format", choices=("csv", "json", "markdown", "html"))
    export.add_argument("--id", type=int, help="only this one")
    export.set_defaults(run=_export)
    correct = does.add_parser("correct", help="write a field; the old value is kept")
    correct.add_argument("id", type=int)
    correct.add_argument("field", choices=WRITTEN, metavar="FIELD")
    correct.add_argument("value")
    correct.add_argument("--who", default="")
    correct.set_defaults(run=_correct)
    delete = does.add_parser("delete", help="remove for good: one, or all past a retention time")
    which = delete.add_mutually_exclusive_group(required=True)
    which.add_argument("--id", type=int)
    which.add_argument("--older-than", type=float, metavar="DAYS")
    delete.set_defaults(run=_delete)


def _opened(chosen: argparse.Namespace) -> RecordStore:
    path: Path = chosen.store
    if not path.is_file():
        raise ConfigError(f"{path}: no such file: name the records.db of a salon or rehearsal")
    return RecordStore(path, "", time.time)


def _list(chosen: argparse.Namespace) -> int:
    for record in _opened(chosen).all():
        client = record.written().get("client", "-")
        service = record.service
        print(
            f"{record.id:>5} {record_sheets.day_of(record)} chair {service['chair']} "
            f"{service['recipe']}, {service['state']}, client {client}"
        )
    return 0


def _show(chosen: argparse.Namespace) -> int:
    print(record_sheets.as_markdown(_opened(chosen).one(chosen.id)))
    return 0


def _export(chosen: argparse.Namespace) -> int:
    store = _opened(chosen)
    records = store.all() if chosen.id is None else (store.one(chosen.id),)
    match chosen.format:
        case "csv":
            print(record_sheets.as_csv(records), end="")
        case "json":
            print(record_sheets.as_json(records), end="")
        case "markdown":
            print("\n".join(map(record_sheets.as_markdown, records)))
        case _:
            if len(records) != 1:
                raise ConfigError("a page shows one record: add --id")
            print(record_sheets.as_html(records[0]), end="")
    return 0


def _correct(chosen: argparse.Namespace) -> int:
    _opened(chosen).correct(chosen.id, chosen.field, chosen.value, chosen.who)
    return 0


def _delete(chosen: argparse.Namespace) -> int:
    store = _opened(chosen)
    if chosen.id is not None:
        store.delete(chosen.id)
        print("1 removed")
    else:
        print(f"{store.delete_older_than(chosen.older_than)} removed")
    return 0
