"""What is kept when a service ends: a sheet to read at once, and its record in the store."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from assistant.core.head import Head
from assistant.edges.records import RecordStore
from assistant.edges.service_sheets import ServiceSheets


class KeptRecords:
    """Writes both. The store is opened for each write: a broken one never stops a session."""

    def __init__(self, sheets: Path, store: Path, session: str, utc: Callable[[], float]) -> None:
        """Sheets into a folder, records into the file `store` under the name `session`."""
        self._sheets = ServiceSheets(sheets)
        self._store = store
        self._session = session
        self._utc = utc

    def write(self, head: Head) -> None:
        """Write (or write anew) what is kept of a head; `StoreError` if the disk refuses."""
        self._sheets.write(head)
        with closing(RecordStore(self._store, self._session, self._utc)) as store:
            store.write(head)
