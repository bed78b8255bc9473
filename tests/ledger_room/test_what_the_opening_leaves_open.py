"""A thing with a past: what nobody said of it is not known, and never zero."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fleets import make_fleet, run, run_json
from register.git.apply import save_paths
from register.git.commit import init_repository

JET = 'id: "g000000001"\ntitle: "Grey Jet"\nstage: "in-service"\n'
PART = 'id: "t000000007"\nkind: "turbine"\n'
FLOWN = """
record: "flights"
id: "a7k2qd0001"
when: "2026-05-09"
aircraft: "gj"
count: 2
minutes: 14
engine_minutes: 18
"""
IN = 'record: "install"\nid: "b7k2qd0001"\nwhen: "2026-05-01"\npart: "tu-07"\naircraft: "gj"\n'


def fleet_with(folder: Path, opening: str, *, on_part: bool = False) -> Path:
    """A jet and its engine; the opening stands in the file of one of them."""
    return make_fleet(
        folder,
        {
            "aircraft/gj/aircraft.yaml": JET + ("" if on_part else opening),
            "aircraft/gj/events/2026/05/2026-05-01-install-b7k2qd0001.yaml": IN,
            "aircraft/gj/events/2026/05/2026-05-09-flights-a7k2qd0001.yaml": FLOWN,
            "parts/tu-07/part.yaml": PART + (opening if on_part else ""),
        },
    )


def total(fleet: Path, *, on_part: bool, counter: str) -> Any:
    """A counter since new, as data."""
    if on_part:
        return run_json("parts", "tu-07", fleet=fleet)["counters"][counter]["since_new"]
    found = run_json("why", "gj", counter, fleet=fleet)
    return found["total"]


@pytest.mark.parametrize("on_part", [False, True])
@pytest.mark.parametrize(
    ("opening", "is_known"),
    [
        ("opening: {counters: {flights: 150}}\n", False),
        ('opening: {counters: {flights: "?"}}\n', False),
        ('opening: {as_of: "2026-04-01", counters: {minutes: {value: 90, known: "estimated"}}}\n',
         False),
        ('opening: {as_of: "2026-04-01"}\n', False),
        ('opening: {as_of: "2026-04-01", counters: {flights: 0}}\n', True),
        ("opening: {counters: {flights: 0, minutes: 0}}\n", True),
        ("", True),
    ],
)  # fmt: skip
def test_one_rule_for_aircraft_and_parts(
    tmp_path: Path, opening: str, is_known: bool, on_part: bool
) -> None:
    """Any opening value, or the day alone, makes the rest unknown; all zero means new."""
    fleet = fleet_with(tmp_path, opening, on_part=on_part)
    found = total(fleet, on_part=on_part, counter="engine-minutes")
    assert found["low"] == 18
    assert found["high"] == (18 if is_known else None)


def test_every_screen_says_at_least(tmp_path: Path) -> None:
    """The aircraft's own, `why`, the preview of a handover, and the dossier."""
    fleet = fleet_with(tmp_path, "opening: {counters: {flights: 150, minutes: 1200}}\n")
    init_repository(fleet)
    paths = [path.relative_to(fleet).as_posix() for path in fleet.rglob("*.yaml")]
    save_paths(fleet, sorted(paths), "Begin")
    rows = run("aircraft", "gj", fleet=fleet).out.splitlines()
    assert [row for row in rows if "engine minutes" in row and "18+" in row]
    why = run("why", "gj", "engine-minutes", fleet=fleet).out
    assert "at least" in why
    assert "(known)" not in why
    assert "engine minutes at least" in " ".join(run("handover", "gj", fleet=fleet).out.split())
    page = tmp_path / "page.html"
    assert run("handover", "gj", "--dossier", str(page), fleet=fleet).exit_code == 0
    assert "at least 0:18" in page.read_text("utf-8")


def test_typing_an_opening_says_what_is_left_open(tmp_path: Path) -> None:
    """The line that adds an aircraft with a past names what nobody said of it."""
    fleet = make_fleet(tmp_path)
    init_repository(fleet)
    save_paths(fleet, ["fleet.yaml"], "Begin")
    said = run("aircraft", "vulcarn", "--opening", "flights=150", "--opening", "minutes=20h",
               fleet=fleet)  # fmt: skip
    assert said.exit_code == 0, said
    assert "engine-minutes" in said.out
    assert "not known" in said.out
    assert run_json("why", "vulcarn", "engine-minutes", fleet=fleet)["total"]["high"] is None
