"""A fleet with one bad file beside good ones, and what every answer must then hold.

Import what you need: `from bad_input.bad_files import answers_without, make_fleet_with`.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from fleets import Result, make_fleet, run

BAD = "aircraft/heron/events/2026/05/2026-05-10-flights-b2m8xw0002.yaml"
GOOD: dict[str, str] = {
    "programmes/club.yaml": """
        title: "Club"
        tasks:
          - id: "surface-play"
            every: [{counter: "flights", amount: 10}]
            grounds: true
        """,
    "aircraft/heron/aircraft.yaml": 'title: "Heron"\nprogrammes: ["club"]\n',
    "aircraft/heron/events/2026/05/2026-05-09-flights-a7k2qd0001.yaml": """
        record: "flights"
        id: "a7k2qd0001"
        when: "2026-05-09"
        aircraft: "heron"
        count: 4
        """,
}
EVENT = """\
record: "flights"
id: "b2m8xw0002"
when: "2026-05-10"
aircraft: "heron"
count: 2
"""


def make_fleet_with(folder: Path, data: bytes, path: str = BAD) -> Path:
    """The good files, and one more of these bytes."""
    fleet = make_fleet(folder, GOOD)
    there = fleet / path
    there.parent.mkdir(parents=True, exist_ok=True)
    there.write_bytes(data)
    return fleet


def answers_without(fleet: Path, path: str = BAD) -> None:
    """`due` and `flyday` answer, name the file that is missing, and say 1."""
    for words in (("due", "--all"), ("flyday",), ("fleet",)):
        shown = run(*words, fleet=fleet)
        assert shown.exit_code == 1, shown
        assert words == ("due", "--all") or "heron" in shown.out
        assert "INCOMPLETE" in shown.out
        assert path in shown.err
        assert "tailsheaf check" in shown.err
    for command in ("due", "flyday"):
        data = read_json(run(command, "--json", fleet=fleet), exit_code=1)
        assert data["complete"] is False
        assert data["unread"] == [path]


def answers_whole(fleet: Path) -> None:
    """`due` and `flyday` answer and miss nothing."""
    for command in ("due", "flyday"):
        data = read_json(run(command, "--json", fleet=fleet))
        assert data["complete"] is True
        assert data["unread"] == []


def flights_left(fleet: Path) -> Any:
    """What `due` counts to the surface play, so that one sees which flights were counted."""
    result = run("due", "--json", "--all", fleet=fleet)
    (item,) = (item for item in json.loads(result.out)["items"] if item["task"] == "surface-play")
    return item["limits"][0]["remaining"]


def found(fleet: Path) -> list[tuple[str, str, int]]:
    """Code, file and line of what `check` finds."""
    problems = json.loads(run("check", "--json", fleet=fleet).out)["problems"]
    return [(problem["code"], problem["file"], problem["line"]) for problem in problems]


def read_json(result: Result, exit_code: int = 0) -> Any:
    """The answer, parsed, of a command that exited so."""
    assert result.exit_code == exit_code, result
    return json.loads(result.out)


def is_clean(result: Result, allowed: Iterable[str] = "\n") -> bool:
    """No control, bidirectional or zero-width character in either stream."""
    bad = [*range(0x20), 0x7F, *range(0x80, 0xA0), 0x200B, 0x200E, 0x200F, 0x2028, 0x2029]
    bad += [*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0xFEFF]
    return not {chr(n) for n in bad}.difference(allowed) & {*result.out, *result.err}
