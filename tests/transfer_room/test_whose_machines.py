"""Machines of an owner before are not heard from: they are not of this fleet."""

from __future__ import annotations

from pathlib import Path

from transfer_room.seller import Person
from transfer_room.test_sold_one_by_one import DAY, begin, sell, seller, take

__all__ = ["seller"]


def machines(person: Person, day: str = DAY) -> list[str]:
    """Those that `sync --list` tells of."""
    return [one["machine"] for one in person.asks(day, "sync", "--list")["machines"]]


def test_only_those_of_this_fleet_are_heard_from(seller: Person, tmp_path: Path) -> None:
    """At the buyer's, at the seller's after a return, and after an update."""
    buyer = begin(tmp_path / "buyer")
    own = machines(seller)
    assert len(own) == 1
    take(buyer, sell(seller, "alpha", tmp_path / "a.tailsheaf", "--with", "pk"))
    theirs = machines(buyer)
    assert len(theirs) == 1
    assert theirs != own
    take(buyer, sell(seller, "beta", tmp_path / "b.tailsheaf"))
    seller.says(DAY, "fly", "alpha", "1", "--at", "2026-05-20")
    take(buyer, sell(seller, "alpha", tmp_path / "a2.tailsheaf"))
    buyer.says(DAY, "sync", "--call-me", "the bench")
    assert machines(buyer) == theirs
    due = buyer.says(DAY, "due").out
    assert "last heard" not in due, due
    # A name in fleet.yaml is of this fleet, whatever it wrote before.
    text = (buyer.fleet / "fleet.yaml").read_text("utf-8")
    named = text.replace("machines:\n", f'machines:\n  {own[0]}: "one that came along"\n')
    (buyer.fleet / "fleet.yaml").write_text(named, "utf-8")
    buyer.says(DAY, "save")
    assert sorted(machines(buyer)) == sorted([*theirs, *own])


def test_one_that_comes_back_brings_no_machines(seller: Person, tmp_path: Path) -> None:
    """The buyer's machine is not heard from at the seller's."""
    own = machines(seller)
    buyer = begin(tmp_path / "buyer")
    take(buyer, sell(seller, "alpha", tmp_path / "a.tailsheaf", "--with", "pk"))
    buyer.says("2026-06-10", "fly", "alpha", "2")
    back = tmp_path / "back.tailsheaf"
    buyer.says("2026-06-11", "handover", "alpha", back)
    seller.asks("2026-06-11", "receive", back, "--take")
    assert machines(seller, "2026-06-11") == own
    assert seller.counters("2026-06-11", "alpha") == buyer.counters("2026-06-11", "alpha")
