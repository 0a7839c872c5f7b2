"""Behind a real TLS proxy, configured as docs/web.md says: nginx on loopback, a certificate made for the test."""

from __future__ import annotations

import os
import re
import shutil
import socket
import ssl
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from http.client import HTTPSConnection
from pathlib import Path

import pytest

from airwork.web.accounts import Account, Accounts
from airwork.web.settings import ACCOUNTS_FILE

NAME = "fly.example.org"
PASSWORD = "stubble and two rivers"
COMMAND = [sys.executable, "-c", "from airwork.cli import main; raise SystemExit(main())", "serve"]


def _certificate(folder: Path) -> None:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    key = ec.generate_private_key(ec.SECP256R1())
    who = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, NAME)])
    made = (
        x509.CertificateBuilder().subject_name(who).issuer_name(who).public_key(key.public_key())
        .serial_number(x509.random_serial_number()).not_valid_before(datetime.now(UTC) - timedelta(days=1))
        .not_valid_after(datetime.now(UTC) + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName(NAME)]), critical=False).sign(key, hashes.SHA256())
    )  # fmt: skip
    (folder / f"{NAME}.crt").write_bytes(made.public_bytes(Encoding.PEM))
    (folder / f"{NAME}.key").write_bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))


def _documented(folder: Path, outside: int, inside: int) -> str:
    """The example of the documentation, with the test's ports and paths."""
    text = (Path(__file__).parents[2] / "docs" / "web.md").read_text("utf-8")
    found = re.search(r"```nginx\n(.*?)```", text, re.S)
    assert found
    server = found[1].replace("listen 443 ssl", f"listen 127.0.0.1:{outside} ssl").replace(":8642", f":{inside}")
    server = server.replace(f" {NAME}.crt", f" {folder}/{NAME}.crt").replace(f" {NAME}.key", f" {folder}/{NAME}.key")
    temporary = "\n".join(
        f"{what}_temp_path {folder}/{what};" for what in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    )
    return (
        f"pid {folder}/nginx.pid;\nerror_log {folder}/error.log;\nevents {{}}\n"
        f"http {{\naccess_log off;\n{temporary}\n{server}}}\n"
    )


@pytest.fixture
def behind(tmp_path: Path) -> Iterator[int]:
    """The port of the proxy."""
    nginx = shutil.which("nginx") or shutil.which("/usr/sbin/nginx")
    if nginx is None:
        absent = pytest.fail if os.environ.get("AIRWORK_REQUIRE_ALL") else pytest.skip
        absent("nginx is not installed (Debian: nginx-light)")
    _certificate(tmp_path)
    Accounts(tmp_path / ACCOUNTS_FILE).set_password(Account("Ike Teacher", "chief", "a" * 32), PASSWORD)
    serving = subprocess.Popen(
        [*COMMAND, "--folder", str(tmp_path), "--port", "0", "--public", NAME],
        stdout=subprocess.PIPE, text=True, env={**os.environ, "XDG_DATA_HOME": str(tmp_path / "none")},
    )  # fmt: skip
    assert serving.stdout is not None
    inside = re.search(r"airwork is at http\S+:(\d+)", serving.stdout.readline())
    assert inside
    with socket.socket() as listening:  # given to nginx as it stands: nobody else can take its port
        listening.bind(("127.0.0.1", 0))
        listening.listen()
        outside = int(listening.getsockname()[1])
        (tmp_path / "nginx.conf").write_text(_documented(tmp_path, outside, int(inside[1])), "utf-8")
        proxy = subprocess.Popen(
            [nginx, "-c", str(tmp_path / "nginx.conf"), "-g", "daemon off;"], stderr=subprocess.PIPE,
            pass_fds=[listening.fileno()], env={**os.environ, "NGINX": f"{listening.fileno()};"},
        )  # fmt: skip
        try:
            yield outside
        finally:
            for process in (proxy, serving):
                process.terminate()
                process.communicate(timeout=120)


class _ByTls(HTTPSConnection):
    """To the proxy on loopback, by its public name."""

    def __init__(self, port: int, folder: Path) -> None:
        trusts = ssl.create_default_context(cafile=str(folder / f"{NAME}.crt"))
        super().__init__(NAME, port, context=trusts, timeout=120)

    def connect(self) -> None:
        raw = socket.create_connection(("127.0.0.1", self.port), 120)
        self.sock = self._context.wrap_socket(raw, server_hostname=NAME)  # type: ignore[attr-defined]


def test_behind_a_tls_proxy_it_logs_in_with_a_secure_cookie(behind: int, tmp_path: Path) -> None:
    def ask(how: str, what: str, body: str = "", **headers: str) -> tuple[int, dict[str, str], str]:
        connection = _ByTls(behind, tmp_path)
        connection.request(how, what, body, {"Host": NAME, **headers})
        answer = connection.getresponse()
        got = answer.status, {k.lower(): v for k, v in answer.getheaders()}, answer.read().decode()
        connection.close()
        return got

    status, headers, text = ask("GET", "/login")
    assert status == 200
    assert "secure" in headers["set-cookie"].lower()
    assert headers["strict-transport-security"] == "max-age=31536000"
    assert headers["cache-control"] == "no-store"
    token = re.search(r'name="token" value="([^"]+)"', text)
    assert token
    from urllib.parse import urlencode

    cookie = headers["set-cookie"].split(";")[0]
    form = {"Content-Type": "application/x-www-form-urlencoded", "Cookie": cookie}
    sent = urlencode({"token": token[1], "name": "Ike Teacher", "password": PASSWORD})
    status, headers, _ = ask("POST", "/login", sent, Origin="https://attacker.example", **form)
    assert status == 403
    status, headers, _ = ask("POST", "/login", sent, Origin=f"https://{NAME}", **form)
    assert (status, headers["location"]) == (303, "/")


def test_what_a_stranger_says_of_himself_is_not_believed(tmp_path: Path) -> None:
    """Forwarded headers from another address than the proxy's change neither scheme nor client."""
    from starlette.testclient import TestClient
    from uvicorn.middleware.proxy_headers import ProxyHeadersMiddleware

    from airwork.web.app import create_app
    from airwork.web.settings import Settings

    Accounts(tmp_path / ACCOUNTS_FILE).set_password(Account("Ike Teacher", "chief", "a" * 32), PASSWORD)
    app = ProxyHeadersMiddleware(create_app(Settings(folder=tmp_path, public=NAME)), trusted_hosts="127.0.0.1")
    said = {"x-forwarded-proto": "https", "x-forwarded-for": "10.9.9.9", "host": NAME}
    for address, believed in (("127.0.0.1", True), ("10.0.0.7", False)):
        client = TestClient(app, base_url=f"http://{NAME}", client=(address, 1), follow_redirects=False)
        assert ("strict-transport-security" in client.get("/login", headers=said).headers) is believed
