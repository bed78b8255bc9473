"""A deferral that runs out either way, and a defect that comes back."""

from __future__ import annotations

from pathlib import Path

import pytest
from stories.story_fleet import Owner, make_story, part

FOUND = "2026-06-06"


@pytest.fixture
def owner(tmp_path: Path) -> Owner:
    """A jet whose left brake is a part of its own."""
    fleet = make_story(
        tmp_path,
        {
            "aircraft/gj/aircraft.yaml": 'id: "g000000001"\ntitle: "Grey Jet"\n'
            'stage: "in-service"\npositions:\n  brake-left: {kind: "brake", system: "brakes"}\n',
            "parts/br-1/part.yaml": part("b000000001", "brake"),
            "parts/br-2/part.yaml": part("b000000002", "brake"),
        },
    )
    owner = Owner(fleet)
    owner.says("2026-03-01", "install", "br-1", "gj", "brake-left")
    owner.says("2026-03-07", "fly", "gj", "4", "--minutes", "32")
    return owner


def find(owner: Owner, day: str = FOUND) -> str:
    """Note that the left brake drags."""
    words = ("snag", "gj", "left brake drags", "--position", "brake-left", "-s", "deferrable")
    return owner.writes(day, *words)


def defer(owner: Owner, snag: str, *more: str) -> None:
    """Ten days, ten flights, grass only."""
    owner.says(
        FOUND, "defer", snag, "--reason", "enough roll-out on grass", "--limit", "grass only",
        *(more or ("--until", "2026-06-16", "--flights", "10")),
    )  # fmt: skip


def test_the_last_permitted_day(owner: Owner) -> None:
    defer(owner, find(owner))
    assert owner.standing("2026-06-16", "gj")["standing"] == "limited"
    assert owner.standing("2026-06-17", "gj")["standing"] == "grounded"


def test_ten_days_count_from_the_day_after_discovery(owner: Owner) -> None:
    defer(owner, find(owner), "--until", "10 days")
    snags = owner.asks(FOUND, "snag", "gj")["snags"]
    assert snags[0]["deferral"]["until"] == "2026-06-16"


def test_the_flight_limit_ends_it_likewise(owner: Owner) -> None:
    defer(owner, find(owner))
    owner.says("2026-06-13", "fly", "gj", "9", "--minutes", "72")
    assert owner.standing("2026-06-14", "gj")["standing"] == "limited"
    owner.says("2026-06-14", "fly", "gj", "1", "--minutes", "8")
    assert owner.standing("2026-06-14", "gj")["standing"] == "grounded"


def test_an_extension_keeps_the_first_date(owner: Owner) -> None:
    snag = find(owner)
    defer(owner, snag)
    owner.says(
        "2026-06-15", "defer", snag, "--reason", "part is on its way", "--until", "2026-06-25"
    )
    shown = owner.asks("2026-06-20", "snag", "gj", "--on", "2026-06-20")["snags"][0]
    assert shown["first_day"] == FOUND
    assert shown["age_days"] == 14
    assert owner.standing("2026-06-20", "gj")["standing"] == "limited"
    reasons = owner.standing("2026-06-26", "gj")["reasons"]
    assert any(FOUND in reason["says"] for reason in reasons)


def test_a_grounding_snag_cannot_be_deferred(owner: Owner) -> None:
    snag = owner.writes(FOUND, "snag", "gj", "elevator slop above limit", "-s", "grounding")
    refused = owner.says(
        FOUND, "defer", snag, "--reason", "one more day", "--until", "2026-06-16", exit_code=4
    )
    assert "grounding" in refused.err
    assert owner.standing(FOUND, "gj")["standing"] == "grounded"


def test_the_third_report_is_a_repeat_and_needs_a_cause(owner: Owner) -> None:
    action = ("cleaned", "the", "drum")
    for day in ("2026-06-06", "2026-06-13"):
        snag = find(owner, day)
        owner.says(day, "fix", snag, *action)
        owner.says(day, "fly", "gj", "5", "--minutes", "40", "--at", day)
    third = find(owner, "2026-06-20")
    shown = owner.asks("2026-06-20", "snag", "gj")["snags"][0]
    assert shown["id"] == third
    assert shown["repeat"]
    refused = owner.says("2026-06-20", "fix", third, *action, exit_code=4)
    assert "cause" in refused.err
    owner.says("2026-06-20", "fix", third, *action, "--cause", "oil from the wheel bearing")
    assert owner.asks("2026-06-20", "snag", "gj")["snags"] == []


def test_swapping_the_brake_takes_the_snag_with_it(owner: Owner) -> None:
    defer(owner, find(owner))
    owner.says("2026-06-10", "swap", "br-1", "br-2")
    assert owner.asks("2026-06-10", "snag", "gj")["snags"] == []
    on_part = owner.asks("2026-06-10", "snag", "br-1")["snags"]
    assert [snag["text"] for snag in on_part] == ["left brake drags"]
    assert owner.standing("2026-06-10", "gj")["standing"] == "nothing-open"


def test_two_deferrals_on_one_system_need_a_decision_in_view_of_both(owner: Owner) -> None:
    first = find(owner)
    defer(owner, first)
    second = owner.writes(
        FOUND, "snag", "gj", "left brake squeals", "--position", "brake-left", "-s", "deferrable"
    )
    line = ("defer", second, "--reason", "same unit", "--until", "2026-06-12")
    refused = owner.says(FOUND, *line, exit_code=4)
    assert f"--knowing {first[:4]}" in refused.err
    owner.says(FOUND, *line, "--knowing", first)
    assert owner.standing(FOUND, "gj")["standing"] == "limited"


def test_a_grounding_rating_is_not_lowered_without_a_word(owner: Owner) -> None:
    snag = owner.writes(FOUND, "snag", "gj", "hinge loose", "-s", "grounding")
    for line in (["snag", snag, "-s", "limiting"], ["amend", snag, "severity=limiting"]):
        refused = owner.says(FOUND, *line, exit_code=2)
        assert "--note" in refused.err
        assert owner.standing(FOUND, "gj")["standing"] == "grounded"
    owner.says(FOUND, "amend", snag, "severity=limiting", "--note", "it was the wrong hinge")
    assert owner.standing(FOUND, "gj")["standing"] == "limited"
