"""`swatchword records`: look at, export, correct, lock and delete the records of services."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path

from assistant.cli import salon_records
from assistant.core.record import WRITTEN
from assistant.edges import client_cards, record_sheets, settings_file
from assistant.edges.alert_tests import RESULTS, AlertTest, read_day
from assistant.edges.record_rows import Stored, local_day
from assistant.edges.records import RecordStore
from assistant.edges.service_sheets import sheet_name
from assistant.errors import ConfigError

ABOUT = f"""\
Every service leaves a record. Here it is read, exported, corrected (the old value is kept),
locked and deleted, and an alert test is written down. None of this can be done by voice.

fields to write: {", ".join(WRITTEN)}
"""
EXAMPLES = """\
examples:
  swatchword records list
  swatchword records show 12
  swatchword records correct 12 outcome "even, cooler next time" --who ann
  swatchword records correct 12 "left over" "root bowl 15, toner bowl 8"    for `plan --as-used`
  swatchword records test 41 --day 2026-11-20 --line "demi, first line" --result clear --who ann
  swatchword records client 41                 what the gate and "same as last time" know
  swatchword records export csv > records.csv
  swatchword records delete --older-than 730   asks first; --yes does not
  swatchword records --store rehearsal-out/root-tap/records.db show 1

Locking (extra 'private') seals every text of records.db under a passphrase; it is asked for, or
taken from SWATCHWORD_PASSPHRASE. Which days and sessions have records stays readable, so do the
journals of the sessions (commands, times, client numbers, what the gate was told of the last
visit and test): for those, and for a lost machine, encrypt the whole disk. A lost
passphrase cannot be mended by anybody.
"""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add the command and its options."""
    parser = commands.add_parser(
        "records",
        help="read, export, correct, lock and delete service records",
        description=ABOUT,
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--store", type=Path, metavar="FILE", help="another records.db")
    does = parser.add_subparsers(metavar="WHAT", required=True)
    _add_reading(does)
    _add_writing(does)
    does.add_parser("lock", help="seal every text under a passphrase").set_defaults(run=_lock)
    does.add_parser("unlock", help="open them all again").set_defaults(run=_unlock)


def _add_reading(does: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    listing = does.add_parser("list", help="one line for each record")
    listing.add_argument("--client", metavar="NAME", help="only of this one")
    listing.set_defaults(run=_list)
    show = does.add_parser("show", help="one record as a sheet")
    show.add_argument("id", type=int)
    show.set_defaults(run=_show)
    client = does.add_parser("client", help="what is known of a client before a service")
    client.add_argument("client", metavar="NAME")
    client.set_defaults(run=_client)
    export = does.add_parser("export", help="all records, or some, printed in a format")
    export.add_argument("format", choices=("csv", "json", "markdown", "html"))
    only = export.add_mutually_exclusive_group()
    only.add_argument("--id", type=int, help="only this one")
    only.add_argument("--client", metavar="NAME", help="only of this one")
    export.set_defaults(run=_export)


def _add_writing(does: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    correct = does.add_parser("correct", help="write a field; the old value is kept")
    correct.add_argument("id", type=int)
    correct.add_argument("field", choices=WRITTEN, metavar="FIELD")
    correct.add_argument("value")
    correct.add_argument("--who", default="")
    correct.set_defaults(run=_correct)
    test = does.add_parser("test", help="write an alert test down")
    test.add_argument("client", metavar="NAME")
    test.add_argument("--day", default="", metavar="2026-11-20", help="when it was made (today)")
    test.add_argument("--line", default="", help="the product line that was tested")
    test.add_argument(
        "--result", choices=RESULTS, required=True, help="lifted: an earlier reaction is void"
    )
    test.add_argument("--who", default="", help="who made it, or who lifts the reaction")
    test.add_argument("--least-days", type=int, default=0, help="from the leaflet, if it says so")
    test.add_argument("--most-days", type=int, default=0, help="from the leaflet, if it says so")
    test.set_defaults(run=_test)
    delete = does.add_parser("delete", help="remove for good: one, a client, or all past a time")
    which = delete.add_mutually_exclusive_group(required=True)
    which.add_argument("--id", type=int)
    which.add_argument("--client", metavar="NAME")
    which.add_argument("--older-than", type=float, metavar="DAYS")
    delete.add_argument("--yes", action="store_true", help="do not ask, for a script")
    delete.set_defaults(run=_delete)


def _list(chosen: argparse.Namespace) -> int:
    with closing(salon_records.opened(chosen.store)) as store:
        records = store.all() if chosen.client is None else store.of_client(chosen.client)
    print("\n".join(map(_line, records)) or "no records")
    return 0


def _line(record: Stored) -> str:
    service = record.service
    return (
        f"{record.id:>5} {record.day} chair {service['chair']} "
        f"{service['recipe']}, {service['state']}, client {record.client or '-'}"
    )


def _show(chosen: argparse.Namespace) -> int:
    with closing(salon_records.opened(chosen.store)) as store:
        print(record_sheets.as_markdown(store.one(chosen.id)))
    return 0


def _client(chosen: argparse.Namespace) -> int:
    with closing(salon_records.opened(chosen.store)) as store:
        card, tests = (
            client_cards.read(store, chosen.client, time.time()),
            store.tests(chosen.client),
        )
    for line in client_cards.in_words(card, settings_file.load().rule):
        print(line)
    for test in tests:
        print(f"  {test.day} {test.result}: {test.line or '-'} ({test.who or 'nobody named'})")
    return 0


def _export(chosen: argparse.Namespace) -> int:
    with closing(salon_records.opened(chosen.store)) as store:
        records = _wanted(chosen, store)
        tests = [t for name in {r.client for r in records if r.client} for t in store.tests(name)]
    match chosen.format:
        case "csv":
            print(record_sheets.as_csv(records), end="")
        case "json":
            print(record_sheets.as_json(records, tests), end="")
        case "markdown":
            print("\n".join(map(record_sheets.as_markdown, records)))
        case _:
            if len(records) != 1:
                raise ConfigError("a page shows one record: add --id")
            print(record_sheets.as_html(records[0]), end="")
    return 0


def _wanted(chosen: argparse.Namespace, store: RecordStore) -> Sequence[Stored]:
    if chosen.id is not None:
        return (store.one(chosen.id),)
    return store.all() if chosen.client is None else store.of_client(chosen.client)


def _correct(chosen: argparse.Namespace) -> int:
    with closing(salon_records.opened(chosen.store)) as store:
        store.correct(chosen.id, chosen.field, chosen.value, chosen.who)
    return 0


def _test(chosen: argparse.Namespace) -> int:
    today = local_day(time.time())
    test = AlertTest(
        chosen.client,
        read_day(chosen.day) if chosen.day else today,
        chosen.line,
        chosen.result,
        chosen.who,
        chosen.least_days,
        chosen.most_days,
    )
    if (problem := test.problem(today)) is not None:
        raise ConfigError(problem)
    with closing(salon_records.opened(chosen.store, new=True)) as store:
        store.add_test(test)
    return 0


def _delete(chosen: argparse.Namespace) -> int:
    with closing(salon_records.opened(chosen.store)) as store:
        if not chosen.yes and not _agreed(chosen, store):
            print("nothing was removed")
            return 1
        if chosen.id is not None:
            gone: Sequence[Stored] = (store.delete(chosen.id),)
        elif chosen.client is not None:
            gone = store.delete_client(chosen.client)
        else:
            gone = store.delete_older_than(chosen.older_than)
    sheets = [_sheet_of(salon_records.path_of(chosen.store), record) for record in gone]
    for sheet in sheets:
        sheet.unlink(missing_ok=True)
    print(f"{len(gone)} removed, with the sheets beside the store")
    if gone:
        print("journals of their sessions stay: to forget what was said, delete their folders")
    return 0


def _agreed(chosen: argparse.Namespace, store: RecordStore) -> bool:
    """Shows what would go and asks; nobody to ask is a refusal, not a yes."""
    if chosen.older_than is not None:
        records: Sequence[Stored] = store.older_than(chosen.older_than)
        tests = f", and alert tests older than {chosen.older_than:g} days"
    else:
        records = _wanted(chosen, store)
        tests = f", and all alert tests of {chosen.client}" if chosen.client is not None else ""
    if not sys.stdin.isatty():
        raise ConfigError(f"{len(records)} to remove for good{tests}: add --yes if it is meant")
    for record in records:
        print(_line(record))
    question = f"Remove {len(records)} for good{tests}? It cannot be taken back. [y/N] "
    return input(question).strip().lower() in ("y", "yes")


def _sheet_of(store: Path, record: Stored) -> Path:
    return store.parent / record.session / sheet_name(record.head, record.service["chair"])


def _lock(chosen: argparse.Namespace) -> int:
    with closing(salon_records.opened(chosen.store, new=True)) as store:
        if store.locked:
            store.scrub()
            print("locked already; cleaned once more")
            return 0
        store.seal_all(*salon_records.new_key())
    sheets = [*salon_records.path_of(chosen.store).parent.glob("*/*/head-*-chair-*.md")]
    print(f"locked. Not in it and still plain: {len(sheets)} sheets of earlier services, journals")
    return 0


def _unlock(chosen: argparse.Namespace) -> int:
    with closing(salon_records.opened(chosen.store)) as store:
        if not store.locked:
            raise ConfigError("it is not locked")
        store.seal_all(None)
    print("unlocked: every text is plain now")
    return 0
