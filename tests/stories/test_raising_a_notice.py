"""What was found on one aircraft, raised to a notice, is asked of every other of its kit."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from stories.story_fleet import Owner, make_story, part

KIT = """\
# Sailplane tug "Oriel": written by hand, comments and all.
id: "k000000001"
title: "Oriel"   # second moulding
positions:
  tail: {kind: "tail"}      # one piece

# per flight, from the winch log
per_flight:
  landings: 1
"""
PARTS = {
    "parts/tail-a/part.yaml": part("tl0000000a", "tail", 'lot: "K31"\n'),
    "parts/tail-b/part.yaml": part("tl0000000b", "tail", 'lot: "K32"\n'),
    "parts/tail-c/part.yaml": part("tl0000000c", "tail"),
}


@pytest.fixture
def owner(tmp_path: Path) -> Owner:
    """Two aircraft with a tail each, and a third tail on the shelf, once in one of them."""
    owner = Owner(make_story(tmp_path, {"kits/jet-kit.yaml": KIT, **PARTS}))
    owner.says("2026-03-28", "install", "tail-c", "gj", "tail")
    owner.says("2026-03-30", "remove", "tail-c")
    owner.says("2026-04-01", "install", "tail-a", "gj", "tail")
    owner.says("2026-04-01", "install", "tail-b", "rj", "tail")
    return owner


def states(owner: Owner, day: str) -> dict[str, str]:
    """The state of each row, by subject."""
    return {row["subject"]: row["state"] for row in owner.asks(day, "notices", "--on", day)["rows"]}


def raise_it(owner: Owner, *more: str) -> str:
    """A snag on the tail of the first, raised to a notice."""
    snag = owner.writes("2026-04-10", "snag", "gj", "elevator horn loose", "-p", "tail", "-s", "l")
    owner.says("2026-04-11", "notices", "--raise", snag, "--title", "Elevator horn bond", *more)
    return snag


def test_it_asks_every_other_and_knows_the_first(owner: Owner) -> None:
    raise_it(owner, "--name", "horn-bond", "--grounds")
    assert states(owner, "2026-04-12") == {
        "tail-a": "found",
        "tail-b": "not-looked-at",
        "tail-c": "not-looked-at",
    }
    for jet in ("gj", "rj"):
        assert owner.standing("2026-04-12", jet)["standing"] == "grounded"


def test_the_kit_file_is_edited_in_one_place(owner: Owner) -> None:
    raise_it(owner, "--name", "horn-bond", "--lots", "K20-K40", "--every", "months=6")
    text = (owner.fleet / "kits/jet-kit.yaml").read_text()
    assert text.startswith(KIT)
    added: Any = text.removeprefix(KIT)
    assert added.startswith("notices:\n  horn-bond:\n")
    notice = owner.asks("2026-04-12", "notices", "horn-bond")["notices"][0]
    assert notice["applies"] == {
        "part_kind": "tail",
        "position": None,
        "side": None,
        "lots": ["K20-K40"],
    }
    assert (notice["action"], notice["every"]) == ("recurring", [{"months": 6}])
    assert notice["basis"]["kind"] == "owner"
    assert states(owner, "2026-04-12")["tail-c"] == "cannot-tell"
    assert owner.problems("2026-04-12") == []


def test_fixing_the_snag_answers_for_its_part(owner: Owner) -> None:
    snag = raise_it(owner, "--name", "horn-bond")
    owner.says("2026-04-13", "fix", snag, "bonded anew, pinned")
    assert states(owner, "2026-04-14")["tail-a"] == "repaired"
    assert states(owner, "2026-04-14")["tail-b"] == "not-looked-at"
    assert states(owner, "2026-04-12")["tail-a"] == "found"


def test_once_cleared_it_stays_so_on_the_other(owner: Owner) -> None:
    raise_it(owner, "--name", "horn-bond", "--grounds")
    said = owner.says("2026-04-13", "notices", "rj", "horn", "--clear", "pulled 5 kg, no give")
    assert "rj is now nothing open" in said.out or "tail-b" in said.out
    assert states(owner, "2026-06-14")["tail-b"] == "clear"
    reasons = owner.standing("2026-06-14", "rj")["reasons"]
    assert [reason for reason in reasons if reason["kind"] == "notice"] == []


def test_a_modification_on_trial_and_then_fixed(owner: Owner) -> None:
    made = owner.writes(
        "2026-04-10", "modify", "tail-a", "pin", "through", "the", "horn", "--state", "trial"
    )
    owner.says("2026-04-11", "notices", "--raise", made, "--name", "horn-pin", "--title", "Pin it")
    assert states(owner, "2026-04-12")["tail-a"] == "found"
    owner.says("2026-04-20", "modify", made, "--state", "fixed")
    assert states(owner, "2026-04-20")["tail-a"] == "repaired"


def test_a_trap_is_shown_where_work_touches_it(owner: Owner) -> None:
    raise_it(owner, "--name", "horn-first", "--trap", "--touches", "tail")
    assert owner.asks("2026-04-12", "notices")["rows"] == []
    assert owner.standing("2026-04-12", "rj")["reasons"][0]["kind"] != "notice"
    for words in (
        ("jobs", "rj", "set", "the", "incidence", "--where", "tail"),
        ("jobs", "rj", "sand", "the", "tail"),
        ("modify", "tail-b", "drilled", "the", "horn", "out"),
    ):
        assert "trap here: Elevator horn bond" in owner.says("2026-04-12", *words).out
    quiet = owner.says("2026-04-12", "jobs", "rj", "charge", "the", "packs")
    assert "trap here" not in quiet.out
    refused = owner.says("2026-04-12", "notices", "horn-first", "--clear", "seen", exit_code=4)
    assert "needs no answer" in refused.err


def test_raising_twice_and_without_a_kit_is_refused(tmp_path: Path, owner: Owner) -> None:
    snag = raise_it(owner)
    refused = owner.says("2026-04-12", "notices", "--raise", snag, exit_code=4)
    assert "raised before, to notice elevator-horn-bond" in refused.err
    fly = owner.writes("2026-04-12", "fly", "gj", "2")
    refused = owner.says("2026-04-12", "notices", "--raise", fly, exit_code=2)
    assert "a snag, a modification or a note" in refused.err
    lone = Owner(
        make_story(
            tmp_path / "lone", {"aircraft/tg/aircraft.yaml": 'id: "t000000001"\ntitle: "Tug"\n'}
        )
    )
    snag = lone.writes("2026-04-12", "snag", "tg", "release sticks")
    refused = lone.says("2026-04-12", "notices", "--raise", snag, exit_code=4)
    assert "tailsheaf aircraft tg --kit KIT" in refused.err


def test_an_aircraft_that_records_no_such_part_is_asked_itself(owner: Owner) -> None:
    owner.says("2026-04-02", "aircraft", "bj", "--add", "--kit", "jet-kit", "--title", "Blue")
    raise_it(owner, "--name", "horn-bond", "--grounds")
    row = next(
        row
        for row in owner.asks("2026-04-12", "notices")["rows"]
        if (row["subject"], row["on"]) == ("bj", "aircraft")
    )
    assert (row["state"], row["open"]) == ("not-looked-at", True)
    assert row["because"].startswith("no tail is recorded as a part")
    owner.says("2026-04-13", "notices", "horn-bond", "bj", "--clear", "glued and pinned")
    assert states(owner, "2026-04-13")["bj"] == "clear"
