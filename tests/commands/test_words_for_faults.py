"""Words for faults as people say them: understood, refused as a slip, or said to be one's own."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from event_fleet import events_of, make_event_fleet

from fleets import run, run_json
from register.records.fault_words import CHAPTERS, EVERYDAY, MODES, WORDS


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path)


def test_every_word_of_every_day_means_one_of_the_lists() -> None:
    for key, meant in EVERYDAY.items():
        assert set(meant.values()) <= set(WORDS[key])
        assert not set(meant) & set(WORDS[key])


@pytest.mark.parametrize(
    ("said", "meant"), [("chipped", "surface-damaged"), ("stuck", "jammed"), ("Jams", "jammed")]
)
def test_a_word_of_every_day_is_understood(said: str, meant: str, fleet: Path) -> None:
    assert run("snag", "heron", "door", "--mode", said, fleet=fleet).exit_code == 0
    assert [event.body.mode for event in events_of(fleet, "snag")][-1] == meant


def test_a_slip_of_the_pen_is_refused_with_the_word(fleet: Path) -> None:
    error = run_json("snag", "heron", "door", "--system", "geer", fleet=fleet, exit_code=2)["error"]
    assert "gear" in error["mend"]
    assert "27" not in error["mend"]


def test_an_unknown_word_gets_no_meaning_made_up(fleet: Path) -> None:
    line = ("snag", "heron", "door", "--system", "quux", "--mode", "zzz")
    said = " ".join(run(*line, fleet=fleet).said.split())
    assert "tailsheaf faults --words" in said
    assert "27" not in said
    for problem in run_json("check", fleet=fleet)["problems"]:
        if problem["code"] in ("system-unknown", "fault-word-unknown"):
            assert "27" not in problem["mend"]
            assert problem["mend"].startswith("tailsheaf faults --words")


def test_a_word_of_every_day_in_a_file_is_mended_as_it_is_meant(fleet: Path) -> None:
    run("snag", "heron", "door", "--mode", "zzz", fleet=fleet)
    path = next(fleet.rglob("*-snag-*.yaml"))
    for path in fleet.rglob("*-snag-*.yaml"):
        path.write_text(path.read_text().replace("zzz", "chipped"))
    (problem,) = (
        item
        for item in run_json("check", fleet=fleet)["problems"]
        if item["code"] == "fault-word-unknown"
    )
    line = problem["mend"].removeprefix("tailsheaf ").partition("   or")[0]
    assert line.endswith("mode=surface-damaged")
    assert run(*shlex.split(line), fleet=fleet).exit_code == 0


def test_the_words_are_listed(fleet: Path) -> None:
    out = run("faults", "--words", fleet=fleet).out
    for word in (*MODES, *CHAPTERS, "corrosion", "design"):
        assert re.search(rf"(?<![\w-]){word}(?![\w-])", out), word
    assert max(map(len, out.splitlines())) <= 80
    data = run_json("faults", "--words", fleet=fleet)
    assert "chipped" in data["mode"]["surface-damaged"]


def test_what_is_known_is_counted_rightly(fleet: Path) -> None:
    error = run_json("faults", "--mode", "qqqqq", fleet=fleet, exit_code=2)["error"]
    more = re.search(r"and (\d+) more", error["mend"])
    assert more is not None
    assert int(more[1]) >= len(MODES) - 6
