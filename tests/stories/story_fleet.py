"""The invented fleet of the stories, and short ways to ask it."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from fleets import Result, make_fleet, run, run_json

PROGRAMME = """
title: "Story programme"
tasks:
  - id: "engine-service"
    title: "Engine service"
    on: {position: "engine"}
    every:
      - {counter: "engine-minutes", amount: 1500}
    grounds: true
    basis: {kind: "maker", reference: "log book"}
  - id: "swap-check"
    title: "Component swap inspection"
    on: "aircraft"
    start: {when: "work", kinds: ["turbine"]}
    grounds: true
    basis: {kind: "owner", reference: "own rule"}
"""

JET = """
id: "{id}"
title: "{title}"
kit: "jet-kit"
programmes: ["story"]
stage: "in-service"
positions:
  engine: {{kind: "turbine", required: true}}
  aileron-servo-left: {{kind: "servo"}}
  brake-left: {{kind: "brake", system: "brakes"}}
"""


def part(id_: str, kind: str, more: str = "") -> str:
    """A part file."""
    return f'id: "{id_}"\nkind: "{kind}"\n{more}'


def make_story(tmp_path: Path, files: dict[str, str] | None = None, **jets: str) -> Path:
    """Two jets and what the story adds."""
    base = {
        "programmes/story.yaml": PROGRAMME,
        "kits/jet-kit.yaml": 'id: "k000000001"\ntitle: "Jet kit"\n',
        "aircraft/gj/aircraft.yaml": JET.format(id="g000000001", title="Grey Jet"),
        "aircraft/rj/aircraft.yaml": JET.format(id="r000000001", title="Red Jet"),
        "parts/tu-07/part.yaml": part("t000000007", "turbine"),
    }
    return make_fleet(tmp_path, {**base, **(files or {}), **jets})


def noon(day: str) -> datetime:
    """Midday of a day: when a line is typed."""
    return datetime.combine(date.fromisoformat(day), datetime.min.time(), UTC).replace(hour=20)


class Owner:
    """Types lines on the evening of a day."""

    def __init__(self, fleet: Path):
        self.fleet = fleet

    def says(self, day: str, *words: str, exit_code: int = 0) -> Result:
        """Type one line; it must end with the exit code."""
        result = run(*words, fleet=self.fleet, now=noon(day))
        assert result.exit_code == exit_code, result
        return result

    def writes(self, day: str, *words: str) -> str:
        """Type one line and get the id of what was written."""
        data = run_json(*words, fleet=self.fleet, now=noon(day))
        return str(data["written"][0]["id"])

    def asks(self, day: str, *words: str, exit_code: int = 0) -> Any:
        """Ask a question and get its data."""
        return run_json(*words, fleet=self.fleet, now=noon(day), exit_code=exit_code)

    def item(self, day: str, task: str, subject: str) -> dict[str, Any] | None:
        """The due item of a task on a subject, or None."""
        for item in self.asks(day, "due", "--on", day)["items"]:
            if item["task"] == task and item["subject"] == subject:
                return dict(item)
        return None

    def standing(self, day: str, aircraft: str, *more: str) -> dict[str, Any]:
        """One aircraft of the flying day."""
        data = self.asks(day, "flyday", day, "--on", day, *more)
        return next(dict(found) for found in data["aircraft"] if found["aircraft"] == aircraft)

    def counter(self, day: str, name: str, counter: str) -> dict[str, Any]:
        """since_new of a part's counter."""
        counters = self.asks(day, "parts", name, "--on", day)["counters"]
        return dict(counters[counter]["since_new"])

    def problems(self, day: str) -> list[dict[str, Any]]:
        """Everything that check says."""
        result = run("check", "--json", fleet=self.fleet, now=noon(day))
        import json

        return list(json.loads(result.out)["problems"])


def exactly(value: float) -> dict[str, Any]:
    """A known counter value."""
    return {"low": value, "high": value, "known": "known"}
