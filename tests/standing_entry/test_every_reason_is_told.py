"""An item that several things started tells all of them, the incident first, wherever it shows."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest

from fleets import make_fleet, run
from register.git.apply import save_paths
from register.git.commit import init_repository

PROGRAMME = """
id: "prgstory01"
title: "Story programme"
tasks:
  - id: "skin-tap"
    title: "Skins tapped"
    on: "aircraft"
    every:
      - {counter: "flights", amount: 20}
    start:
      - {when: "season"}
      - {when: "incident", what: ["hard-landing", "nose-over"]}
    grounds: true
    basis: {kind: "owner"}
"""
JET = """
id: "g000000001"
title: "Grey Jet"
stage: "in-service"
programmes: ["story"]
"""
DONE = 'record: "task-done"\nid: "d{n}k2qd0001"\nwhen: "{day}"\ntask: "skin-tap"\nsubject: "gj"\n'
FLOWN = 'record: "flights"\nid: "f{n}k2qd0001"\nwhen: "{day}"\naircraft: "gj"\ncount: {count}\n'
HIT = 'record: "incident"\nid: "h{n}k2qd0001"\nwhen: "{day}"\naircraft: "gj"\nwhat: "{what}"\n'
BOTH = "hard landing 2026-04-27; nose over 2026-05-03"
SEASON = "flown 2026-04-18 without the season's check"


def make(folder: Path, flown: int) -> Path:
    """Last season's check, flights in this one, and two incidents."""
    events = {
        "2025-05-01-task-done-d1k2qd0001": DONE.format(n=1, day="2025-05-01"),
        "2026-04-18-flights-f1k2qd0001": FLOWN.format(n=1, day="2026-04-18", count=flown),
        "2026-04-27-incident-h1k2qd0001": HIT.format(n=1, day="2026-04-27", what="hard-landing"),
        "2026-05-03-incident-h2k2qd0001": HIT.format(n=2, day="2026-05-03", what="nose-over"),
    }
    files = {
        "programmes/story.yaml": PROGRAMME,
        "aircraft/gj/aircraft.yaml": JET,
        **{
            f"aircraft/gj/events/{name[:4]}/{name[5:7]}/{name}.yaml": text
            for name, text in events.items()
        },
    }
    fleet = make_fleet(folder, files)
    init_repository(fleet)
    save_paths(fleet, ["fleet.yaml", *files], "Begin")
    return fleet


def said(fleet: Path, folder: Path) -> dict[str, str]:
    """What each command says, its lines joined."""
    found = {}
    lines: tuple[tuple[str, ...], ...] = (
        ("due",), ("due", "gj", "--all"), ("flyday", "--all"), ("why", "gj", "skin-tap"),
        ("worklist", "gj"), ("report", "--html", str(folder / "report.html")),
        ("handover", "gj", "--dossier", str(folder / "page.html")),
    )  # fmt: skip
    for words in lines:
        result = run(*words, fleet=fleet)
        assert result.exit_code == 0, (words, result)
        # The basis stands in a column of its own, between the lines of a cell.
        found[words[0]] = " ".join(result.out.replace(" owner", "").split())
    for name in ("report", "page"):
        text = (folder / f"{name}.html").read_text("utf-8")
        found[name] = " ".join(unescape(re.sub(r"<[^>]+>", "", text)).split())
    return found


@pytest.mark.parametrize("flown", [2, 31])
def test_everything_that_started_it_is_told_alike(tmp_path: Path, flown: int) -> None:
    """Two incidents, the season, and the interval where that is passed: no screen hides one."""
    told = said(make(tmp_path, flown), tmp_path)
    for where in ("due", "flyday", "why", "worklist", "page"):
        assert BOTH in told[where], (where, told[where])
        assert SEASON in told[where], (where, told[where])
        assert told[where].index(BOTH) < told[where].index(SEASON), where
    assert ("over" in told["due"].partition(BOTH)[2].partition(SEASON)[0]) == (flown > 20)


def test_an_incident_answered_is_told_no_more(tmp_path: Path) -> None:
    """Done between the two: only the later one is left, and the season's is answered."""
    fleet = make(tmp_path, 2)
    assert run("done", "skin-tap", "gj", "--at", "2026-04-28", fleet=fleet).exit_code == 0
    out = run("due", fleet=fleet).out
    assert "nose over 2026-05-03" in out
    assert "hard landing" not in out
    assert "season" not in out
