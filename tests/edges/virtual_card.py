"""A virtual sound card: a PulseAudio server of our own, without a kernel module.

The sink `room` is the loudspeaker and the air; recordings are played into it too. The source `ear`
is the microphone and can be taken away. So own speech comes back at equal level.
"""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
from pathlib import Path

NEEDS = "apt install pulseaudio libasound2-plugins libportaudio2"
SERVER = "pulseaudio -n --daemonize=no --exit-idle-time=-1 --use-pid-file=no"
EAR = "module-remap-source master=room.monitor source_name=ear"
SOON = 10.0  # seconds in which a server must answer


class VirtualCard:
    """Runs until `close`. `environment` is what a process needs to use it."""

    def __init__(self, folder: Path) -> None:
        """Start it; `missing` first: it may not be there."""
        place = folder / "socket"
        self.environment = {
            "XDG_RUNTIME_DIR": str(folder),
            "PULSE_SERVER": f"unix:{place}",
            "PULSE_SINK": "room",
            "PULSE_SOURCE": "ear",
            "PULSE_COOKIE": str(folder / "cookie"),
        }
        self.everything = {**os.environ, **self.environment, "HOME": str(folder)}
        self._server = subprocess.Popen(
            [
                *SERVER.split(),
                f"--load=module-native-protocol-unix socket={place} auth-anonymous=1",
                f"--load=module-cli-protocol-unix socket={folder}/orders",
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            env=self.everything,
        )
        self._folder, self._ear = folder, ""
        self._room = ""
        self._wait()
        self.restore()

    @staticmethod
    def missing() -> str:
        """What to install, or nothing."""
        return "" if shutil.which("pulseaudio") and shutil.which("pactl") else NEEDS

    def plug_in(self) -> None:
        """The microphone is there (again)."""
        self._ear = self._pactl(
            "load-module module-remap-source master=room.monitor source_name=ear"
        )

    def unplug(self) -> None:
        """The microphone is gone: who hears by it is cut off.

        The server would lend its listeners another microphone; a real one that is pulled does not.
        """
        self._pactl(f"unload-module {self._ear}")
        for line in self._pactl("list short source-outputs").splitlines():
            self._order(f"kill-source-output {line.split()[0]}")

    def remove(self) -> None:
        """Loudspeaker and microphone are both gone."""
        self.unplug()
        self._pactl(f"unload-module {self._room}")

    def restore(self) -> None:
        """Both are there (again)."""
        self._room = self._pactl("load-module module-null-sink sink_name=room")
        self.plug_in()

    def silence(self) -> None:
        """The loudspeaker is gone in mid-sentence: who speaks by it is cut off."""
        for line in self._pactl("list short sink-inputs").splitlines():
            self._order(f"kill-sink-input {line.split()[0]}")

    def play(self, path: Path) -> subprocess.Popen[bytes]:
        """Sound before the microphone."""
        return subprocess.Popen(["paplay", str(path)], env=self.everything)

    def listener(self) -> list[str]:
        """A command that writes what sounds in the room: 16 kHz, 16 bit, at once."""
        how = "--format=s16le --rate=16000 --channels=1 --latency-msec=10"
        return ["parec", "--device=room.monitor", *how.split()]

    def close(self) -> None:
        """End it."""
        self._server.kill()
        self._server.wait(SOON)

    def _pactl(self, what: str) -> str:
        done = subprocess.run(
            ["pactl", *what.split()], env=self.everything, capture_output=True, check=True
        )
        return done.stdout.decode().strip()

    def _order(self, what: str) -> None:
        """What `pactl` cannot ask for."""
        with socket.socket(socket.AF_UNIX) as line:
            line.connect(str(self._folder / "orders"))
            line.sendall(f"{what}\n".encode())
            line.shutdown(socket.SHUT_WR)
            while line.recv(4096):  # it closes when it has obeyed
                pass

    def _wait(self) -> None:
        """Until the server answers: each question gives it its turn."""
        for _ in range(300):
            asked = subprocess.run(["pactl", "info"], env=self.everything, capture_output=True)
            if asked.returncode == 0:
                return
        self.close()
        raise RuntimeError("the sound server does not start")
