"""A received file whose every free text is meant to harm: on the terminal, and in the dossier."""

from __future__ import annotations

import hashlib
import html.parser
import json
import re
from pathlib import Path

import pytest
from transfer_room.seller import Person, make_seller, noon
from transfer_room.test_bad_files import Forge, pack

from fleets import Golden, make_fleet, run
from register.git.apply import save_paths
from register.git.commit import init_repository
from register.storage.parcel import open_parcel
from register.text.document import read_plain
from register.text.emitting import render_yaml
from register.text.nodes import Plain
from register.text.parsing import parse_text

HOSTILE = (
    " \x1b[38;5;199mred \x1b]8;;http://e.invalid\x07link\x1b]8;;\x07"
    " \x1b]52;c;eA==\x07 \x1b]0;t\x07"
    " \x9b2J \u202ebidi\u2066 [red]r[/red] [/x] [link=http://e.invalid]l[/link] :smile: \\ \u200b"
    " <script>alert(1)</script> \" onload=\"x\" ' onerror='x' <img src=x onerror=x> javascript:x"
    " </style></title><svg onload=x> =HYPERLINK(1) |pipe| `tick` &lt; ]]> --> \u3042\u05d0 "
)
#: Free texts by their keys; what is a name, a number or a code stays as it is.
KEYS = {
    "title", "note", "text", "action", "cause", "reason", "limit", "about", "caution", "if_out",
    "maker", "model", "remark", "registration", "finish", "serial", "why",
}  # fmt: skip
_OURS = re.compile(r"\x1b\[[0-9;]*m")
_BAD = {chr(code) for code in (*range(10), *range(11, 32), *range(127, 160))} | set(
    "\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
)


def spoil(value: Plain, key: str = "") -> Plain:
    """Every free text with the hostile words behind it."""
    if isinstance(value, dict):
        return {name: spoil(inner, name) for name, inner in value.items()}
    if isinstance(value, list):
        return [spoil(inner, key) for inner in value]
    return value + HOSTILE if isinstance(value, str) and key in KEYS else value


def spoil_file(path: Path, folder: Path) -> tuple[bytes, int]:
    """The handover file with all its free texts spoiled, and how many there were."""
    members = open_parcel(path.read_bytes())
    forge = Forge(folder)
    bundle = folder / "in"
    bundle.write_bytes(members["history.bundle"])
    forge.git("fetch", "-q", str(bundle), "+refs/heads/main:refs/heads/main")
    manifest = json.loads(members["manifest.json"])
    stream = [b"commit refs/heads/main\ncommitter a <a@b> 1800000000 +0000\ndata 1\nx\n"
              b"from refs/heads/main^0\n"]  # fmt: skip
    count = 0
    for name in manifest["files"]:
        if not name.endswith(".yaml"):
            continue
        node = parse_text(name, forge.git("show", f"refs/heads/main:{name}")).node
        assert node is not None
        spoiled = spoil(read_plain(node))
        assert isinstance(spoiled, dict)
        data = render_yaml(spoiled).encode()
        count += data.count(b"HYPERLINK")
        manifest["files"][name] = hashlib.sha256(data).hexdigest()
        stream.append(b"M 100644 inline %s\ndata %d\n%s\n" % (name.encode(), len(data), data))
    forge.git("fast-import", "--quiet", "--done", data=b"".join(stream) + b"done\n")
    forge.git("bundle", "create", "-q", str(folder / "out"), "refs/heads/main")
    history = (folder / "out").read_bytes()
    tip = forge.git("rev-parse", "refs/heads/main").decode().strip()
    manifest.update(tip=tip, bundle_sha256=hashlib.sha256(history).hexdigest())
    packed = {"history.bundle": history, "manifest.json": json.dumps(manifest).encode()}
    return pack(packed), count


def make_buyer(folder: Path) -> Person:
    """Somebody with an empty fleet."""
    fleet = make_fleet(folder)
    init_repository(fleet)
    save_paths(fleet, ["fleet.yaml"], "Begin")
    return Person(fleet)


class Watcher(html.parser.HTMLParser):
    """Notes every element and attribute that could do anything."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Nothing runs, and nothing is fetched."""
        if tag in ("script", "iframe", "object", "embed", "link", "base", "form"):
            self.found.append(tag)
        for name, value in attrs:
            leads_out = name in ("src", "href") and not (value or "").startswith(
                ("data:image", "#")
            )
            if name.startswith("on") or leads_out:
                self.found.append(f"{tag} {name}={value}")

    def handle_data(self, data: str) -> None:
        """Words that are shown."""
        self.words.append(data)


@pytest.fixture(scope="module")
def seller(tmp_path_factory: pytest.TempPathFactory) -> Person:
    """One seller for all: nothing here changes the fleet but a copy handed over."""
    return make_seller(tmp_path_factory.mktemp("seller"))


@pytest.fixture(scope="module")
def sent(seller: Person, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file as it should be."""
    file = tmp_path_factory.mktemp("sent") / "f"
    seller.says("2026-05-02", "handover", "gj", str(file), "--copy")
    return file


@pytest.fixture(scope="module")
def spoiled(sent: Path, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The same with every free text spoiled."""
    data, count = spoil_file(sent, tmp_path_factory.mktemp("forge") / "bare")
    assert count > 12
    return data


@pytest.mark.parametrize("terminal", [True, False])
def test_nothing_hostile_gets_through(
    terminal: bool, spoiled: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every screen that tells of the aircraft, and the dossier made from it again."""
    file, page = tmp_path / "odd", tmp_path / "page.html"
    file.write_bytes(spoiled)
    buyer = make_buyer(tmp_path / "buyer")
    monkeypatch.setenv("TAILSHEAF_TERMINAL", "1" if terminal else "0")
    lines: tuple[tuple[str, ...], ...] = (
        ("receive", str(file)), ("receive", str(file), "--take"), ("history", "gj", "--all"),
        ("aircraft", "gj"), ("due",), ("fleet",), ("parts",), ("parts", "tu-07"), ("snag",),
        ("flyday",), ("handover", "gj"), ("handover", "gj", "--dossier", str(page)), ("check",),
    )  # fmt: skip
    told = ""
    for line in lines:
        result = run(*line, fleet=buyer.fleet, now=noon("2026-05-03"))
        assert result.exit_code in (0, 1, 2), (line, result)
        said = result.out + result.err
        assert "Traceback" not in said
        assert "\x1b[38;5;199m" not in said, line
        assert not _BAD & set(_OURS.sub("", said) if terminal else said), line
        told += said
    assert "[red]r[/red]" in told.replace("\n", "")
    watcher = Watcher()
    text = page.read_text("utf-8")
    watcher.feed(text)
    assert watcher.found == []
    assert "<script>alert(1)</script>" in " ".join(watcher.words)
    assert not _BAD & set(text)


def test_the_screens_at_eighty_columns(
    seller: Person, sent: Path, tmp_path: Path, golden: Golden, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The owner's preview, and what the new owner is shown."""
    monkeypatch.setenv("COLUMNS", "80")
    preview = seller.says("2026-05-02", "handover", "gj").out
    golden("transfer/handover-80", re.sub(r"letter-\w{10}", "letter-ID", preview))
    said = make_buyer(tmp_path / "buyer").says("2026-05-03", "receive", str(sent)).out
    # Where the lines break around the path goes by its length.
    shown, words = said.replace(str(sent), "FILE").split("to take it in:", 1)
    assert "tailsheaf receive FILE --take" in " ".join(words.split())
    golden("transfer/receive-80", shown)
