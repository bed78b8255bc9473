"""One aircraft is sold: its whole truth goes along, and nothing else does."""

from __future__ import annotations

import json
import re
import zipfile
from pathlib import Path

import pytest
from transfer_room.seller import CANARIES, SHORT, Person, delivered, make_seller, search

_ONCE: dict[str, tuple[Person, Path]] = {}


@pytest.fixture
def sold(tmp_path_factory: pytest.TempPathFactory) -> tuple[Person, Path]:
    """The seller after the sale, and the file; made once, in the surroundings of a test."""
    if not _ONCE:
        folder = tmp_path_factory.mktemp("sold")
        seller = make_seller(folder)
        file = folder / "gj.tailsheaf"
        seller.says("2026-05-02", "handover", "gj", str(file), "--to", "Frank Buyer-Kranich")
        _ONCE["sold"] = (seller, file)
    return _ONCE["sold"]


def test_nothing_private_is_in_any_byte(sold: tuple[Person, Path]) -> None:
    """All canaries in all forms over the file, its members, every object and `git log -p`."""
    pieces = delivered(sold[1])
    assert len(pieces["cat-file --batch-all-objects --batch"]) > 5000
    assert search(pieces, CANARIES) == []
    texts = [data for name, data in pieces.items() if name not in ("the file", "history.bundle")]
    for word in SHORT:
        assert [
            1
            for data in texts
            for _ in re.finditer(rf"(?<![\w.]){word}(?![\w])".encode(), data.lower())
            if not is_binary(data)
        ] == []


def is_binary(data: bytes) -> bool:
    """Objects hold ids of trees as raw bytes, in which two letters mean nothing."""
    return b"\0" in data


def test_the_canaries_are_there_to_be_found(sold: tuple[Person, Path]) -> None:
    """The same search finds them in the seller's own history: it can fail."""
    seller = sold[0]
    said = {"log": seller.git("log", "-p", "--all", "--text", "--format=fuller").encode()}
    said["all"] = b"".join(path.read_bytes() for path in seller.fleet.rglob("*.yaml"))
    found = {word for word, _, _ in search(said, CANARIES)}
    assert {"4137.55", "Hollow Meadow", "stash-kranich", "gone-kranich", "Red Jet"} <= found
    assert len(found) > 25


def test_what_is_open_or_was_broken_cannot_be_left_out(
    sold: tuple[Person, Path], tmp_path: Path
) -> None:
    """Neither a snag nor a deferral nor a crash, whatever is wished."""
    seller = sold[0]
    records = seller.asks("2026-05-02", "history", "gj", "--all")["records"]
    for kind in ("snag", "deferral", "incident", "fix"):
        ids = [one["id"] for one in records if one["kind"] == kind]
        assert ids, kind
        said = seller.says(
            "2026-05-02", "handover", "gj", str(tmp_path / "x"), "--leave", ids[0], exit_code=2
        )
        assert "cannot be left out" in " ".join(said.err.split())
    assert not (tmp_path / "x").exists()


def test_the_file_says_what_was_left_out(sold: tuple[Person, Path]) -> None:
    """In the manifest, and on the dossier's first page."""
    with zipfile.ZipFile(sold[1]) as parcel:
        manifest = json.loads(parcel.read("manifest.json"))
        text = parcel.read("dossier.txt").decode()
    assert manifest["left_out"]["parts"] == ["pk-04"]
    assert manifest["left_out"]["words"] > 3
    assert manifest["left_out"]["files"] == 1
    assert "pk-04" in text[:6000]
    assert "paint chipped" in text
    assert "another aircraft" in text


def test_the_buyer_reads_the_same_totals(sold: tuple[Person, Path], tmp_path: Path) -> None:
    """To the minute, of the aircraft and of the engine that was in another one before."""
    seller, file = sold
    buyer = Person(tmp_path / "buyer")
    run_init(buyer)
    buyer.says("2026-05-03", "receive", str(file), "--take")
    assert buyer.counters("2026-05-03", "gj") == seller.counters("2026-05-03", "gj")
    names = ("tu-07", "sv-22")
    assert buyer.totals("2026-05-03", *names) == seller.totals("2026-05-03", *names)
    engine = buyer.totals("2026-05-03", "tu-07")["tu-07"]
    assert engine["engine-minutes"]["low"] == 100 + 3 * 9 + 4 * 9
    assert engine["minutes"]["low"] == 21 + 28
    told = buyer.says("2026-05-03", "history", "tu-07", "--all").out
    assert "another aircraft" in told
    assert [item["task"] for item in due(buyer, "2026-05-03")].count("own-look") == 1
    assert not [item for item in due(buyer, "2026-05-03") if item["subject"] == "pk-04"]
    assert "stayed with the owner before" in buyer.says("2026-05-03", "parts", "pk-04").out
    said = buyer.says("2026-05-03", "check").out
    assert "error" not in said


def run_init(buyer: Person) -> None:
    """An empty fleet of the buyer's own."""
    from fleets import run

    result = run("init", str(buyer.fleet), cwd=buyer.fleet.parent)
    assert result.exit_code == 0, result


def due(buyer: Person, day: str) -> list[dict[str, object]]:
    """What is due of the aircraft."""
    return list(buyer.asks(day, "due", "gj", "--all")["items"])


def test_the_seller_records_it_and_takes_no_later_facts(
    tmp_path: Path,
) -> None:
    """Costs stay; later facts are refused; earlier ones are taken; withdrawing undoes it."""
    seller = make_seller(tmp_path)
    file = tmp_path / "gj.tailsheaf"
    seller.says("2026-05-02", "handover", "gj", str(file), "--to", "Frank Meier")
    assert "4137.55" in (seller.fleet / "aircraft/gj/aircraft.yaml").read_text()
    refused = seller.says("2026-05-09", "fly", "gj", "1", exit_code=4)
    assert "went to another owner on 2026-05-02" in refused.err
    seller.says("2026-05-09", "snag", "tu-07", "cracked", exit_code=4)
    seller.says("2026-05-09", "charge", "pk-04")
    seller.says("2026-05-09", "fly", "gj", "1", "--minutes", "7", "--at", "2026-05-01")
    for words in (("fleet",), ("aircraft", "gj"), ("parts", "tu-07")):
        assert "another owner" in seller.says("2026-05-09", *words).out
    again = seller.says("2026-05-09", "handover", "gj", str(file)).out
    assert "an update" in again
    records = seller.asks("2026-05-09", "history", "gj", "--all")["records"]
    change = [one["id"] for one in records if one["kind"] == "change-of-owner"]
    assert len(change) == 1
    assert "Frank Meier" in " ".join(
        path.read_text() for path in seller.fleet.rglob("*change-of-owner*.yaml")
    )
    seller.says("2026-05-09", "withdraw", change[0])
    seller.says("2026-05-09", "fly", "gj", "1", "--minutes", "7")


def test_a_preview_writes_nothing(tmp_path: Path) -> None:
    """Every text is there to be read, those that were masked first."""
    seller = make_seller(tmp_path)
    before = seller.git("rev-parse", "HEAD")
    view = seller.asks("2026-05-02", "handover", "gj")
    assert seller.git("rev-parse", "HEAD") == before
    masked = [text for text in view["texts"] if text["masked"]]
    assert view["texts"][: len(masked)] == masked
    assert any("nose over at [left out]" in text["text"] for text in masked)
    assert view["not_included"]["shared"] == ["pk-04"]
    assert view["keys_not_carried"]["remark"] == 1
    said = seller.says("2026-05-02", "handover", "gj").out
    assert "nothing is written yet" in said
    assert "letter" in said
