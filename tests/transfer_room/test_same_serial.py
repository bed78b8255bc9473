"""A part of the receiver's own with the serial of one that comes in: perhaps the same."""

from __future__ import annotations

from pathlib import Path

from transfer_room.seller import Person
from transfer_room.test_sold_one_by_one import DAY, begin, sell, seller, take

__all__ = ["seller"]


def test_a_serial_that_is_here_is_hinted_at(seller: Person, tmp_path: Path) -> None:
    """Before it is taken in, with both names; a part without a serial is like no other, and one
    that is known by its id is not compared."""
    buyer = begin(tmp_path / "buyer")
    buyer.says(DAY, "parts", "flap-1", "--add", "--kind", "servo", "--serial", "s 2")
    buyer.says(DAY, "parts", "bare", "--add", "--kind", "servo")
    file = sell(seller, "beta", tmp_path / "b.tailsheaf", "--with", "pk")
    hint = "sv: serial S2 is that of flap-1 here too"
    (said,) = buyer.asks(DAY, "receive", file)["serials"]
    assert said.startswith(hint)
    assert hint in " ".join(buyer.says(DAY, "receive", file).out.split())
    take(buyer, file)
    assert buyer.asks(DAY, "receive", file)["serials"] == []
