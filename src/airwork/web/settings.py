"""Where the server listens and keeps its things. One frozen record, made by the command that starts it."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from pathlib import Path

from airwork.errors import InputError
from airwork.web.tiles import Tiles

ACCOUNTS_FILE = ".airwork-accounts.json"
MAX_UPLOAD_BYTES = 200 * 1024 * 1024  # a two-hour 10 Hz file of 30 columns has about 15 MB


@dataclass(frozen=True, slots=True)
class Settings:
    """Settings of one server.

    folder : lessons, airplanes and recordings of the user.
    data : the logbook, a file or a database address; None has none.
    tiles : a PMTiles file of the user's own, drawn under every map.
    """

    folder: Path
    data: str | None = None
    host: str = "127.0.0.1"
    port: int = 8642
    tiles: Tiles | None = None
    max_upload_bytes: int = MAX_UPLOAD_BYTES

    @property
    def is_local(self) -> bool:
        """Only this machine can reach it."""
        try:
            return ipaddress.ip_address(self.host).is_loopback
        except ValueError:
            return self.host == "localhost"


def require_safe(settings: Settings, *, password_set: bool) -> None:
    """Refuse to listen beyond this machine before a password has been set.

    Raises
    ------
    InputError : another address without a password.
    """
    if not settings.is_local and not password_set:
        raise InputError(
            f"{settings.host} can be reached from other machines; set a password first: "
            "airwork serve --set-password NAME",
            where="--host",
        )
