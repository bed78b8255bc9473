"""A kit defect of the left wing in some lots: asked per physical part, and it moves with it."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from stories.story_fleet import Owner, make_story, part

KIT = """
# Jet J-A: what its owners told each other.
id: "k000000001"
title: "Jet J-A"
positions:
  left-wing: {kind: "wing"}   # plugs in
  right-wing: {kind: "wing"}
notices:
  kd-3:
    title: "Bond of the aileron servo frame"
    applies: {part_kind: "wing", side: "left", lots: ["L200-L299"]}
    action: "until-repaired"
    every: [{counter: "flights", amount: 10}]
    grounds: true
    basis: {kind: "maker", reference: "letter of the kit's maker"}
"""
WINGS = {
    "parts/lw-0112/part.yaml": part("wl00000112", "wing", 'lot: "L214"\nside: "left"\n'),
    "parts/rw-0112/part.yaml": part("wr00000112", "wing", 'lot: "L214"\nside: "right"\n'),
    "parts/lw-0145/part.yaml": part("wl00000145", "wing", 'lot: "L310"\nside: "left"\n'),
}
FITTED = (
    ("lw-0112", "gj", "left-wing"),
    ("rw-0112", "gj", "right-wing"),
    ("lw-0145", "rj", "left-wing"),
)


@pytest.fixture
def owner(tmp_path: Path) -> Owner:
    """Grey Jet with both wings of one lot, Red Jet with a left wing of a later one."""
    owner = Owner(make_story(tmp_path, {"kits/jet-kit.yaml": KIT, **WINGS}))
    for name, jet, position in FITTED:
        owner.says("2026-04-01", "install", name, jet, position)
    return owner


def rows(owner: Owner, day: str, *words: str) -> dict[str, dict[str, Any]]:
    """Who is asked, by name."""
    data = owner.asks(day, "notices", *words, "--on", day)
    return {row["subject"]: row for row in data["rows"]}


def asked_of(owner: Owner, day: str, jet: str) -> list[dict[str, Any]]:
    """What the notice is as a reason for the standing of a jet."""
    return [reason for reason in owner.standing(day, jet)["reasons"] if reason["kind"] == "notice"]


def test_exactly_one_open_item(owner: Owner) -> None:
    data = owner.asks("2026-04-02", "notices")
    found = {row["subject"]: row for row in data["rows"]}
    assert data["open"] == 1
    assert [name for name, row in found.items() if row["open"]] == ["lw-0112"]
    assert found["rw-0112"]["state"] == found["lw-0145"]["state"] == "not-applicable"
    assert found["rw-0112"]["says"].startswith("side: right")
    assert found["lw-0145"]["says"] == "lot: L310 is not in L200-L299"
    assert [item["subject"] for item in asked_of(owner, "2026-04-02", "gj")] == ["lw-0112"]
    assert asked_of(owner, "2026-04-02", "rj") == []
    item = owner.item("2026-04-02", "kd-3", "lw-0112")
    assert item is not None
    assert item["state"] == "due"
    assert item["basis"]["kind"] == "maker"


@pytest.mark.parametrize("lot", ["", 'lot: "?"\n', 'lot: "214"\n'])
def test_an_unknown_lot_cannot_be_told_and_is_open(tmp_path: Path, lot: str) -> None:
    wing = part("wl00000112", "wing", f'{lot}side: "left"\n')
    owner = Owner(
        make_story(tmp_path, {"kits/jet-kit.yaml": KIT, **WINGS, "parts/lw-0112/part.yaml": wing})
    )
    owner.says("2026-04-01", "install", "lw-0112", "gj", "left-wing")
    row = rows(owner, "2026-04-02")["lw-0112"]
    assert (row["state"], row["open"], row["applies"]) == ("cannot-tell", True, "cannot-tell")
    reason = asked_of(owner, "2026-04-02", "gj")[0]
    assert reason["standing"] == "grounded"
    assert "cannot tell" in reason["says"]
    assert owner.standing("2026-04-02", "gj")["standing"] == "grounded"


def test_an_unknown_side_cannot_be_told(tmp_path: Path) -> None:
    wing = part("wl00000112", "wing", 'lot: "L214"\n')
    kit = KIT.replace("left-wing: {", "panel-1: {")
    owner = Owner(
        make_story(tmp_path, {"kits/jet-kit.yaml": kit, **WINGS, "parts/lw-0112/part.yaml": wing})
    )
    owner.says("2026-04-01", "install", "lw-0112", "gj", "panel-1")
    row = rows(owner, "2026-04-02")["lw-0112"]
    assert row["state"] == "cannot-tell"
    assert row["says"] == "side not recorded; asked on the left"


def test_the_item_and_its_ten_flights_move_with_the_wing(owner: Owner) -> None:
    owner.says("2026-04-03", "notices", "kd-3", "lw-0112", "--clear", "tapped, sounds full")
    owner.says("2026-04-04", "fly", "gj", "4", "--minutes", "28")
    row = rows(owner, "2026-04-05")["lw-0112"]
    assert (row["state"], row["limits"][0]["remaining"]) == ("clear", 6)
    owner.says("2026-04-06", "remove", "lw-0112")
    on_shelf = rows(owner, "2026-04-06")["lw-0112"]
    assert (on_shelf["aircraft"], on_shelf["limits"][0]["remaining"]) == ([], 6)
    owner.says("2026-04-07", "fly", "gj", "3", "--minutes", "21")
    owner.says("2026-04-08", "remove", "lw-0145")
    owner.says("2026-04-08", "install", "lw-0112", "rj", "left-wing")
    owner.says("2026-04-09", "fly", "rj", "5", "--minutes", "35")
    row = rows(owner, "2026-04-09")["lw-0112"]
    assert (row["aircraft"], row["limits"][0]["remaining"]) == (["rj"], 1)
    assert asked_of(owner, "2026-04-09", "gj") == []
    during = owner.standing("2026-04-10", "rj", "--plan", "rj=3")["during"]
    assert [(found["task"], found["before_flight"]) for found in during] == [("kd-3", 2)]
    owner.says("2026-04-10", "fly", "rj", "1", "--minutes", "7")
    row = rows(owner, "2026-04-10")["lw-0112"]
    assert (row["state"], row["open"]) == ("due-again", True)
    assert owner.standing("2026-04-11", "rj")["standing"] == "grounded"
    assert asked_of(owner, "2026-04-11", "gj") == []


def test_after_the_repair_it_is_closed_and_still_listed(owner: Owner) -> None:
    owner.says("2026-04-03", "notices", "kd-3", "lw-0112", "--found", "dull on 40 mm")
    row = rows(owner, "2026-04-04")["lw-0112"]
    assert (row["state"], row["open"]) == ("found", True)
    said = owner.says("2026-04-05", "notices", "kd-3", "gj", "--clear", "sounds full now")
    assert "stays open until a repair is recorded" in said.said
    assert rows(owner, "2026-04-05")["lw-0112"]["state"] == "found"
    owner.says("2026-04-06", "notices", "kd-3", "gj", "--repaired", "bonded anew")
    for flights, day in (("9", "2026-04-07"), ("9", "2026-04-08")):
        owner.says(day, "fly", "gj", flights, "--minutes", "60")
    row = rows(owner, "2026-04-09")["lw-0112"]
    assert (row["state"], row["open"]) == ("repaired", False)
    assert [answer["result"] for answer in row["answers"]] == ["found", "clear", "repaired"]
    assert asked_of(owner, "2026-04-09", "gj") == []
    assert "repaired 2026-04-06: bonded anew" in owner.says("2026-04-09", "notices").out


def test_a_lot_corrected_decides_anew_and_says_why(owner: Owner) -> None:
    owner.says("2026-04-03", "notices", "kd-3", "lw-0112", "--clear", "tapped, sounds full")
    said = owner.says("2026-04-04", "parts", "lw-0112", "--lot", "L124")
    assert "notice kd-3 on lw-0112: was clear, now not applicable" in said.out
    assert "L124 is not in L200-L299" in said.said
    row = rows(owner, "2026-04-04")["lw-0112"]
    assert (row["state"], row["open"]) == ("not-applicable", False)
    assert row["says"] == "lot: L124 is not in L200-L299"
    assert row["answers"][0]["lot"] == "L214"
    shown = " ".join(owner.says("2026-04-04", "notices").out.split())
    assert "answered clear 2026-04-03 as lot L214" in shown
    owner.says("2026-04-05", "parts", "lw-0112", "--lot", "L214")
    row = rows(owner, "2026-04-05")["lw-0112"]
    assert row["state"] == "clear"


def test_an_answer_that_it_does_not_apply_holds_for_its_lot_only(owner: Owner) -> None:
    words = ("notices", "kd-3", "lw-0145", "--not-applicable", "the later frame, seen")
    owner.says("2026-04-03", *words)
    owner.says("2026-04-04", "parts", "lw-0145", "--lot", "L250")
    row = rows(owner, "2026-04-04")["lw-0145"]
    assert (row["state"], row["open"]) == ("not-looked-at", True)
    owner.says("2026-04-05", *words)
    assert rows(owner, "2026-04-05")["lw-0145"]["state"] == "not-applicable"


def test_why_tells_the_chain(owner: Owner) -> None:
    owner.says("2026-04-03", "notices", "kd-3", "lw-0112", "--clear", "tapped, sounds full")
    data = owner.asks("2026-04-04", "why", "gj", "kd-3")
    says = [step["says"] for step in data["why"]]
    assert "lot L214 is in L200-L299" in says
    assert any(step["place"] == "parts/lw-0112/part.yaml:1" for step in data["why"])
    assert any("looked at 2026-04-03" in words for words in says)
    assert any("due at 10 flights, now 0: 10 left" in words for words in says)
    assert says[-1] == "basis: maker: letter of the kit's maker"
