"""A past that cannot all be read, under a name it no longer has, is handed over."""

from __future__ import annotations

import json
import zipfile
from pathlib import Path

import pytest
from transfer_room.seller import CANARIES, Person, delivered, make_seller, search

from fleets import make_fleet
from register.git.apply import save_paths
from register.git.commit import init_repository

#: Words that stand in nothing but revisions that cannot be read.
BURIED = ("buried-uhu-yaml", "buried-uhu-huge", "buried-uhu-null", "buried-uhu-moved")
JET = "aircraft/gj/aircraft.yaml"


def revise(seller: Person, path: str, data: bytes) -> None:
    """Commit other bytes for a while, then those that were there again."""
    file = seller.fleet / path
    before = file.read_bytes()
    for content in (data, before):
        file.write_bytes(content)
        save_paths(seller.fleet, [path], "by hand")


def break_the_past(seller: Person) -> None:
    """Broken, over the limit of a record, and binary; then the folder gets another name."""
    revise(seller, JET, b'id: "g000000001"\ntitle: [buried-uhu-yaml\n  }: "\n')
    big = b'id: "g000000001"\ntitle: "x"\nremark: "buried-uhu-huge' + b" long" * 60_000 + b'"\n'
    assert len(big) > 256 * 1024
    revise(seller, JET, big)
    revise(seller, "parts/tu-07/part.yaml", b"\x00\x01buried-uhu-null\xff\xfe" * 50)
    event = seller.git("ls-files", "aircraft/gj/events/*-fix-*").split()[0]
    revise(seller, event, b"text: 'buried-uhu-yaml\n")


def move_folder(seller: Person) -> None:
    """The aircraft's folder renamed by the owner: old revisions lie under the old name."""
    seller.git("mv", "aircraft/gj", "aircraft/merlin")
    seller.git("commit", "-q", "-m", "another name")


@pytest.fixture
def seller(tmp_path: Path) -> Person:
    """A seller whose past is broken in four places."""
    found = make_seller(tmp_path)
    break_the_past(found)
    return found


def sell(seller: Person, aircraft: str, file: Path) -> dict[str, int]:
    """Hand a copy over; what the manifest says was left out."""
    seller.says("2026-05-02", "handover", aircraft, str(file), "--copy")
    with zipfile.ZipFile(file) as parcel:
        left: dict[str, int] = json.loads(parcel.read("manifest.json"))["left_out"]
    return left


def test_revisions_that_cannot_be_read_are_counted_and_stay(seller: Person, tmp_path: Path) -> None:
    """Four of them: none goes, all are in the count, the rest of the past goes."""
    file = tmp_path / "f"
    left = sell(seller, "gj", file)
    assert left["revisions"] == 4, left
    assert search(delivered(file), (*BURIED, *CANARIES)) == []


def test_the_past_under_another_name_goes_along(seller: Person, tmp_path: Path) -> None:
    """What lay in the old folder is told under the new one, broken revisions are counted."""
    old = tmp_path / "before"
    left = sell(seller, "gj", old)
    move_folder(seller)
    revise(seller, "aircraft/merlin/aircraft.yaml", b"title: {buried-uhu-moved\n")
    file = tmp_path / "f"
    moved = sell(seller, "merlin", file)
    assert moved["revisions"] == left["revisions"] + 1, moved
    pieces = delivered(file)
    assert search(pieces, (*BURIED, *CANARIES)) == []
    log = pieces["log -p --all --text"]
    assert b"aircraft/merlin/aircraft.yaml" in log
    assert b"aircraft/gj/" not in log
    assert log.count(b"\ncommit ") >= delivered(old)["log -p --all --text"].count(b"\ncommit ")


def test_it_is_taken_in(seller: Person, tmp_path: Path) -> None:
    """Counters to the digit, and the second time nothing is new."""
    move_folder(seller)
    file = tmp_path / "f"
    sell(seller, "merlin", file)
    fleet = make_fleet(tmp_path / "buyer")
    init_repository(fleet)
    save_paths(fleet, ["fleet.yaml"], "Begin")
    buyer = Person(fleet)
    buyer.says("2026-05-03", "receive", str(file), "--take")
    assert buyer.counters("2026-05-03", "merlin") == seller.counters("2026-05-03", "merlin")
    head = buyer.git("rev-parse", "HEAD")
    buyer.says("2026-05-04", "receive", str(file), "--take")
    assert buyer.git("rev-parse", "HEAD") == head
