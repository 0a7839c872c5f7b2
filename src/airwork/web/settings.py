"""Where the server listens and keeps its things. One frozen record, made by the command that starts it."""

from __future__ import annotations

import ipaddress
from dataclasses import dataclass
from pathlib import Path

from airwork.errors import InputError
from airwork.web.tiles import Tiles

LOCAL_HOSTS = {"localhost", "127.0.0.1", "[::1]"}
ACCOUNTS_FILE = ".airwork-accounts.json"
MAX_UPLOAD_BYTES = 200 * 1024 * 1024  # a two-hour 10 Hz file of 30 columns has about 15 MB


@dataclass(frozen=True, slots=True)
class Settings:
    """Settings of one server.

    folder : lessons, airplanes and recordings of the user.
    data : the logbook, a file or a database address; None has none.
    tiles : a PMTiles file of the user's own, drawn under every map.
    public : the name browsers know it by behind a proxy that speaks TLS for it; "" without one.
    processes : 0 debriefs in the server, at once; 1 in a process of its own, in turn.
    proxy : the proxy's address; from it alone what it says of scheme and client is believed.
    """

    folder: Path
    data: str | None = None
    host: str = "127.0.0.1"
    port: int = 8642
    tiles: Tiles | None = None
    public: str = ""
    proxy: str = "127.0.0.1"
    processes: int = 0
    max_upload_bytes: int = MAX_UPLOAD_BYTES

    @property
    def is_local(self) -> bool:
        """Only this machine can reach it."""
        try:
            return ipaddress.ip_address(self.host).is_loopback
        except ValueError:
            return self.host == "localhost"

    def answers_to(self, host: str) -> bool:
        """Whether a Host header means this server: a foreign name that points here is refused.

        Beyond this machine without a public name any is taken: nobody has said how it is called.
        """
        name = host.rsplit(":", 1)[0] if not host.endswith("]") else host
        if self.public and name.lower() == self.public.lower():
            return True
        return name.lower() in LOCAL_HOSTS if self.is_local or self.public else True


def require_safe(settings: Settings, *, password_set: bool) -> None:
    """Refuse to listen beyond this machine before a password has been set.

    Raises
    ------
    InputError : another address without a password.
    """
    if (not settings.is_local or settings.public) and not password_set:
        raise InputError(
            f"{settings.public or settings.host} can be reached from other machines; invite the chief instructor "
            'first: airwork serve --invite "NAME" --role chief',
            where="--public" if settings.public else "--host",
        )
