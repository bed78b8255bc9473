"""One folder for each problem code: a small fleet, and what `check` says of it.

A folder is named by its code and holds `fleet/`, `expected.txt` and `expected.json`.
After reading the difference, accept what is said now with: pytest --accept
"""

from __future__ import annotations

import ast
import json
import shutil
from pathlib import Path

import pytest
from problems.made_fleets import MAKERS
from problems.problem_codes import find_codes, read_trees

from fleets import run

HERE = Path(__file__).parent
FOLDERS = sorted(path.name for path in HERE.iterdir() if (path / "fleet").is_dir())


def make_fleet_of(code: str, folder: Path) -> Path:
    """The fleet of a code, as a copy that may be changed."""
    fleet = folder / "fleet"
    shutil.copytree(HERE / code / "fleet", fleet)
    if code in MAKERS:
        MAKERS[code](fleet)
    return fleet


@pytest.mark.parametrize("code", FOLDERS)
def test_what_check_says(code: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    fleet = make_fleet_of(code, tmp_path)
    shown, data = run("check", fleet=fleet), run("check", "--json", fleet=fleet)
    if request.config.getoption("--accept"):
        (HERE / code / "expected.txt").write_bytes(shown.out.encode())
        (HERE / code / "expected.json").write_bytes(data.out.encode())
    assert shown.out == (HERE / code / "expected.txt").read_bytes().decode()
    assert data.out == (HERE / code / "expected.json").read_bytes().decode()
    assert not shown.err
    problems = json.loads(data.out)["problems"]
    assert code in {problem["code"] for problem in problems}
    assert all(problem["says"] and problem["mend"] for problem in problems)
    has_error = any(problem["level"] == "error" for problem in problems)
    assert (shown.exit_code, data.exit_code) == (int(has_error),) * 2
    assert run("check", "--strict", fleet=fleet).exit_code == 1


def test_every_code_has_a_folder_and_every_folder_a_code() -> None:
    codes, hidden = find_codes(read_trees())
    assert not hidden, "codes are written out where the problem is made"
    assert sorted(codes) == FOLDERS


def test_a_code_is_found_wherever_it_is_given() -> None:
    source = """
def report(self, place, code, says): Problem(place, code, says)
report(place, "one-thing", says)
fields.report(place, "two-things", says)
Problem(place, code="three-things", says=says)
Problem(place, "four-things" if odd else "five-things", says)
Problem(place, CODES[key], says)
raise RegisterError("cannot", code="no-folder")
"""
    codes, hidden = find_codes({"sample": ast.parse(source)})
    assert codes == {"one-thing", "two-things", "three-things", "four-things", "five-things"}
    assert hidden == ["sample:7"]


def test_no_maker_is_left_over() -> None:
    assert set(MAKERS) <= set(FOLDERS)
