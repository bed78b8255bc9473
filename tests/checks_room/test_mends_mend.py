"""The line that a problem gives as its mend, typed as it stands, takes the problem away."""

from __future__ import annotations

import json
import re
import shlex
import shutil
from pathlib import Path
from typing import Any

import pytest
from problems.made_fleets import EVENTS, FLIGHTS

from fleets import run
from register.git.apply import save_paths
from register.git.repository import init_repository

FOLDERS = Path(__file__).parents[1] / "problems"
#: Code, what to put for words in capitals, and which of several lines to type.
MENDS = [
    ("aircraft-unknown", {}, 0),
    ("part-unknown", {}, 0),
    ("subject-unknown", {}, 0),
    ("task-unknown", {}, 0),
    ("snag-unknown", {}, 0),
    ("position-unknown", {}, 0),
    ("order-unknown", {"N": "2"}, 0),
    ("order-unknown", {}, 1),
    ("pack-not-named", {}, 0),
    ("pack-overlap", {"PACK": "pk-05"}, 0),
    ("pack-overlap", {"PACK": "pk-05"}, 1),
    ("flights-twice", {}, 0),
    ("flights-twice", {}, 1),
    ("flown-not-in-service", {}, 0),
    ("flown-without-part", {"PART": "tu-07"}, 0),
    ("flown-without-check", {}, 0),
    ("flown-before-record", {}, 0),
    ("date-future", {}, 0),
    ("typed-early", {}, 0),
    ("reading-out", {}, 0),
    ("unit-differs", {}, 0),
    ("minutes-unlikely", {"MINUTES": "15"}, 0),
    ("count-unlikely", {"NUMBER": "3"}, 0),
    ("entry-idle", {}, 0),
    ("layup-twice", {}, 0),
    ("layup-twice", {}, 1),
    ("fix-before-snag", {}, 0),
    ("fix-before-snag", {}, 1),
]


def problems_of(fleet: Path, code: str) -> list[dict[str, Any]]:
    """Problems of one code."""
    data = json.loads(run("check", "--json", fleet=fleet).out)
    return [problem for problem in data["problems"] if problem["code"] == code]


def make_with_history(code: str, folder: Path) -> Path:
    """The fleet of a code, all of it in history."""
    fleet = folder / "fleet"
    shutil.copytree(FOLDERS / code / "fleet", fleet)
    pack = fleet / "parts/pk-05/part.yaml"
    pack.parent.mkdir(parents=True, exist_ok=True)
    pack.write_bytes(b'kind: "battery"\nuse: "assigned"\n')
    init_repository(fleet)
    paths = sorted(path.relative_to(fleet).as_posix() for path in fleet.rglob("*.yaml"))
    save_paths(fleet, paths, "Begin the fleet")
    return fleet


def lines_of(mend: str) -> list[str]:
    """The command lines in a mend."""
    return [line.strip() for line in re.findall(r"tailsheaf (.*?)(?=   |  or|$)", mend)]


@pytest.mark.parametrize(("code", "words", "which"), MENDS)
def test_the_mend_as_typed(code: str, words: dict[str, str], which: int, tmp_path: Path) -> None:
    fleet = make_with_history(code, tmp_path)
    before = problems_of(fleet, code)
    first = next(item for item in before if lines_of(item["mend"]))
    line = lines_of(first["mend"])[which]
    for word, value in words.items():
        line = re.sub(rf"\b{word}\b", value, line)
    assert not re.search(r"\b[A-Z]{2,}\b|…", line), line
    result = run(*shlex.split(line), fleet=fleet)
    assert result.exit_code in (0, 1), (line, result)
    assert "recorded:" in result.out
    after = problems_of(fleet, code)
    assert len(after) == len(before) - 1, (line, after)


def test_an_edit_by_hand_is_saved_as_the_mend_says(tmp_path: Path) -> None:
    fleet = make_with_history("not-in-history", tmp_path)
    (fleet / FLIGHTS).write_bytes((fleet / FLIGHTS).read_bytes() + b'note: "by hand"\n')
    new = fleet / EVENTS / "2026-05-10-note-b2m8xw0002.yaml"
    new.write_bytes(b'record: "note"\nid: "b2m8xw0002"\nwhen: "2026-05-10"\naircraft: "heron"\n')
    (fleet / "parts/pk-04/part.yaml").unlink()
    found = problems_of(fleet, "not-in-history")
    assert len(found) == 3
    for problem in found:
        (line,) = lines_of(problem["mend"])
        assert run(*shlex.split(line), fleet=fleet).exit_code == 0
    assert not problems_of(fleet, "not-in-history")


def test_a_folder_without_a_history_of_its_own_is_not_asked(tmp_path: Path) -> None:
    fleet = tmp_path / "fleet"
    shutil.copytree(FOLDERS / "not-in-history" / "fleet", fleet)
    assert run("check", fleet=fleet).out == "no problems in 4 files\n"


PROGRAMME = """\
title: "Test"
tasks:
  - id: "free-play"
    title: "Free play"
    on: aircraft
    every:
      - {counter: COUNTER, amount: 10}
    grounds: true
    reading: {name: "play-mm", unit: "mm", high: 1.6}
    basis: {kind: "maker"}
"""
#: Days flown with three flights of eight minutes each, and days on which the task was done.
FLOWN = ("04-04", "04-05", "04-11", "04-12", "04-18", "04-19", "04-25", "04-26")


@pytest.mark.parametrize("counter", ["flights", "minutes"])
@pytest.mark.parametrize("done", [("04-03", "04-20"), ("04-03",)])
def test_a_check_past_its_flights_is_not_recorded_again_on_the_day_it_was_done(
    counter: str, done: tuple[str, ...], tmp_path: Path
) -> None:
    fleet = tmp_path / "fleet"
    assert run("init", str(fleet)).exit_code == 0
    amount = {"flights": "10", "minutes": "80"}[counter]
    text = PROGRAMME.replace("COUNTER", counter).replace("amount: 10", f"amount: {amount}")
    (fleet / "programmes").mkdir(exist_ok=True)
    (fleet / "programmes/test.yaml").write_text(text)
    assert run("save", fleet=fleet).exit_code == 0
    assert run("aircraft", "heron", "--add", "--programme", "test", fleet=fleet).exit_code == 0
    for day in FLOWN:
        line = ("fly", "heron", "3", "--minutes", "24", "--at", f"2026-{day}")
        assert run(*line, fleet=fleet).exit_code == 0
    for day in done:
        entry = ("done", "free-play", "heron", "--at", f"2026-{day}", "-r", "play-mm=1mm")
        assert run(*entry, fleet=fleet).exit_code == 0
    left = problems_of(fleet, "flown-without-check")
    assert left
    for _ in range(8):
        if not left:
            break
        mend = lines_of(left[0]["mend"])[0].replace("VALUE", "1")
        typed = re.search(r"--at 2026-(\S+)", mend)
        assert typed is not None
        assert typed[1] not in done, mend
        assert "-r play-mm=1mm" in mend
        done = (*done, typed[1])
        assert run(*shlex.split(mend), fleet=fleet).exit_code == 0, mend
        after = problems_of(fleet, "flown-without-check")
        # It ends this one; a later one may be late by what is now the first.
        assert left[0] not in after
        left = after
    assert not left
