"""The screens of the example fleet, accepted once and held: widths, piped and drawn."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cli.render.layout import width_of
from fleets import Golden, run

EXAMPLE = Path(__file__).parents[2] / "example-fleet"
DAY = "2026-05-16"
SCREENS = {
    "flyday": ["flyday", DAY, "--plan", "heron=4"],
    "flyday-all": ["flyday", DAY, "--all"],
    "card": ["flyday", DAY, "--card"],
    "due": ["due", "--on", DAY],
    "due-all": ["due", "petrel", "--all", "--on", DAY],
    "fleet": ["fleet", "--on", DAY],
    "history": ["history", "heron", "--on", DAY],
    "snags": ["snag", "--on", DAY],
    "why-task": ["why", "petrel", "motor-bearings", "--on", DAY],
    "why-life": ["why", "gear-l-5", "life", "--on", DAY],
    "why-counter": ["why", "te-114", "engine-minutes", "--on", DAY],
    "why-aircraft": ["why", "kestrel", "--on", DAY],
    "why-snag": ["why", "heron", "ka6e", "--on", DAY],
    "why-paper": ["why", "heron", "jet-permit", "--on", DAY],
    "why-part": ["why", "kestrel", "gear-l-5", "--on", DAY],
    "parts": ["parts", "--on", DAY],
    "part": ["parts", "te-114", "--on", DAY],
}
COLOUR = re.compile(r"\x1b\[[0-9;]*m")


def show(words: list[str]) -> str:
    """One screen of the example."""
    result = run("--fleet", EXAMPLE, *words)
    assert result.exit_code == 0, result
    return result.out


@pytest.mark.parametrize("columns", [80, 120])
@pytest.mark.parametrize("name", SCREENS)
def test_screen(name: str, columns: int, golden: Golden, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    shown = show(SCREENS[name])
    assert not COLOUR.search(shown)
    golden(f"screens/{name}-{columns}", shown)
    # Places of records are one word each and may run over; nothing else does.
    wide = [line for line in shown.splitlines() if width_of(line) > columns]
    assert all(re.search(r"\S+\.yaml:\d+", line) for line in wide), wide


@pytest.mark.parametrize("name", SCREENS)
def test_drawn_screen_is_the_piped_one_with_colour(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    piped = show(SCREENS[name])
    monkeypatch.setenv("TAILSHEAF_TERMINAL", "1")
    monkeypatch.delenv("NO_COLOR", raising=False)
    drawn = show(SCREENS[name])
    lines = [line.rstrip() for line in COLOUR.sub("", drawn).splitlines()]
    assert lines == piped.splitlines()
    # No byte but those that set colour and weight.
    assert "\x1b" not in COLOUR.sub("", drawn)


def test_flyday_fits_a_small_terminal() -> None:
    shown = show(["flyday", DAY]).splitlines()
    assert len(shown) <= 24
    assert max(map(len, shown)) <= 80


def test_every_state_has_its_word() -> None:
    shown = show(["flyday", DAY])
    for word in ("GROUNDED", "LIMITED", "DUE", "nothing open", "not in service"):
        assert word in shown


def test_the_cautions_stand_where_they_belong() -> None:
    for words in (["flyday", DAY], ["due", "--on", DAY]):
        assert "You decide" in " ".join(show(words).split())
    assert "A record of a check is not the check." in show(["flyday", DAY, "--card"])


def test_every_reason_of_the_flying_day_can_be_asked() -> None:
    """Each reason of every aircraft in service has a line to type that explains it."""
    import json

    flyday = json.loads(show(["flyday", DAY, "--json"]))
    asked = 0
    for found in flyday["aircraft"]:
        for reason in found["reasons"]:
            if reason["kind"] not in ("task", "life", "snag", "deferral", "paper"):
                continue
            what = reason["subject"] if reason["kind"] == "life" else reason["name"]
            why = json.loads(show(["why", found["aircraft"], what, "--on", DAY, "--json"]))
            steps = why["why"] if "why" in why else why["items"][0]["why"]
            assert any(step["place"] for step in steps)
            asked += 1
    assert asked >= 8


def test_every_item_that_is_due_can_be_asked() -> None:
    import json

    due = json.loads(show(["due", "--json", "--on", DAY]))
    for item in [item for item in due["items"] if item["state"] != "ok"]:
        why = json.loads(show(["why", item["subject"], item["task"], "--on", DAY, "--json"]))
        if "items" not in why:
            # A notice is one finding, told by its own steps.
            assert why["state"] == "open"
            assert any(step["place"] for step in why["why"])
            continue
        assert any(asked["state"] == item["state"] for asked in why["items"])
        assert why["items"][0]["basis"]["kind"]
