"""A part known by name alone, since it stayed with its owner, and comes after all."""

from __future__ import annotations

from pathlib import Path

from transfer_room.seller import Person
from transfer_room.test_sold_one_by_one import DAY, begin, sell, seller, take

__all__ = ["seller"]


def test_a_stub_becomes_the_part(seller: Person, tmp_path: Path) -> None:
    """Serial, made date and life come; it is no longer said to have stayed."""
    buyer = begin(tmp_path / "buyer")
    take(buyer, sell(seller, "alpha", tmp_path / "a.tailsheaf"))
    assert buyer.asks(DAY, "parts", "sv")["where"] == ["stayed with the owner before"]
    assert buyer.asks(DAY, "parts", "pk")["where"] == ["stayed with the owner before"]
    file = sell(seller, "beta", tmp_path / "b.tailsheaf", "--with", "pk")
    shown = buyer.asks(DAY, "receive", file)
    assert shown["come_true"] == ["pk", "sv"]
    assert "known by name alone until now: pk, sv" in buyer.says(DAY, "receive", file).out
    take(buyer, file)
    assert buyer.asks(DAY, "parts", "pk")["serial"] == "S1"
    assert buyer.asks(DAY, "parts", "sv")["serial"] == "S2"
    assert buyer.asks(DAY, "parts", "sv")["where"] == ["beta flap"]
    for name in ("pk", "sv"):
        assert "stayed" not in (buyer.fleet / f"parts/{name}/part.yaml").read_text("utf-8")
    assert "stayed with the owner" not in buyer.says(DAY, "parts", "sv").out
    # A newer telling of the first aircraft, which knows the part by name alone, takes none of it.
    take(buyer, sell(seller, "alpha", tmp_path / "a2.tailsheaf"))
    assert buyer.asks(DAY, "parts", "pk")["serial"] == "S1"


def test_what_was_changed_by_hand_is_kept(seller: Person, tmp_path: Path) -> None:
    """Field by field: a title of the buyer's own stays, what he did not touch comes."""
    buyer = begin(tmp_path / "buyer")
    take(buyer, sell(seller, "alpha", tmp_path / "a.tailsheaf"))
    path = buyer.fleet / "parts/pk/part.yaml"
    text = path.read_text("utf-8") + 'title: "My pack"  # mine\nmade: "2025-02-03"\n'
    path.write_text(text, "utf-8")
    buyer.says(DAY, "save")
    take(buyer, sell(seller, "beta", tmp_path / "b.tailsheaf", "--with", "pk"))
    found = path.read_text("utf-8")
    for line in ('title: "My pack"', "# mine", 'made: "2025-02-03"', 'serial: "S1"'):
        assert line in found
    assert "stayed" not in found
    assert not list(buyer.fleet.glob("clashes/*"))


def test_under_another_name_here(seller: Person, tmp_path: Path) -> None:
    """The stub got another name here; the part keeps it, and the old one as alias."""
    buyer = begin(tmp_path / "buyer")
    buyer.says(DAY, "parts", "pk", "--add", "--kind", "battery")
    take(buyer, sell(seller, "alpha", tmp_path / "a.tailsheaf"),
         sell(seller, "beta", tmp_path / "b.tailsheaf", "--with", "pk"))  # fmt: skip
    found = (buyer.fleet / "parts/pk-2/part.yaml").read_text("utf-8")
    assert 'serial: "S1"' in found
    assert found.count("aliases") == 1
    assert "stayed" not in found


def test_one_that_moved_on_unsaid_is_not_still_there(seller: Person, tmp_path: Path) -> None:
    """Put into another aircraft without a word of its removal: the buyer is told no more."""
    seller.says("2026-05-20", "install", "sv", "alpha", "flap")
    buyer = begin(tmp_path / "buyer")
    take(buyer, sell(seller, "beta", tmp_path / "b.tailsheaf"))
    out = buyer.says(DAY, "parts", "sv").out
    assert "stayed with the owner before" in out
    assert "still there" not in out


def test_what_stayed_cannot_go_on(seller: Person, tmp_path: Path) -> None:
    """There is nothing of it here but its name."""
    buyer = begin(tmp_path / "buyer")
    take(buyer, sell(seller, "alpha", tmp_path / "a.tailsheaf"))
    said = buyer.says(DAY, "handover", "alpha", "--with", "pk", exit_code=2).err
    assert "pk stayed with an earlier owner" in said
    assert "leave it out of --with" in said
