"""Where nothing is described yet, the screen names the line that shows what can be written."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from fleets import make_fleet, run

LINE = re.compile(r"^ +tailsheaf (kit --skeleton [a-z]+)$", re.MULTILINE)


@pytest.mark.parametrize(
    ("command", "sections"),
    [
        ("throws tern", ["surfaces", "linkages"]),
        ("balance tern", ["balance"]),
        ("leak tern", ["air"]),
        ("worklist tern", ["access"]),
        ("fasteners tern", ["joints"]),
        ("fasteners", ["joints"]),
        ("notices", ["notices"]),
        ("notices tern", ["notices"]),
        ("damage tern", ["outline", "zones"]),
    ],
)
def test_an_empty_answer_names_the_skeleton(
    tmp_path: Path, command: str, sections: list[str]
) -> None:
    fleet = make_fleet(tmp_path, {"aircraft/tern/aircraft.yaml": 'title: "Tern"\n'})
    result = run(*shlex.split(command), fleet=fleet)
    assert result.exit_code == 0
    lines = LINE.findall(result.out)
    assert [line.rpartition(" ")[2] for line in lines] == sections
    for line in lines:
        assert run(*line.split(), fleet=fleet).exit_code == 0


def test_no_skeleton_is_offered_where_the_section_is_written(tmp_path: Path) -> None:
    text = 'title: "Tern"\njoints: {hatch: {thread: "M4", count: 2}}\n'
    fleet = make_fleet(tmp_path, {"aircraft/tern/aircraft.yaml": text})
    assert not LINE.findall(run("fasteners", "tern", fleet=fleet).out)
    assert not LINE.findall(run("fasteners", fleet=fleet).out)


@pytest.mark.parametrize("command", ["cure", "cure tern"])
def test_no_cure_says_how_one_is_begun(tmp_path: Path, command: str) -> None:
    fleet = make_fleet(tmp_path, {"aircraft/tern/aircraft.yaml": 'title: "Tern"\n'})
    shown = run(*command.split(), fleet=fleet).out
    assert " ".join(shown.split()).count('--adhesive "epoxy, 30 minutes" --full 24h') == 1
