"""A repository behind https, on a server of the owner's own: real git, real TLS, real refusals."""

from __future__ import annotations

import base64
import os
import ssl
import subprocess
import threading
import time
from collections.abc import Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest
from sync_room.laptops import FILES, asks, tip_of, types

from fleets import make_fleet
from register.git.commit import init_repository

SECRET = "Basic " + base64.b64encode(b"vera:quiet-hangar").decode()


class Server(ThreadingHTTPServer):
    """git's own backend over TLS. With `locked` it wants a name and a password."""

    daemon_threads = True

    def __init__(self, folder: Path):
        super().__init__(("127.0.0.1", 0), Backend)
        self.folder = folder
        self.locked = False
        self.certificate = folder / "certificate.pem"
        key = folder / "key.pem"
        subprocess.run(
            ["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256",
             "-nodes", "-days", "2", "-subj", "/CN=localhost", "-addext",
             "subjectAltName=DNS:localhost", "-keyout", str(key), "-out", str(self.certificate)],
            check=True, capture_output=True,
        )  # fmt: skip
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(self.certificate, key)
        self.socket = context.wrap_socket(self.socket, server_side=True)

    @property
    def address(self) -> str:
        """The repository's address."""
        return f"https://localhost:{self.server_address[1]}/club.git"

    def handle_error(self, request: object, client_address: object) -> None:
        """A client that does not trust the certificate hangs up: no noise over it."""


class Backend(BaseHTTPRequestHandler):
    """Hands each request to `git http-backend`."""

    server: Server

    def do_GET(self) -> None:
        """Ask for what is there."""
        self._answer()

    def do_POST(self) -> None:
        """Fetch or push."""
        self._answer()

    def log_message(self, format: str, *args: object) -> None:
        """Nothing on the screen."""

    def _answer(self) -> None:
        if self.server.locked and self.headers.get("Authorization") != SECRET:
            self.send_response(401)
            self.send_header("WWW-Authenticate", 'Basic realm="hangar"')
            self.send_header("Content-Length", "0")
            self.end_headers()
            return
        path, _, query = self.path.partition("?")
        body = self.rfile.read(int(self.headers.get("Content-Length") or 0))
        env = {
            **os.environ, "GIT_PROJECT_ROOT": str(self.server.folder), "GIT_HTTP_EXPORT_ALL": "1",
            "REQUEST_METHOD": self.command, "PATH_INFO": path, "QUERY_STRING": query,
            "CONTENT_TYPE": self.headers.get("Content-Type", ""), "REMOTE_USER": "vera",
            "CONTENT_LENGTH": str(len(body)), "REMOTE_ADDR": "127.0.0.1",
            "HTTP_CONTENT_ENCODING": self.headers.get("Content-Encoding", ""),
            "GIT_PROTOCOL": self.headers.get("Git-Protocol", ""),
        }  # fmt: skip
        said = subprocess.run(
            ["git", "http-backend"], input=body, env=env, capture_output=True, check=True
        ).stdout
        head, _, content = said.partition(b"\r\n\r\n")
        fields = dict(line.split(": ", 1) for line in head.decode().split("\r\n"))
        self.send_response(int(fields.pop("Status", "200").split()[0]))
        for name, value in fields.items():
            self.send_header(name, value)
        self.send_header("Content-Length", str(len(content)))
        self.end_headers()
        self.wfile.write(content)


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    """A server with one empty repository, `club.git`."""
    folder = tmp_path / "served"
    folder.mkdir()
    bare = folder / "club.git"
    subprocess.run(["git", "init", "-q", "--bare", "-b", "main", str(bare)], check=True)
    subprocess.run(["git", "-C", str(bare), "config", "http.receivepack", "true"], check=True)
    with Server(folder) as found:
        threading.Thread(target=found.serve_forever, daemon=True).start()
        yield found
        found.shutdown()


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """One machine's fleet."""
    root = make_fleet(tmp_path, FILES)
    init_repository(root)
    types(root, "save")
    return root


def refuse(fleet: Path, *words: str) -> str:
    """A sync that cannot work: exit 3, at once, and it says why and what to type."""
    begun = time.monotonic()
    said = types(fleet, "sync", code=3)
    assert time.monotonic() - begun < 60
    text = " ".join((said.out + said.err).split())
    assert "Traceback" not in text
    for word in words:
        assert word in text, (word, text)
    return text


def test_two_machines_over_https(
    server: Server, fleet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Trusted by git's own variable; the second machine joins by the address."""
    monkeypatch.setenv("GIT_SSL_CAINFO", str(server.certificate))
    types(fleet, "sync", "--add", "club", server.address)
    types(fleet, "sync")
    types(tmp_path, "init", "other", "--from", server.address)
    other = tmp_path / "other"
    types(other, "fly", "heron", "--minutes", "6")
    types(fleet, "fly", "heron", "2", "--minutes", "15")
    for root in (other, fleet, other):
        types(root, "sync")
    assert tip_of(fleet) == tip_of(other)
    for root in (fleet, other):
        assert asks(root, "aircraft", "heron")["counters"]["flights"]["low"] == 120


def test_a_password_that_a_helper_knows(
    server: Server, fleet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Trust and password by the owner's own settings, as git has them; then a wrong one."""
    server.locked = True
    settings, kept = tmp_path / "settings", tmp_path / "kept"
    before = Path(os.environ["GIT_CONFIG_GLOBAL"]).read_text("utf-8")
    settings.write_text(
        f'{before}[http "https://localhost:{server.server_address[1]}/"]\n'
        f'\tsslCAInfo = {server.certificate}\n[credential]\n\thelper = store --file={kept}\n'
    )  # fmt: skip
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(settings))
    where = f"localhost:{server.server_address[1]}"
    kept.write_text(f"https://vera:quiet-hangar@{where}\n")
    types(fleet, "sync", "--add", "club", server.address)
    types(fleet, "sync")
    kept.write_text(f"https://vera:forgotten@{where}\n")
    refuse(fleet, "a name and a password that it accepts", "git ls-remote https://localhost")


def test_without_a_password_nothing_asks(
    server: Server, fleet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither on the terminal nor in a window: a program that would wait is not begun."""
    server.locked = True
    window = tmp_path / "window"
    window.write_text(f"#!/bin/sh\ntouch {tmp_path}/asked\nsleep 300\n")
    window.chmod(0o755)
    for name in ("SSH_ASKPASS", "GIT_ASKPASS"):
        monkeypatch.setenv(name, str(window))
    monkeypatch.setenv("GIT_SSL_CAINFO", str(server.certificate))
    types(fleet, "sync", "--add", "club", server.address)
    refuse(fleet, "a name and a password that it accepts", "credential.helper")
    assert not (tmp_path / "asked").exists()


def test_a_certificate_that_nobody_trusts(
    server: Server, fleet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is refused, also where a variable would switch the check off."""
    monkeypatch.setenv("GIT_SSL_NO_VERIFY", "1")
    types(fleet, "sync", "--add", "club", server.address)
    host = f"localhost:{server.server_address[1]}"
    refuse(fleet, "not of anybody this machine trusts", f"http.https://{host}/.sslCAInfo")


def test_a_server_that_is_not_there(server: Server, fleet: Path) -> None:
    """Nobody listens any more."""
    types(fleet, "sync", "--add", "club", server.address)
    server.shutdown()
    server.server_close()
    refuse(fleet, "cannot be reached", "then: tailsheaf sync")


def test_no_such_repository(server: Server, fleet: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The server is there and knows nothing of it."""
    monkeypatch.setenv("GIT_SSL_CAINFO", str(server.certificate))
    types(fleet, "sync", "--add", "club", server.address.replace("club", "clvb"))
    refuse(fleet, "cannot be reached", "clvb.git")


def test_an_ssh_host_that_does_not_answer(fleet: Path) -> None:
    """No port there: an error, and no question."""
    types(fleet, "sync", "--add", "club", "ssh://vera@127.0.0.1:9/club.git")
    refuse(fleet, "cannot be reached", "then: tailsheaf sync")


@pytest.mark.parametrize(
    ("address", "line"),
    [
        ("vera@hangar.invalid:club.git", "ssh -T vera@hangar.invalid once"),
        ("ssh://hangar.invalid:2222/club.git", "ssh -T -p 2222 hangar.invalid once"),
    ],
)
def test_ssh_is_told_to_ask_nothing(
    address: str, line: str, fleet: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A program of that name, found first: what it is given, and what its refusal becomes."""
    programs = tmp_path / "programs"
    programs.mkdir()
    stub = programs / "ssh"
    stub.write_text(
        f'#!/bin/sh\necho "$@" >> {tmp_path}/given\necho "Host key verification failed." >&2\n'
        "exit 255\n"
    )
    stub.chmod(0o755)
    monkeypatch.setenv("PATH", f"{programs}{os.pathsep}{os.environ['PATH']}")
    monkeypatch.setenv("GIT_SSH_COMMAND", "false")
    types(fleet, "sync", "--add", "club", address)
    refuse(fleet, "ssh could not log in without asking", line)
    given = (tmp_path / "given").read_text("utf-8")
    assert "BatchMode=yes" in given
    assert "ConnectTimeout=20" in given
