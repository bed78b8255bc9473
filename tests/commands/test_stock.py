"""stock: what lies on the shelf, counted, put, taken and wanted."""

from __future__ import annotations

import json
import random
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from workshop_room.jointed_fleet import STOCK, make_jointed_fleet

from fleets import NOW, make_fleet, read_files, run, run_json
from register.entry.clerk import Clerk
from register.entry.shelf import StockWish, plan_stock
from register.ledger.ledger import Ledger
from register.records.gathering import build_file, compose_records
from register.records.stock import read_stock
from register.text.parsing import parse_text


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_jointed_fleet(tmp_path)


def counts(fleet: Path) -> dict[str, object]:
    """What is there of each item, as `stock --json` tells."""
    return {item["item"]: item["count"] for item in run_json("stock", fleet=fleet)["items"]}


def test_what_is_short_stands_first(fleet: Path) -> None:
    told = run_json("stock", fleet=fleet)
    assert [(item["item"], item["state"]) for item in told["items"]] == [
        ("glue", "not-counted"),
        ("screw-m3x16-cap", "enough"),
        ("screw-m4x16-cap", "no-minimum"),
        ("insert-m2-5", "no-minimum"),
    ]
    assert run("stock", "--strict", fleet=fleet).exit_code == 1


def test_where_it_lies_is_private(fleet: Path) -> None:
    assert "second drawer" in run("stock", "screw-m3", fleet=fleet).out
    assert "drawer" not in json.dumps(run_json("stock", "screw-m3", fleet=fleet))


def test_put_take_count(fleet: Path) -> None:
    run("stock", "screw-m3", "--put", "5", fleet=fleet)
    assert counts(fleet)["screw-m3x16-cap"] == 12
    result = run("stock", "screw-m3", "--take", "9", fleet=fleet)
    assert "screw-m3x16-cap: 3 there, 5 wanted (stock.yaml)" in result.out
    assert "BELOW what is wanted: 2 screw-m3x16-cap to get" in result.out
    run("stock", "screw-m3", "--count", "40", "--wanted", "10", fleet=fleet)
    assert counts(fleet)["screw-m3x16-cap"] == 40
    # The owner's comment stays.
    assert (fleet / "stock.yaml").read_text().startswith("# What lies in the drawers.")


def test_a_bare_count_becomes_keys_when_more_is_said(fleet: Path) -> None:
    run("stock", "insert", "--wanted", "6", fleet=fleet)
    told = run_json("stock", "insert", fleet=fleet)["items"][0]
    assert (told["count"], told["wanted"], told["short_by"]) == (4, 6, 2)


def test_a_new_item_and_a_new_file(tmp_path: Path) -> None:
    fleet = make_jointed_fleet(tmp_path)
    run("stock", "nut-m3", "--add", "--count", "30", "--unit", "pieces", fleet=fleet)
    assert counts(fleet)["nut-m3"] == 30
    bare = tmp_path / "bare"
    assert run("init", bare).exit_code == 0
    result = run("stock", "tape", "--add", "--count", "1.5", "--unit", "m", fleet=bare)
    assert result.exit_code == 0
    assert "items:" in (bare / "stock.yaml").read_text()
    assert counts(bare) == {"tape": 1.5}


def test_taking_more_than_is_there(fleet: Path) -> None:
    result = run("stock", "screw-m4", "--take", "20", fleet=fleet)
    assert "only 9 screw-m4x16-cap were counted; it is written as 0" in result.out
    assert counts(fleet)["screw-m4x16-cap"] == 0


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("nut-m9", "--count", "3"), "no stock item is called 'nut-m9'"),
        (("glue", "--put", "1"), "was never counted"),
        (("glue", "--count", "-1"), "not between"),
        (("glue", "--count", "many"), "not an amount"),
        (("glue", "--count", "1", "--put", "1"), "exclude each other"),
        (("glue", "--wanted", "1"), "says all of that already"),
        (("Con", "--add"), "cannot be the name"),
        (("glue", "--add"), "already a stock item"),
        (("glue", "--unit", " "), "1 to 80 characters"),
    ],
)
def test_bad_words_write_nothing(fleet: Path, words: tuple[str, ...], says: str) -> None:
    before = read_files(fleet)
    result = run("stock", *words, fleet=fleet)
    assert result.exit_code in (2, 4)
    assert says in result.err
    assert "mend:" in result.err
    assert read_files(fleet) == before


def test_a_shelf_broken_by_hand_is_shown_as_far_as_it_reads(tmp_path: Path) -> None:
    broken = STOCK.replace("count: 9", "count: nine").replace("wanted: 5", "wantd: 5")
    fleet = make_fleet(tmp_path, {"stock.yaml": broken})
    result = run("stock", fleet=fleet)
    assert result.exit_code == 1
    assert "stock.yaml:4:" in result.err
    assert "insert-m2-5" in result.out
    checked = run("check", fleet=fleet).out
    assert "key-unknown" in checked
    assert "stock.yaml:4:" in checked


def clerk_of(data: bytes) -> Clerk:
    """A clerk over a fleet of nothing but a shelf."""
    built = build_file("stock.yaml", parse_text("stock.yaml", data).node, ZoneInfo("UTC"))
    ledger = Ledger(compose_records([built]))
    return Clerk(ledger, {"stock.yaml": data}, NOW, "m-test", random.Random(1))


def change(data: bytes, wish: StockWish) -> bytes:
    """The file after one line typed."""
    return plan_stock(clerk_of(data), "nut", wish, is_new=False).changes[0].after


@given(
    st.sampled_from(["items: {nut: %s}", "items:\n  nut: %s  # M3\n", "items: {nut: {count: %s}}"]),
    st.integers(0, 500),
    st.integers(1, 500),
)
def test_putting_and_taking_again_restores_every_byte(form: str, there: int, put: int) -> None:
    before = (form % there).encode()
    after = change(before, StockWish(put=str(put)))
    count = read_stock(parse_text("stock.yaml", after).node)[0]["nut"].count
    assert count == there + put
    assert change(after, StockWish(take=str(put))) == before
