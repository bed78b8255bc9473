"""What private.yaml says on the disk counts, saved or not; one that cannot be read stops all."""

from __future__ import annotations

from pathlib import Path

import pytest
from transfer_room.seller import Person, delivered, search

from fleets import make_fleet
from register.git.apply import save_paths
from register.git.commit import init_repository
from register.transfer.masking import MASK, Masker, make_tokens
from register.transfer.scanning import RECORD, Scanner

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


PRIVATE = """\
people:
  wife: {name: "Thessaly Fennimane", phone: "+49 160 5550188"}
  mark: "Mark von Alder"
suppliers: ["Grobbenhoff Turbinen"]
places: {field: "Lower Brindle Field"}
prices: {sv-1: "139"}
spending:
  - "2026-04-02 gj engine 412 EUR service at Grobbenhoff"
"""
SAID = (
    "Thessaly held the tail, FENNIMANE beside her",
    "Mark left a mark on the tape, thessaly saw it",
    "from Grobbenhoff, 412 EUR and 14,50 EUR, the rest 1.200,00 EUR",
    "€ 88.40 or $77 each, CHF 66.- in all, paid 139 for the servo",
    "found at Brindle before the field day, 55 euro",
    "vonder wing, von oben",
)
#: What must be in no byte: names, and amounts with their currency.
GONE = ("Thessaly held", "FENNIMANE beside", "Mark left", "412 EUR", "14,50 EUR", "1.200,00 EUR",
        "€ 88.40", "$77", "CHF 66", "55 euro")  # fmt: skip


def test_single_names_and_amounts_are_left_out(tmp_path: Path) -> None:
    """A first name as it is written, an amount in any form; ordinary words stay."""
    seller = begin(tmp_path, *SAID)
    write_private(seller, PRIVATE)
    told = texts(seller)
    assert [word for word in GONE if word in told] == []
    assert "[left out] left a mark on the tape, thessaly saw it" in told
    assert "[left out] held the tail, [left out] beside her" in told
    assert "from Grobbenhoff, [left out] and [left out], the rest [left out]" in told
    assert "vonder wing, von oben" in told
    file = tmp_path / "gj.tailsheaf"
    seller.says(DAY, "handover", "gj", file)
    pieces = delivered(file)
    assert search(pieces, ("Thessaly Fennimane", *GONE[3:])) == []
    for data in pieces.values():
        assert b"Thessaly" not in data
        assert b"FENNIMANE" not in data


def test_what_looks_private_is_shown_with_the_line_to_type(tmp_path: Path) -> None:
    """Words of suppliers and places, an amount alone, a name in small letters."""
    seller = begin(tmp_path, *SAID)
    write_private(seller, PRIVATE)
    view = seller.asks(DAY, "handover", "gj")
    assert {look["word"] for look in view["looks_private"]} == {
        "Grobbenhoff", "Brindle", "139", "thessaly",
    }  # fmt: skip
    said = seller.says(DAY, "handover", "gj").out
    assert "from Grobbenhoff (looks private), [left out] (masked) and [left out] (masked)" in (
        " ".join(said.split())
    )
    assert "amend it first" not in said
    line = view["never_line"]
    assert " ".join(line.split()) in " ".join(said.split())
    write_private(seller, PRIVATE + line + "\n")
    view = seller.asks(DAY, "handover", "gj")
    assert view["looks_private"] == []
    left = "\n".join(text["text"] for text in view["texts"])
    for word in ("Grobbenhoff", "Brindle", "139", "thessaly"):
        assert word not in left
    file = tmp_path / "gj.tailsheaf"
    seller.says(DAY, "handover", "gj", file)
    assert search(delivered(file), ("Grobbenhoff", "Brindle", "thessaly")) == []


def test_the_words_that_never_leave(tmp_path: Path) -> None:
    """Ordinary and short ones too, in an amended text's first wording as well."""
    seller = begin(tmp_path, "the paint of Ky, 12 coats", "OLD PAINT at Ky's")
    wrong = seller.writes("2026-04-02", "snag", "gj", "shown to Juno", "--severity", "cosmetic")
    seller.says("2026-04-02", "amend", wrong, "text=shown to a friend")
    write_private(seller, 'never: ["paint", "Ky", "12", "Juno", "Grey Jet"]\n')
    view = seller.asks(DAY, "handover", "gj")
    told = "\n".join(text["text"] for text in view["texts"])
    assert "the [left out] of [left out], [left out] coats" in told
    assert "OLD [left out] at [left out]'s" in told
    assert "Juno" not in told
    # The name of what goes cannot stay behind, and that is said.
    assert "Grey Jet" in view["names_that_tell"]
    file = tmp_path / "gj.tailsheaf"
    seller.says(DAY, "handover", "gj", file)
    pieces = delivered(file)
    assert [name for name, data in pieces.items() if b"Juno" in data or b"12 coats" in data] == []


@pytest.mark.parametrize("said", [frozenset(), frozenset(("12",))])
def test_a_short_number_within_an_id_is_not_a_leak(said: frozenset[str]) -> None:
    """Nor where the program says that number too."""
    tokens = make_tokens((), (), (), said, ((), ("12",), ()))
    scanner = Scanner(tokens)
    assert list(scanner.scan("a blob", b'id: "k7q12x9mw2"\n', RECORD)) == []
    assert len(list(scanner.scan("a blob", b'text: "all 12 of them"\n', RECORD))) == 1
    assert Masker(tokens).mask_text("2012: 12 of k7q12x") == f"2012: {MASK} of k7q12x"


def test_words_that_cannot_be_sought_stop_it(tmp_path: Path) -> None:
    """A date, one letter, a list in the list: `check` names them, and nothing goes."""
    seller = begin(tmp_path)
    for odd in ('"2026-04-01"', '"x"', '["a"]', "{a: b}"):
        write_private(seller, f"never: [{odd}]\n")
        found = seller.asks(DAY, "check")["problems"]
        assert "never-odd" in {one["code"] for one in found}
        assert "private.yaml:1" in seller.says(DAY, "handover", "gj", exit_code=4).err


def test_any_word_of_the_dossier_may_be_a_name(tmp_path: Path) -> None:
    """A person called like a word the program says stops nothing and spoils no heading."""
    import re

    seller = begin(tmp_path, "nothing of note")
    page = tmp_path / "page.html"
    seller.says(DAY, "handover", "gj", "--dossier", page)
    words = set(re.findall(r"\b[A-Z][a-z]{2,}\b", page.read_text("utf-8"))) - {"Grey", "Jet"}
    assert len(words) > 60
    write_private(seller, f'people: {{a: {{name: "{" ".join(sorted(words))}"}}}}\n')
    again = tmp_path / "again.html"
    seller.says(DAY, "handover", "gj", "--dossier", again)
    assert len(set(re.findall(r"\b[A-Z][a-z]{2,}\b", again.read_text("utf-8"))) & words) > 60
    seller.says(DAY, "handover", "gj", tmp_path / "gj.tailsheaf")


def test_leaving_out_names_the_way(tmp_path: Path) -> None:
    """What cannot be left out is not to be amended for its words: the list does it."""
    seller = begin(tmp_path, "shown to Juno")
    id_ = seller.asks(DAY, "history", "gj", "--all")["records"][0]["id"]
    said = seller.says(DAY, "handover", "gj", "--leave", id_, exit_code=2).err
    assert "never:" in said
    assert "private.yaml" in said
    assert "amend" not in said
