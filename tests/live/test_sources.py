"""Lines by TCP and by a serial port, over a real connection: torn in the middle, lost and made again."""

from __future__ import annotations

import math
import os
import pty
import socket
import threading
import time
import tty
from collections.abc import Callable

import pytest
import serial

from airwork.live import sources
from airwork.live.reading import LineReader
from airwork.live.sources import Serial, Source, Tcp

# [NMEA 0183] RMC and GGA as the standard's own worked sentences have them; checksums by the standard's XOR.
RMC = b"$GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W*6A\r\n"
GGA = b"$GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,*47\r\n"


@pytest.fixture
def heard(monkeypatch: pytest.MonkeyPatch) -> list[bytes]:
    """Lines as they were delivered; a lost connection is tried again at once."""
    monkeypatch.setattr(sources, "AGAIN_S", 0.05)
    monkeypatch.setattr(sources, "POLL_S", 0.05)
    return []


def wait(until: Callable[[], bool]) -> None:
    deadline = time.monotonic() + 120.0
    while not until():
        assert time.monotonic() < deadline
        time.sleep(0.01)


def ended(source: Source) -> None:
    source.stop()
    source.join(120.0)
    assert not source.is_alive()


def test_lines_by_tcp_go_on_after_the_connection_was_lost(heard: list[bytes]) -> None:
    with socket.socket() as server:
        server.bind(("127.0.0.1", 0))
        server.listen()
        source = Tcp("127.0.0.1", server.getsockname()[1], lambda _, line: heard.append(line))
        source.start()
        first, _ = server.accept()
        first.sendall(RMC + GGA[:20])  # torn here, and the rest never comes
        wait(lambda: len(heard) == 1)
        first.close()
        again, _ = server.accept()
        again.sendall(GGA[:30])
        time.sleep(0.1)
        again.sendall(GGA[30:] + RMC)
        wait(lambda: len(heard) == 3)
        ended(source)
        again.close()
    assert heard == [RMC.rstrip(b"\n"), GGA.rstrip(b"\n"), RMC.rstrip(b"\n")]
    assert [s.values["latitude_rad"] for s in LineReader("tcp").read(heard[0], 0.0)] == [
        pytest.approx(math.radians(48.0 + 7.038 / 60.0))
    ]


def test_a_server_that_is_not_there_is_tried_until_the_end(heard: list[bytes]) -> None:
    with socket.socket() as nobody:
        nobody.bind(("127.0.0.1", 0))  # bound, not listening: refused
        source = Tcp("127.0.0.1", nobody.getsockname()[1], lambda _, line: heard.append(line))
        source.start()
        time.sleep(0.2)
        assert source.is_alive()
        ended(source)
    assert heard == []


def test_lines_by_a_serial_port_and_the_plug_pulled(heard: list[bytes], monkeypatch: pytest.MonkeyPatch) -> None:
    here, there = pty.openpty()
    tty.setraw(there)
    source = Serial(os.ttyname(there), 4800, lambda _, line: heard.append(line))
    opened = threading.Event()
    opening = serial.serial_for_url
    monkeypatch.setattr(serial, "serial_for_url", lambda *a, **k: (opening(*a, **k), opened.set())[0])
    source.start()
    assert opened.wait(120.0)  # what is written before is thrown away by the port that opens
    os.write(here, RMC + GGA[:10])
    wait(lambda: len(heard) == 1)
    os.write(here, GGA[10:])
    wait(lambda: len(heard) == 2)
    os.close(there)
    os.close(here)
    time.sleep(0.2)
    assert source.is_alive()
    ended(source)
    assert heard == [RMC.rstrip(b"\n"), GGA.rstrip(b"\n")]
