"""One record in two handover files of one owner, told more fully in one than in the other."""

from __future__ import annotations

from pathlib import Path

import pytest
from transfer_room.seller import Person
from transfer_room.test_sold_one_by_one import DAY, begin, sell, seller, take

__all__ = ["seller"]


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_the_fuller_telling_stands(seller: Person, tmp_path: Path, order: tuple[int, int]) -> None:
    """A charge of two packs that go apart, a snag of a servo in the aircraft it was in then."""
    seller.says("2026-04-30", "parts", "pk2", "--add", "--kind", "battery", "--use", "assigned")
    seller.says("2026-05-01", "charge", "pk", "pk2")
    seller.says("2026-05-02", "fly", "beta", "1", "--minutes", "4", "--pack", "pk2")
    snag = seller.writes(
        "2026-05-02", "snag", "alpha", "sv buzzes beside beta", "--position", "flap"
    )
    seller.says("2026-05-03", "fix", snag, "new bearing")
    seller.says("2026-05-06", "snag", "sv", "it buzzes again in beta, as it did in alpha")
    told = seller.totals(DAY, "pk", "pk2", "sv")
    files = [sell(seller, "alpha", tmp_path / "a.tailsheaf", "--with", "pk"),
             sell(seller, "beta", tmp_path / "b.tailsheaf", "--with", "pk2")]  # fmt: skip
    buyer = begin(tmp_path / "buyer")
    take(buyer, *(files[number] for number in order))
    assert buyer.totals(DAY, "pk", "pk2", "sv") == told
    assert [p for p in buyer.asks(DAY, "check")["problems"] if p["level"] == "error"] == []
    charges = list(buyer.fleet.glob("parts/*/events/**/*-charge-*.yaml"))
    assert len(charges) == 1
    # A newer telling of either changes nothing of it.
    seller.says(DAY, "fly", "alpha", "1", "--at", "2026-05-20", "--pack", "none")
    take(buyer, sell(seller, "alpha", tmp_path / "a2.tailsheaf", "--with", "pk"))
    assert buyer.totals(DAY, "pk", "pk2") == {name: told[name] for name in ("pk", "pk2")}
