"""What private.yaml says on the disk counts, saved or not; one that cannot be read stops all."""

from __future__ import annotations

from pathlib import Path

import pytest
from transfer_room.seller import Person, delivered, search

from fleets import make_fleet
from register.git.apply import save_paths
from register.git.commit import init_repository

DAY = "2026-05-02"
FILES = {
    "private.yaml": 'people:\n  main-owner: {name: "Ole Quist"}\n',
    "aircraft/gj/aircraft.yaml": 'id: "g000000001"\ntitle: "Grey Jet"\nstage: "in-service"\n',
}


def begin(folder: Path, *texts: str) -> Person:
    """A fleet in history, and a snag for each text."""
    fleet = make_fleet(folder, FILES)
    init_repository(fleet)
    save_paths(fleet, sorted(FILES), "Begin")
    seller = Person(fleet)
    for text in texts:
        seller.says("2026-04-01", "snag", "gj", text, "--severity", "cosmetic")
    return seller


def write_private(seller: Person, text: str) -> None:
    """Edit it by hand; nobody saves it."""
    (seller.fleet / "private.yaml").write_text(text, "utf-8")


def texts(seller: Person) -> str:
    """The texts of the preview, together."""
    return "\n".join(text["text"] for text in seller.asks(DAY, "handover", "gj")["texts"])


def test_words_that_nobody_saved_count(tmp_path: Path) -> None:
    """Those on the disk, and those of every revision: one taken out since is still private."""
    words = ("Thessaly Fennimane", "Lower Brindle", "Grobbenhoff Turbinen")
    seller = begin(tmp_path, *(f"seen by {word}" for word in words))
    write_private(seller, FILES["private.yaml"] + 'places: {field: "Lower Brindle"}\n')
    seller.says(DAY, "save")
    write_private(
        seller,
        'people: {thessaly: {name: "Thessaly Fennimane"}}\nsuppliers: ["Grobbenhoff Turbinen"]\n',
    )
    told = texts(seller)
    assert [word for word in words if word in told] == []
    file = tmp_path / "gj.tailsheaf"
    seller.says(DAY, "handover", "gj", file)
    assert search(delivered(file), words) == []


def test_private_values_of_other_files_that_nobody_saved_count(tmp_path: Path) -> None:
    """The price in a part's file, the number of a policy."""
    seller = begin(tmp_path, "paid at Grobbenhoff Turbinen", "insured as POLICY-99817")
    paper = seller.fleet / "papers/cover.yaml"
    paper.parent.mkdir()
    paper.write_text('title: "Cover"\nkind: "insurance"\npolicy: "POLICY-99817"\n', "utf-8")
    own = seller.fleet / "aircraft/gj/aircraft.yaml"
    own.write_text(own.read_text("utf-8") + 'supplier: "Grobbenhoff Turbinen"\n', "utf-8")
    told = texts(seller)
    assert "Grobbenhoff" not in told
    assert "99817" not in told


BROKEN = {
    "a bracket left open": ('people: {thessaly: "Thessaly Fennimane"\n', "private.yaml"),
    "a key that stands twice": ('places: ["Lower Brindle"]\nplaces: ["Home"]\n', "private.yaml:2"),
    "a list": ('- "Thessaly Fennimane"\n', "private.yaml:1"),
    "a tag": ('people: !secret {a: "Thessaly"}\n', "private.yaml:1"),
}


@pytest.mark.parametrize("broken", BROKEN)
def test_one_that_cannot_be_read_stops_the_handover(tmp_path: Path, broken: str) -> None:
    """Preview, file and dossier alike; the place and the way out are named."""
    seller = begin(tmp_path, "seen by Thessaly Fennimane")
    text, place = BROKEN[broken]
    write_private(seller, text)
    file = tmp_path / "gj.tailsheaf"
    for words in ((), (file,), ("--dossier", tmp_path / "page.html")):
        said = seller.says(DAY, "handover", "gj", *words, exit_code=4)
        assert place in said.err
        assert "mend:" in said.err
        assert "tailsheaf check" in said.err
    assert not file.exists()
    assert seller.asks(DAY, "handover", "gj", exit_code=4)["error"]["code"] == "private-unread"
    write_private(seller, "# nobody\n")
    seller.says(DAY, "handover", "gj", file)


def test_one_that_is_no_plain_file_or_lies_beside_stops_it_too(tmp_path: Path) -> None:
    """A link; a second version that a sync service left, which may hold other words."""
    seller = begin(tmp_path, "seen by Thessaly Fennimane")
    own = seller.fleet / "private.yaml"
    beside = seller.fleet / "private (conflicted copy 2026-05-01).yaml"
    beside.write_text('people: {thessaly: "Thessaly Fennimane"}\n', "utf-8")
    said = seller.says(DAY, "handover", "gj", exit_code=4)
    assert "conflicted copy" in said.err
    beside.rename(tmp_path / "elsewhere.yaml")
    own.unlink()
    own.symlink_to(tmp_path / "elsewhere.yaml")
    assert "private.yaml" in seller.says(DAY, "handover", "gj", exit_code=4).err


def test_words_of_a_revision_that_cannot_be_read_are_sought(tmp_path: Path) -> None:
    """Nobody can mend a revision of the past: what its lines say is sought all the same."""
    seller = begin(tmp_path, "seen by Thessaly Fennimane", "at Lower Brindle with Karla Ennis")
    write_private(
        seller,
        'people: {thessaly: "Thessaly Fennimane"\n'
        "places:\n  - Lower Brindle\nfriend: Karla Ennis\n",
    )
    seller.git("add", "private.yaml")
    seller.git("-c", "user.name=x", "-c", "user.email=x@x", "commit", "-qm", "odd")
    write_private(seller, FILES["private.yaml"])
    seller.says(DAY, "save")
    told = texts(seller)
    for word in ("Thessaly Fennimane", "Lower Brindle", "Karla Ennis"):
        assert word not in told
