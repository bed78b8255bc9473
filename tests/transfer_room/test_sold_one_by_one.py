"""A fleet sold aircraft by aircraft to one buyer, in any order: every total is the seller's."""

from __future__ import annotations

import tempfile
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from laws.sheets import Sheets
from transfer_room.seller import Person
from transfer_room.test_random_fleets import AIRCRAFT, LAST, fleets, put

from fleets import make_fleet
from register.desk import open_fleet
from register.fleet import Fleet
from register.git.apply import save_paths
from register.git.commit import init_repository
from register.handing import Prepared, Wish, pack, prepare, read_files
from register.ledger.ledger import Ledger
from register.receiving import opened_arrival, take_arrival
from register.storage.journal import write_machine_id
from register.storage.parcel import pack_parcel
from register.transfer.incoming import Wanted

DAY = "2026-06-01"


def begin(folder: Path, files: dict[str, str] | None = None) -> Person:
    """An empty fleet with a history."""
    folder.mkdir()
    fleet = make_fleet(folder, files)
    init_repository(fleet)
    write_machine_id(fleet, f"m-{folder.name}")
    save_paths(fleet, sorted({"fleet.yaml", *(files or {})}), "Begin")
    return Person(fleet)


@pytest.fixture
def seller(tmp_path: Path) -> Person:
    """Two aircraft with one pack between them, and a servo that moved from one to the other."""
    found = begin(tmp_path / "seller")
    for name in ("alpha", "beta"):
        found.says("2026-04-30", "aircraft", name, "--add", "--stage", "in-service")
    found.says(
        "2026-04-30", "parts", "pk", "--add", "--kind", "battery", "--use", "assigned",
        "--serial", "S1",
    )  # fmt: skip
    found.says("2026-04-30", "parts", "sv", "--add", "--kind", "servo", "--serial", "S2")
    found.says("2026-04-30", "install", "sv", "alpha", "flap")
    found.says("2026-05-01", "fly", "alpha", "10", "--minutes", "50", "--pack", "pk")
    found.says("2026-05-02", "fly", "beta", "4", "--minutes", "20", "--pack", "pk")
    found.says("2026-05-03", "remove", "sv")
    found.says("2026-05-03", "install", "sv", "beta", "flap")
    found.says("2026-05-04", "fly", "beta", "3", "--minutes", "15", "--pack", "pk")
    found.says("2026-05-05", "fly", "alpha", "1", "--minutes", "6", "--pack", "pk")
    return found


def sell(seller: Person, aircraft: str, file: Path, *words: str) -> Path:
    """Hand one over."""
    seller.says(DAY, "handover", aircraft, file, *words)
    return file


def take(buyer: Person, *files: Path) -> None:
    """Take them in, one after the other; no total may be said to differ."""
    for file in files:
        assert buyer.asks(DAY, "receive", file, "--take")["totals_differ"] == []


def flights(told: dict[str, Any], name: str) -> tuple[int, int]:
    """Both ends of a part's flights."""
    return told[name]["flights"]["low"], told[name]["flights"]["high"]


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_what_both_name_counts_once(seller: Person, tmp_path: Path, order: tuple[int, int]) -> None:
    """A shared pack and a moved servo, whichever aircraft comes first."""
    told = seller.totals(DAY, "pk", "sv")
    files = [sell(seller, "alpha", tmp_path / "a.tailsheaf"),
             sell(seller, "beta", tmp_path / "b.tailsheaf", "--with", "pk")]  # fmt: skip
    buyer = begin(tmp_path / "buyer")
    take(buyer, *(files[number] for number in order))
    assert buyer.totals(DAY, "pk", "sv") == told
    assert [flights(told, name) for name in ("pk", "sv")] == [(18, 18), (13, 13)]
    for name in ("alpha", "beta"):
        assert buyer.counters(DAY, name) == seller.counters(DAY, name)
    assert buyer.asks(DAY, "check")["problems"] == seller.asks(DAY, "check")["problems"] == []


def test_a_third_file_with_the_pack_again(seller: Person, tmp_path: Path) -> None:
    """The pack goes with either; the third file tells of the other's flights once more."""
    told = seller.totals(DAY, "pk", "sv")
    files = [sell(seller, "alpha", tmp_path / "a.tailsheaf"),
             sell(seller, "beta", tmp_path / "b.tailsheaf", "--with", "pk"),
             sell(seller, "alpha", tmp_path / "a2.tailsheaf", "--with", "pk")]  # fmt: skip
    buyer = begin(tmp_path / "buyer")
    take(buyer, *files)
    assert buyer.totals(DAY, "pk", "sv") == told


def test_a_buyer_of_one_hears_of_the_rest(seller: Person, tmp_path: Path) -> None:
    """Without alpha, its flights are told as use elsewhere, and no id of them goes."""
    told = seller.totals(DAY, "pk", "sv")
    buyer = begin(tmp_path / "buyer")
    take(buyer, sell(seller, "beta", tmp_path / "b.tailsheaf", "--with", "pk"))
    assert buyer.totals(DAY, "pk", "sv") == told
    flown = [path.stem.rpartition("-")[2] for path in seller.fleet.glob("aircraft/alpha/**/*.yaml")]
    here = b"".join(path.read_bytes() for path in buyer.fleet.glob("parts/**/*.yaml")).decode()
    assert "stands_for" in here
    assert not [id_ for id_ in flown if len(id_) == 10 and id_ in here]


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_from_hand_to_hand(seller: Person, tmp_path: Path, order: tuple[int, int]) -> None:
    """A second owner sells on what a first one told of: nothing is told twice, nothing lost."""
    told = seller.totals(DAY, "pk", "sv")
    first = begin(tmp_path / "first")
    take(first, sell(seller, "beta", tmp_path / "b.tailsheaf", "--with", "pk"),
         sell(seller, "alpha", tmp_path / "a.tailsheaf"))  # fmt: skip
    assert first.totals(DAY, "pk", "sv") == told
    files = [sell(first, "beta", tmp_path / "b2.tailsheaf", "--with", "pk"),
             sell(first, "alpha", tmp_path / "a2.tailsheaf")]  # fmt: skip
    alone = begin(tmp_path / "alone")
    take(alone, files[0])
    assert alone.totals(DAY, "pk", "sv") == told
    second = begin(tmp_path / "second")
    take(second, *(files[number] for number in order))
    assert second.totals(DAY, "pk", "sv") == told
    # And back to the one who sold them: all of it is told there already.
    take(seller, *(files[number] for number in order))
    assert seller.totals(DAY, "pk", "sv") == told


def test_a_pack_that_stays_is_taken_off_each(seller: Person, tmp_path: Path) -> None:
    """Both go without the pack that both used: each file says so, with a record of its own."""
    buyer = begin(tmp_path / "buyer")
    take(buyer, sell(seller, "alpha", tmp_path / "a.tailsheaf"),
         sell(seller, "beta", tmp_path / "b.tailsheaf"))  # fmt: skip
    assert buyer.asks(DAY, "aircraft", "alpha")
    assert len(list(buyer.fleet.glob("aircraft/*/events/**/*-remove-w*.yaml"))) == 2


def test_some_here_and_some_not_is_a_range(seller: Person, tmp_path: Path) -> None:
    """One record of those told of is here and one is not: low without, high with, and said."""
    buyer = begin(tmp_path / "buyer")
    seller.says("2026-05-30", "fly", "alpha", "2", "--minutes", "9", "--pack", "pk")
    take(buyer, sell(seller, "beta", tmp_path / "b.tailsheaf", "--with", "pk"))
    kept = max(buyer.fleet.glob("parts/pk/events/**/*usage-elsewhere*.yaml"))
    assert flights(buyer.totals(DAY, "pk"), "pk") == (20, 20)
    # As a copy of alpha would bring it that was made before the last flights.
    path = sorted(seller.fleet.glob("aircraft/alpha/events/**/*flights*.yaml"))[1]
    target = buyer.fleet / path.relative_to(seller.fleet)
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_bytes(path.read_bytes())
    (buyer.fleet / "aircraft/alpha/aircraft.yaml").write_text(
        (seller.fleet / "aircraft/alpha/aircraft.yaml").read_text("utf-8"), "utf-8"
    )
    buyer.says(DAY, "save")
    assert flights(buyer.totals(DAY, "pk"), "pk") == (18, 21)
    problems = buyer.asks(DAY, "check")["problems"]
    told = [problem for problem in problems if problem["code"] == "usage-partly-here"]
    assert [problem["file"] for problem in told] == [kept.relative_to(buyer.fleet).as_posix()]
    assert "1 of the 2" in told[0]["says"]
    # A buyer of that buyer is told the same.
    third = begin(tmp_path / "third")
    take(third, sell(buyer, "beta", tmp_path / "c.tailsheaf", "--with", "pk"))
    assert flights(third.totals(DAY, "pk"), "pk") == (18, 21)


def totals(ledger: Ledger, parts: set[str], day: date) -> dict[Any, Any]:
    """Every counter of both aircraft and of these parts, on a day."""
    then = ledger.at(day)
    subjects = [*(("aircraft", name) for name in AIRCRAFT), *(("part", name) for name in parts)]
    return {
        (subject, counter): (value.low, value.high)
        for subject in subjects
        for counter in then.listed_counters(subject)
        for value in [then.value(subject, counter)]
    }


def sold(fleet: Fleet, with_pack: tuple[str, ...]) -> dict[str, Prepared]:
    """Each aircraft put together, the pack with these."""
    return {
        aircraft: prepare(fleet, Wish(aircraft, ("pk-04",) if aircraft in with_pack else ()), LAST)
        for aircraft in AIRCRAFT
    }


#: With which aircraft the pack goes.
PACKS = st.sampled_from([(), *((name,) for name in AIRCRAFT), AIRCRAFT])


@settings(max_examples=30, suppress_health_check=[HealthCheck.too_slow])
@given(fleets(), PACKS)
def test_what_all_files_tell_together(sheets: Sheets, with_pack: tuple[str, ...]) -> None:
    """Random fleets: the records of all files in one register give the seller's totals."""
    with tempfile.TemporaryDirectory() as folder:
        fleet = open_fleet(put(sheets, Path(folder)))
        files: dict[str, bytes] = {}
        went: set[str] = set()
        for prepared in sold(fleet, with_pack).values():
            stubs = {f"parts/{name}/part.yaml" for name in prepared.scope.stubs}
            files = {
                **files,
                **{p: d for p, d in prepared.files.items() if p not in stubs},
                **{path: prepared.files[path] for path in stubs if path not in files},
            }
            went.update(prepared.scope.parts)
        got = read_files(files)
        assert [p for p in got.records.problems if p.level == "error"] == []
        for day in (LAST, LAST + timedelta(days=30)):
            assert totals(got, went, day) == totals(fleet.ledger, went, day)


@settings(max_examples=4, suppress_health_check=[HealthCheck.too_slow])
@given(fleets(), PACKS, st.permutations(AIRCRAFT))
def test_sold_in_any_order(sheets: Sheets, with_pack: tuple[str, ...], order: list[str]) -> None:
    """The same through the files themselves, taken in one after the other."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        fleet = open_fleet(put(sheets, folder))
        prepared = sold(fleet, with_pack)
        buyer = begin(folder / "buyer").fleet
        for aircraft in order:
            data = pack_parcel(pack(fleet, prepared[aircraft], "test", LAST, {}).members)
            there = open_fleet(buyer)
            with opened_arrival(there, data, Wanted({})) as arrival:
                take_arrival(there, arrival, {})
        got = open_fleet(buyer).ledger
        went = {part for one in prepared.values() for part in one.scope.parts}
        for day in (LAST, LAST + timedelta(days=30)):
            assert totals(got, went, day) == totals(fleet.ledger, went, day)
