"""What is kept when a service ends: a sheet to read at once, and its record in the store."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from assistant.core.client_card import Card
from assistant.core.head import Head
from assistant.edges import client_cards
from assistant.edges.record_lock import Key
from assistant.edges.records import RecordStore
from assistant.edges.service_sheets import ServiceSheets


class KeptRecords:
    """Writes both. The store is opened for each write: a broken one never stops a session."""

    def __init__(
        self,
        sheets: Path,
        store: Path,
        session: str,
        utc: Callable[[], float],
        key: Key | None = None,
    ) -> None:
        """Sheets into a folder, records into the file `store` under the name `session`.

        A locked store needs its key; a sheet beside it would tell what it hides, so there is none.
        """
        self._sheets = ServiceSheets(sheets)
        self._store = store
        self._session = session
        self._utc = utc
        self._key = key

    def write(self, head: Head) -> None:
        """Write (or write anew) what is kept of a head; `StoreError` if the disk refuses."""
        if self._key is None:
            self._sheets.write(head)
        with closing(self._opened()) as store:
            store.write(head)

    def card(self, client: str) -> Card:
        """What is known of a client; `StoreError` or `ConfigError` if it cannot be read."""
        with closing(self._opened()) as store:
            return client_cards.read(store, client, self._utc())

    def _opened(self) -> RecordStore:
        return RecordStore(self._store, self._session, self._utc, self._key)
