"""A late inspection whose lateness does not add up, and months from the 31st of August."""

from __future__ import annotations

from pathlib import Path

import pytest
from stories.story_fleet import Owner, make_story

from fleets import run

SLOP = """
title: "Slop"
tasks:
  - id: "slop"
    title: "Free play"
    every: [{{counter: "flights", amount: 25, early: 2, late: 2}}]
    reset: "{reset}"
    basis: {{kind: "owner", reference: "own figure"}}
"""


def due_at_after(tmp_path: Path, reset: str, done_at: int) -> tuple[float, Owner]:
    """Next due point after one done at so many flights."""
    owner = Owner(make_story(tmp_path, {"programmes/story.yaml": SLOP.format(reset=reset)}))
    owner.says("2026-04-04", "fly", "gj", str(done_at), "--minutes", str(8 * done_at))
    owner.says("2026-04-05", "done", "slop", "gj")
    item = owner.item("2026-04-06", "slop", "gj")
    assert item is not None
    return item["limits"][0]["due_at"], owner


@pytest.mark.parametrize(
    ("reset", "done_at", "expected"),
    [
        ("from-due-in-window", 27, 50),
        ("from-due-in-window", 24, 50),
        ("from-due-in-window", 29, 54),
        ("from-due-in-window", 20, 45),
        ("from-done", 27, 52),
        ("from-due", 29, 50),
    ],
)
def test_slop_check_each_25_flights(
    tmp_path: Path, reset: str, done_at: int, expected: int
) -> None:
    assert due_at_after(tmp_path, reset, done_at)[0] == expected


@pytest.mark.parametrize("reset", ["from-due-in-window", "from-due"])
def test_the_record_says_how_late(tmp_path: Path, reset: str) -> None:
    _, owner = due_at_after(tmp_path, reset, 29)
    why = owner.asks("2026-04-06", "why", "gj", "slop")
    said = " ".join(step["says"] for step in why["items"][0]["why"])
    assert "4 flights late" in said
    assert "2 beyond" in said


def test_a_life_limit_with_a_window_is_refused_on_entry(tmp_path: Path) -> None:
    fleet = make_story(
        tmp_path,
        {
            "parts/sv-40/part.yaml": 'id: "s000000040"\nkind: "servo"\n'
            'life:\n  - {counter: "flights", limit: 300, late: 10}\n'
        },
    )
    result = run("check", fleet=fleet)
    assert result.exit_code == 1
    assert "parts/sv-40/part.yaml:4:" in result.out
    assert "a life limit takes no window" in result.out
    typed = run(
        "parts", "sv-41", "--add", "--kind", "servo", "--life", "flights=300+10", fleet=fleet
    )
    assert typed.exit_code == 2
    assert not (fleet / "parts/sv-41").exists()


MONTHS = """
title: "Calendar"
tasks:
  - id: "weigh"
    title: "Weigh the extinguisher"
    every: [{{{every}}}]
    reset: "{reset}"
    basis: {{kind: "rule", reference: "own example"}}
"""


def calendar_owner(tmp_path: Path, every: str, reset: str, *days: str) -> Owner:
    """A calendar task done on some days."""
    text = MONTHS.format(every=every, reset=reset)
    owner = Owner(make_story(tmp_path, {"programmes/story.yaml": text}))
    for day in days:
        owner.says(day, "done", "weigh", "gj")
    return owner


def due_day(owner: Owner, day: str) -> dict[str, object]:
    """The date limit."""
    item = owner.item(day, "weigh", "gj")
    assert item is not None
    return dict(item["limits"][0])


@pytest.mark.parametrize(
    ("every", "reset", "days", "expected"),
    [
        ("months: 6", "from-done", ("2026-08-31",), "2027-02-28"),
        ("months: 6", "from-due", ("2026-08-31", "2027-02-28"), "2027-08-31"),
        ("months: 6", "from-done", ("2026-08-31", "2027-02-28"), "2027-08-28"),
        ("months: 1", "from-done", ("2026-08-31",), "2026-09-30"),
        ("months: 18", "from-done", ("2026-08-31",), "2028-02-29"),
        ("days: 180", "from-done", ("2026-08-31",), "2027-02-27"),
        ("calendar_months: 12", "from-done", ("2026-08-05",), "2027-08-31"),
    ],
)
def test_calendar_points(
    tmp_path: Path, every: str, reset: str, days: tuple[str, ...], expected: str
) -> None:
    owner = calendar_owner(tmp_path, every, reset, *days)
    assert due_day(owner, days[-1])["date"] == expected


def test_the_due_day_itself_is_permitted_and_that_is_said(tmp_path: Path) -> None:
    owner = calendar_owner(tmp_path, "months: 6", "from-done", "2026-08-31")
    on_the_day = owner.item("2027-02-28", "weigh", "gj")
    assert on_the_day is not None
    assert on_the_day["state"] == "due"
    assert any("itself is still permitted" in step["says"] for step in on_the_day["why"])
    after = owner.item("2027-03-01", "weigh", "gj")
    assert after is not None
    assert after["state"] == "overdue"
