"""What is dated after the change of owner is not the new owner's."""

from __future__ import annotations

from pathlib import Path

from transfer_room.seller import Person
from transfer_room.test_sold_one_by_one import DAY, begin, sell, seller, take

from fleets import run

__all__ = ["seller"]
NEXT = "2026-06-02"


def test_an_update_ends_with_the_change(seller: Person, tmp_path: Path) -> None:
    """Of what another machine wrote after the sale nothing goes; what is earlier and corrections
    go, and both the preview and the writing say how many stay."""
    file = sell(seller, "alpha", tmp_path / "a.tailsheaf", "--with", "pk")
    told = seller.totals(DAY, "pk"), seller.counters(DAY, "alpha")
    buyer = begin(tmp_path / "buyer")
    take(buyer, file)
    # As sync brings it from a laptop that had not heard of the sale.
    late = min(seller.fleet.glob("aircraft/alpha/events/**/*-flights-*.yaml"))
    for number, day in enumerate((DAY, NEXT, "2026-06-03")):
        text = late.read_text("utf-8").replace("2026-05-01", day)
        text = text.replace(f'"{late.stem[-10:]}"', f'"qqqqqqqq0{number}"')
        place = seller.fleet / f"aircraft/alpha/events/2026/06/{day}-flights-qqqqqqqq0{number}.yaml"
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(text, "utf-8")
    seller.says(NEXT, "save")
    for words in ((), (tmp_path / "a2.tailsheaf",)):
        out = " ".join(seller.says(NEXT, "handover", "alpha", *words).out.split())
        assert "2 records dated after 2026-06-01, when alpha changes owner" in out
    view = seller.asks(NEXT, "handover", "alpha")
    assert view["dated_after"] == 2
    buyer.asks(NEXT, "receive", tmp_path / "a2.tailsheaf", "--take")
    assert len(list(buyer.fleet.glob("aircraft/alpha/events/2026/06/*qqqqqqqq*"))) == 1
    assert buyer.counters(NEXT, "alpha")["flights"]["low"] == told[1]["flights"]["low"] + 10
    pack = buyer.totals(NEXT, "pk")["pk"]["flights"]["low"]
    assert pack == told[0]["pk"]["flights"]["low"] + 10
    # The buyer can sell on the next day.
    buyer.says(NEXT, "handover", "alpha", tmp_path / "b.tailsheaf")


def test_a_correction_of_what_was_before_goes(seller: Person, tmp_path: Path) -> None:
    """Typed after the sale, of a flight before it; and a date amended to after it stays."""
    buyer = begin(tmp_path / "buyer")
    take(buyer, sell(seller, "alpha", tmp_path / "a.tailsheaf"))
    first, last = (
        path.stem[-10:]
        for path in sorted(seller.fleet.glob("aircraft/alpha/events/**/*-flights-*.yaml"))
    )
    seller.says(NEXT, "amend", first, "count=9")
    seller.says(NEXT, "amend", last, f"when={NEXT}")
    file = tmp_path / "a2.tailsheaf"
    seller.says(NEXT, "handover", "alpha", file)
    buyer.asks(NEXT, "receive", file, "--take")
    assert buyer.counters(NEXT, "alpha")["flights"]["low"] == 9


def test_a_day_to_come_is_said_at_once(seller: Person) -> None:
    """Recorded all the same."""
    result = run("fly", "beta", "1", "--at", "2026-05-17", fleet=seller.fleet)
    shown = " ".join((result.out + result.err).split())
    assert result.exit_code == 0
    assert "2026-05-17 is still to come: today is 2026-05-16" in shown
    assert "still to come" not in run("fly", "beta", "1", fleet=seller.fleet).out
