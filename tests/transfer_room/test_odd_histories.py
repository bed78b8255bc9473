"""Histories with odd dates, people, words and numbers of commits, given away and received."""

from __future__ import annotations

import hashlib
import json
import subprocess
from pathlib import Path

import pytest
from transfer_room.seller import Person, delivered, make_seller
from transfer_room.test_bad_files import Forge, pack, refuse

from fleets import make_fleet
from register.desk import open_fleet
from register.fleet import Fleet
from register.git.apply import save_paths
from register.git.commit import init_repository
from register.git.quarantine import MOST_COMMITS
from register.receiving import opened_arrival
from register.storage.parcel import open_parcel
from register.transfer.incoming import Wanted

#: Nothing below a space but line feed and tab belongs in what is printed here (no terminal).
CONTROL = {chr(code) for code in (*range(9), *range(11, 32), *range(127, 160))}


@pytest.fixture
def buyer(tmp_path: Path) -> Fleet:
    """An empty fleet with history."""
    fleet = make_fleet(tmp_path / "buyer")
    init_repository(fleet)
    save_paths(fleet, ["fleet.yaml"], "Begin")
    return open_fleet(fleet)


@pytest.fixture
def forge(tmp_path: Path) -> Forge:
    """A forger's bench."""
    return Forge(tmp_path / "forge")


def with_past(forge: Forge, stream: bytes) -> bytes:
    """A handover whose whole past is a stream of git fast-import, with a fitting manifest."""
    members = open_parcel(forge.file(forge.whole([])))
    forge.git("fast-import", "--quiet", "--force", "--done", data=stream + b"done\n")
    bundle = forge.folder / "b3"
    forge.git("bundle", "create", "-q", str(bundle), "refs/heads/main")
    history = bundle.read_bytes()
    tip = forge.git("rev-parse", "refs/heads/main").decode().strip()
    manifest = json.loads(members["manifest.json"])
    manifest.update(tip=tip, bundle_sha256=hashlib.sha256(history).hexdigest())
    return pack({"history.bundle": history, "manifest.json": json.dumps(manifest).encode()})


def test_more_commits_than_any_aircraft_has(forge: Forge, buyer: Fleet) -> None:
    """One more than the limit, each of a few bytes: the file is small, the refusal ordinary."""
    commit = b"commit refs/heads/main\ncommitter a <a@b> 1700000000 +0000\ndata 1\nx\n"
    data = with_past(forge, b"reset refs/heads/main\n\n" + commit * (MOST_COMMITS + 1))
    assert f"more than {MOST_COMMITS} commits" in refuse(buyer, data)


@pytest.mark.parametrize(
    "who",
    [
        b"a\nb <a@b> 1700000000 +0000",
        b"a <b> <c@d> 1700000000 +0000",
        b"a <a@b>\n1700000000 +0000",
        b"a <a@b> -5000000 +0000",
        b"a <a@b> 1700000000 +9999999",
        b"a <a@b> 99999999999999999999 +0000",
        b"<>\x1b[31m",
    ],
)
def test_people_that_git_itself_cannot_read(who: bytes, forge: Forge, buyer: Fleet) -> None:
    """Refused in the ordinary way, and what is said has no sign of theirs."""
    said = refuse(buyer, forge.file(forge.whole([]), who=who))
    assert not CONTROL & set(said)


@pytest.mark.parametrize(
    "who", [b"", b"\xff\xfe", b"a" * 1_000_000, b"\x1b]52;c;eA==\x07", b"\xe2\x80\xae[red]"]
)
def test_people_and_words_are_shown_nowhere(
    who: bytes, forge: Forge, buyer: Fleet, tmp_path: Path
) -> None:
    """Names of a megabyte, a clipboard set, none at all: received, told, and not to be seen."""
    words = b"\x1b[2J\x9b31m<script>" + b"w" * 1_000_000 + b"\r\n\x00after"[:2]
    data = forge.file(forge.whole([]), who=who + b" <a@b> 1700000000 +0000", words=words)
    with opened_arrival(buyer, data, Wanted({})) as found:
        assert found.local_name == "gj"
    path = tmp_path / "odd.tailsheaf"
    path.write_bytes(data)
    person = Person(buyer.root)
    for line in (("receive", str(path), "--take"), ("history", "gj"), ("check",)):
        result = person.says("2026-05-03", *line)
        assert not CONTROL & set(result.out + result.err), line
        assert not [part for part in ("aaaa", "wwww", "script", "]52") if part in result.out]


@pytest.mark.parametrize("name", [b"z\x1e", b"\x1e" + b"1" * 40 + b" 5 +0000", b"z\n.yaml"])
def test_names_that_look_like_the_words_of_a_log(name: bytes, forge: Forge, buyer: Fleet) -> None:
    """The separator of our own listing, a whole commit's head, an end of line."""
    blob = forge.put("blob", b"x: 1\n")
    for inner in (True, False):
        refuse(buyer, forge.file(forge.whole([("100644", name, blob)], inner)))


def commit_oddly(seller: Person, when: bytes) -> None:
    """What git's index holds as a commit that only a damaged program would write."""
    tree, tip = (seller.git(*words).strip().encode() for words in (
        ("write-tree",), ("rev-parse", "HEAD")))  # fmt: skip
    who = b"a\x1e <a@b> " + when
    words = b"\x1b[31m words-kranich \x1e" + b"0" * 40
    head = b"\n".join((b"tree " + tree, b"parent " + tip, b"author " + who,
                       b"committer " + who, b"", words))  # fmt: skip
    done = subprocess.run(
        ["git", "hash-object", "-w", "--literally", "-t", "commit", "--stdin"],
        input=head, cwd=seller.fleet, capture_output=True, check=True,
    )  # fmt: skip
    seller.git("update-ref", "refs/heads/main", done.stdout.decode().strip())


def test_odd_commits_of_the_sellers_own(tmp_path: Path) -> None:
    """Before 1970, in 2100, damaged, with words of nobody known: the records go, these do not."""
    seller = make_seller(tmp_path)
    for when in (b"4102444800 +0000", b"1700000000 +9999", b"x"):
        commit_oddly(seller, when)
    (seller.fleet / "aircraft/gj/notes \x1e1.yaml").write_text("x: 1\n", "utf-8")
    aircraft = seller.fleet / "aircraft/gj/aircraft.yaml"
    aircraft.write_text(aircraft.read_text("utf-8").replace("Grey Jet", "Grey Jet II"), "utf-8")
    seller.git("add", "-A")
    commit_oddly(seller, b"-86400 +0000")
    file = tmp_path / "f"
    seller.says("2026-05-02", "handover", "gj", str(file), "--copy")
    log = delivered(file)["log -p --all --text"]
    assert b"words-kranich" not in log
    assert b"\x1b[31m" not in log
    assert b'title: "Grey Jet II"' in log
