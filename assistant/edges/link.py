"""Between devices: each tells its board to a broker of the salon, one board shows them all.

The broker only carries news. A device without it goes on as before: its clocks, its calls and
its own board need no network. The broker keeps the last news of each device and says goodbye for
one that is gone.
"""

from __future__ import annotations

import json
import logging
import os
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from assistant.core.board_frame import Frame, decode, encode
from assistant.core.board_stations import Station, merged, station
from assistant.edges.clock import Sources, boottime
from assistant.errors import ConfigError

log = logging.getLogger(__name__)
TOPICS = "swatchword"
ALIVE_SECONDS = 5  # after one and a half of it without a sign the broker says goodbye
AT_LEAST_ONCE = 1
BEAT_SECONDS = 1.0
UTC = Sources().utc
PASSWORD = "SWATCHWORD_LINK_PASSWORD"
GOODBYE, HERE = b"silent", b"here"


@dataclass(frozen=True, slots=True)
class Broker:
    """Where the salon's broker is and how it wants to be asked."""

    host: str
    port: int
    user: str = ""
    tls: bool = False
    authority: Path | None = None  # who signed its certificate; None: whom this machine trusts


def broker(address: str, authority: Path | None = None) -> Broker:
    """The broker of "mqtt://user@host:1883" or "mqtts://..."; `ConfigError` if it is neither."""
    parts = urlsplit(address)
    if parts.scheme not in ("mqtt", "mqtts") or not parts.hostname or parts.password:
        raise ConfigError(
            f"{address}: write mqtt://host or mqtts://user@host:8883; the password goes into the "
            f"environment as {PASSWORD}"
        )
    tls = parts.scheme == "mqtts"
    return Broker(
        parts.hostname, parts.port or (8883 if tls else 1883), parts.username or "", tls, authority
    )


class Teller:
    """Tells the broker what this device's board shows. `show` never waits for the network."""

    def __init__(self, where: Broker, first_chair: int, utc: Callable[[], float] = UTC) -> None:
        """Connects by itself, now or whenever the broker is there."""
        self._utc = utc
        self._topic = f"{TOPICS}/chair-{first_chair}"
        self._first_chair = first_chair
        self._newest: Frame | None = None
        self._news = threading.Condition()
        self._over = False
        self._client = _client(where)
        self._client.will_set(f"{self._topic}/state", GOODBYE, AT_LEAST_ONCE, retain=True)
        self._client.on_connect = self._connected
        self._client.connect_async(where.host, where.port, ALIVE_SECONDS)
        self._client.loop_start()
        self._thread = threading.Thread(target=self._tell, name="link", daemon=True)
        self._thread.start()

    def show(self, frame: Frame) -> None:
        """The newest frame; one that was not sent yet is forgotten."""
        with self._news:
            self._newest = frame
            self._news.notify()

    def close(self) -> None:
        """The session is over: the broker forgets this device."""
        with self._news:
            self._over = True
            self._news.notify()
        self._thread.join(2 * BEAT_SECONDS)
        for part in ("board", "state"):
            self._client.publish(f"{self._topic}/{part}", b"", AT_LEAST_ONCE, retain=True)
        self._client.disconnect()
        self._client.loop_stop()

    def _connected(self, client: Any, user: Any, flags: Any, reason: Any, more: Any) -> None:
        if reason.is_failure:
            log.warning("the link's broker refuses: %s", reason)
            return
        client.publish(f"{self._topic}/state", HERE, AT_LEAST_ONCE, retain=True)

    def _tell(self) -> None:
        """A thread of its own: the newest frame, as often as there is one."""
        while True:
            with self._news:
                self._news.wait_for(lambda: self._newest is not None or self._over)
                frame, self._newest = self._newest, None
            if self._over or frame is None:
                return
            if self._client.is_connected():  # else it would all be kept and sent at once later
                chair, made = self._first_chair, self._utc()
                told = {"first_chair": chair, "made": made, "frame": encode(frame)}
                text = json.dumps(told, allow_nan=False)
                self._client.publish(f"{self._topic}/board", text, AT_LEAST_ONCE, retain=True)


class Watcher:
    """Hears every device from the broker and makes one board of them."""

    def __init__(
        self,
        where: Broker,
        now: Callable[[], float] = boottime,
        utc: Callable[[], float] = UTC,
    ) -> None:
        """Connects by itself, now or whenever the broker is there."""
        self._now, self._utc = now, utc
        self._lock = threading.Lock()
        self._stations: dict[str, Station] = {}
        self._beat = 0
        self._client = _client(where)
        self._client.on_connect = self._connected
        self._client.on_message = self._came
        self._client.connect_async(where.host, where.port, ALIVE_SECONDS)
        self._client.loop_start()

    def frame(self) -> Frame:
        """All devices at this moment."""
        with self._lock:
            self._beat += 1
            lost = () if self._client.is_connected() else ("the link between devices",)
            return merged(self._stations.values(), self._now(), self._beat, lost)

    def run(self, publish: Callable[[Frame], None], stopped: threading.Event) -> None:
        """A beat a second until stopped."""
        while not stopped.wait(BEAT_SECONDS):
            publish(self.frame())

    def close(self) -> None:
        """Hear no more."""
        self._client.disconnect()
        self._client.loop_stop()

    def _connected(self, client: Any, user: Any, flags: Any, reason: Any, more: Any) -> None:
        if reason.is_failure:
            log.warning("the link's broker refuses: %s", reason)
            return
        client.subscribe([(f"{TOPICS}/+/board", AT_LEAST_ONCE), (f"{TOPICS}/+/state", 1)])

    def _came(self, client: Any, user: Any, message: Any) -> None:
        name, part = message.topic.split("/")[1:3]
        with self._lock:
            try:
                self._take(name, part, message.payload, kept=message.retain)
            except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
                log.warning("%s: not news of a board: %s", message.topic, error)

    def _take(self, name: str, part: str, payload: bytes, *, kept: bool) -> None:
        """One message. `kept`: the broker had it from before, so nobody knows how old it is."""
        known = self._stations.get(name)
        if not payload:
            self._stations.pop(name, None)
        elif part == "board":
            plain = json.loads(payload)
            frame = decode(plain["frame"])
            if known is None or known.frame.beat != frame.beat:
                age = max(0.0, self._utc() - float(plain["made"])) if kept else None
                self._stations[name] = station(plain["first_chair"], frame, self._now(), age)
        elif payload == GOODBYE and known is not None:
            self._stations[name] = replace(known, alive=False)


def _client(where: Broker) -> Any:
    """A client that is not connected yet; `ConfigError` if the extra is not installed."""
    try:
        from paho.mqtt.client import Client
        from paho.mqtt.enums import CallbackAPIVersion
    except ImportError as error:
        raise ConfigError(
            "the link between devices is not installed: pip install 'swatchword[link]'"
        ) from error
    made = Client(CallbackAPIVersion.VERSION2)
    made.reconnect_delay_set(1, 10)
    if where.user:
        made.username_pw_set(where.user, os.environ.get(PASSWORD))
    if where.tls:
        try:
            made.tls_set(str(where.authority) if where.authority else None)
        except OSError as error:
            raise ConfigError(f"{where.authority}: no certificate to trust here") from error
    return made
