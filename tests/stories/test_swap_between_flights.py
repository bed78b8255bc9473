"""A servo is swapped between two flights of a day."""

from __future__ import annotations

from pathlib import Path

import pytest
from stories.story_fleet import Owner, exactly, make_story, part

DAY = "2026-05-16"


@pytest.fixture
def owner(tmp_path: Path) -> Owner:
    """The old servo has been at the left aileron since spring."""
    fleet = make_story(
        tmp_path,
        {
            "parts/sv-22/part.yaml": part("s000000022", "servo"),
            "parts/sv-31/part.yaml": part("s000000031", "servo"),
        },
    )
    owner = Owner(fleet)
    owner.says("2026-04-01", "install", "sv-22", "gj", "aileron-servo-left")
    return owner


def gained(owner: Owner, name: str) -> tuple[dict[str, object], dict[str, object]]:
    """Flights and minutes of a servo."""
    return owner.counter(DAY, name, "flights"), owner.counter(DAY, name, "minutes")


def test_given_the_flight_each_servo_gets_its_own(owner: Owner) -> None:
    flown = owner.writes(DAY, "fly", "gj", "3", "--each", "7,8,6")
    owner.says(DAY, "swap", "sv-22", "sv-31", "--after", f"{flown}:2")
    assert gained(owner, "sv-22") == (exactly(2), exactly(15))
    assert gained(owner, "sv-31") == (exactly(1), exactly(6))


def test_with_only_a_date_nothing_is_guessed(owner: Owner) -> None:
    flown = owner.writes(DAY, "fly", "gj", "3", "--each", "7,8,6")
    swapped = owner.asks(DAY, "swap", "sv-22", "sv-31", "--at", DAY)
    for name in ("sv-22", "sv-31"):
        assert owner.counter(DAY, name, "flights") == {"low": 0, "high": 3, "known": "known"}
        assert owner.counter(DAY, name, "minutes") == {"low": 0, "high": 21, "known": "known"}
    unordered = [p for p in owner.problems(DAY) if p["code"] == "order-unknown"]
    assert unordered
    # Ordering the removal orders the swap: the install follows it.
    removal = next(item["id"] for item in swapped["written"] if item["kind"] == "remove")
    owner.says(DAY, "amend", removal, f"after={flown}:2")
    assert gained(owner, "sv-22") == (exactly(2), exactly(15))
    assert gained(owner, "sv-31") == (exactly(1), exactly(6))


def test_a_forgotten_flight_goes_where_it_belongs(owner: Owner) -> None:
    flown = owner.writes(DAY, "fly", "gj", "3", "--each", "7,8,6")
    owner.says(DAY, "swap", "sv-22", "sv-31", "--after", f"{flown}:2")
    owner.says(DAY, "fly", "gj", "--minutes", "5", "--after", f"{flown}:1")
    assert gained(owner, "sv-22") == (exactly(3), exactly(20))
    assert gained(owner, "sv-31") == (exactly(1), exactly(6))
