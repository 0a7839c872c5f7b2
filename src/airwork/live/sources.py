"""Where lines come from: UDP, TCP, a serial port, a recording replayed. Each on a thread of its own; none ever raises.

`deliver(source, line)` is called with every line as it comes; the receiver stamps it.
"""

from __future__ import annotations

import math
import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
import serial

from airwork.airplane import Airplane
from airwork.errors import InputError
from airwork.live.reading import LONGEST, Sample
from airwork.live.recorder import COLUMNS
from airwork.recording import Flight, read_flight

Deliver = Callable[[str, bytes], None]
AGAIN_S = 2.0
POLL_S = 0.5
LARGEST = 65_536


class Source(threading.Thread):
    """A thread that delivers lines until it is stopped."""

    def __init__(self, name: str, deliver: Deliver) -> None:
        super().__init__(name=name, daemon=True)
        self.deliver, self._stop_asked = deliver, threading.Event()

    @property
    def going(self) -> bool:
        """Not asked to stop."""
        return not self._stop_asked.is_set()

    def stop(self) -> None:
        """Ask it to end."""
        self._stop_asked.set()

    def lines(self, rest: bytes, more: bytes) -> bytes:
        """Deliver the whole lines of what has come; returns the torn rest."""
        *whole, rest = (rest + more).split(b"\n")
        for line in whole:
            if line.strip():
                self.deliver(self.name, line)
        return rest if len(rest) <= LONGEST else b""


class Udp(Source):
    """Datagrams to a port; one or several lines in each."""

    def __init__(self, port: int, deliver: Deliver, host: str = "0.0.0.0") -> None:
        super().__init__(f"udp {port}", deliver)
        self._socket = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        try:
            self._socket.bind((host, port))
        except (OSError, OverflowError) as problem:
            self._socket.close()
            raise InputError(f"port {port} can't be used ({problem}).", where="udp") from None
        self._socket.settimeout(POLL_S)
        self.port = int(self._socket.getsockname()[1])

    def run(self) -> None:
        """Until stopped."""
        while self.going:
            try:
                datagram = self._socket.recv(LARGEST)
            except OSError:
                continue
            self.lines(b"", datagram + b"\n")
        self._socket.close()


class Tcp(Source):
    """A connection to a server of lines; made again when it is lost."""

    def __init__(self, host: str, port: int, deliver: Deliver) -> None:
        super().__init__(f"tcp {host}:{port}", deliver)
        self.address = (host, port)

    def run(self) -> None:
        """Until stopped."""
        while self.going:
            try:
                with socket.create_connection(self.address, timeout=AGAIN_S) as there:
                    there.settimeout(POLL_S)
                    self._read(there)
            except OSError:
                pass
            self._stop_asked.wait(AGAIN_S)

    def _read(self, there: socket.socket) -> None:
        rest = b""
        while self.going:
            try:
                more = there.recv(LARGEST)
            except TimeoutError:
                continue
            if not more:
                return
            rest = self.lines(rest, more)


class Serial(Source):
    """A serial port (NMEA 0183: 4,800 baud, 8N1); opened again when it is lost."""

    def __init__(self, device: str, baud: int, deliver: Deliver) -> None:
        super().__init__(f"serial {device}", deliver)
        self.device, self.baud = device, baud

    def run(self) -> None:
        """Until stopped."""
        while self.going:
            try:
                with serial.serial_for_url(self.device, baudrate=self.baud, timeout=POLL_S) as port:
                    rest = b""
                    while self.going:
                        rest = self.lines(rest, port.read(max(port.in_waiting, 1)))
            except (OSError, serial.SerialException, ValueError):
                self._stop_asked.wait(AGAIN_S)


class Replay(Source):
    """A recording given out in its own time, `speed` times as fast; 0: as fast as it is taken."""

    def __init__(
        self, path: Path, speed: float, take: Callable[[Sample], None], done: Callable[[], None],
        airplane: Airplane | None = None,
    ) -> None:  # fmt: skip
        super().__init__(f"file {path.name}", lambda *_: None)
        self.flight, self.speed, self.take, self.done = read_flight(path, airplane=airplane), speed, take, done

    def run(self) -> None:
        """To the recording's end."""
        began = time.monotonic()
        for at_s, sample in samples_of(self.flight, self.name):
            if self.speed > 0.0 and (ahead := at_s / self.speed - (time.monotonic() - began)) > 0.0:
                self._stop_asked.wait(ahead)
            if not self.going:
                return
            self.take(sample)
        self.done()


def samples_of(flight: Flight, source: str) -> Iterator[tuple[float, Sample]]:
    """(seconds from the first, sample) of what a recording measured; nothing that was derived."""
    columns = {n: c.values for n, c in flight.columns.items() if c.known == "measured" and n in COLUMNS}
    dated = flight.start_utc_s if math.isfinite(flight.start_utc_s) else 0.0
    for k, at in enumerate(flight.time_s.tolist()):
        values = {n: float(v[k]) for n, v in columns.items() if np.isfinite(v[k])}
        if values:
            yield at, Sample(source, at, dated + at, values)
