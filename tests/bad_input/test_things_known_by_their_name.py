"""A file that stands there and cannot be read: its name is known, and nothing about it is made up.

One error, at that file, with the line that brings it back; no mend of the records that
name it; a row for its aircraft wherever aircraft are listed.
"""

from __future__ import annotations

import shlex
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fleets import read_files, run, run_json

AIRCRAFT = "aircraft/heron/aircraft.yaml"
PART = "parts/te-114/part.yaml"
PROGRAMME = "programmes/turbine-jet.yaml"
KIT = "kits/longreach-90.yaml"
PACK = "parts/pk-13/part.yaml"


def _empty(path: Path) -> None:
    path.write_bytes(b"")


def _latin(path: Path) -> None:
    path.write_bytes(path.read_bytes() + b'maker: "M\xfcller"\n')


def _folder(path: Path) -> None:
    path.unlink()
    path.mkdir()


def _markers(path: Path) -> None:
    old = path.read_bytes()
    path.write_bytes(b"<<<<<<< here\n" + old + b"=======\n" + old + b">>>>>>> there\n")


def _nul(path: Path) -> None:
    path.write_bytes(path.read_bytes() + b"\0\0\0\0")


def _gone(path: Path) -> None:
    path.unlink()


BREAKS: dict[str, Callable[[Path], None]] = {
    "empty": _empty,
    "latin-1": _latin,
    "folder": _folder,
    "markers": _markers,
    "nul": _nul,
    "gone": _gone,
}


LINES = (
    "kit longreach-90 --add --position engine=turbine! --position gear=retract",
    "aircraft heron --kit longreach-90 --programme turbine-jet --title Heron",
    "aircraft petrel --add",
    "parts te-114 --add --kind turbine",
    "parts te-120 --add --kind turbine",
    "parts pk-13 --add --kind battery --use assigned",
    "install te-114 heron engine",
    "charge pk-13",
    "fly heron 3 --minutes 24 --pack pk-13 --at 2026-05-09",
    "fly petrel 1 --at 2026-05-09",
    "snag heron 'play at the engine' --position engine --severity monitor",
    "done turbine-look heron",
    "incident heron 'hard landing'",
)


@pytest.fixture(scope="module")
def example(tmp_path_factory: pytest.TempPathFactory) -> Path:
    fleet = tmp_path_factory.mktemp("example") / "fleet"
    assert run("init", str(fleet)).exit_code == 0
    for line in LINES:
        assert run(*shlex.split(line), fleet=fleet).exit_code == 0, line
    return fleet


@pytest.fixture
def fleet(example: Path, tmp_path: Path) -> Path:
    copy = tmp_path / "fleet"
    shutil.copytree(example, copy)
    return copy


def problems(fleet: Path, exit_code: int = 0) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = run_json("check", fleet=fleet, exit_code=exit_code)["problems"]
    return found


def _told(found: list[dict[str, Any]]) -> set[tuple[str, str, str]]:
    return {(item["file"], item["code"], item["says"]) for item in found}


@pytest.mark.parametrize(
    ("path", "way"),
    [
        *((AIRCRAFT, way) for way in BREAKS),
        # Of a part, nothing else stands in its folder: gone is gone.
        *((PART, way) for way in BREAKS if way != "gone"),
        *((path, "empty") for path in (PROGRAMME, KIT, PACK)),
    ],
)
def test_one_error_at_the_file_and_none_that_follows(path: str, way: str, fleet: Path) -> None:
    before = _told(problems(fleet))
    BREAKS[way](fleet / path)
    after = problems(fleet, 1)
    new = [item for item in after if (item["file"], item["code"], item["says"]) not in before]
    assert {item["file"] for item in new} == {path}
    errors = [item for item in new if item["level"] == "error"]
    assert len({item["code"] for item in errors}) == 1
    mends = "  ".join(item["mend"] for item in new)
    assert f"git checkout -- {path}" in mends
    if way in ("empty", "folder", "gone"):
        assert len(new) == 1


@pytest.mark.parametrize(
    ("path", "way"), [(AIRCRAFT, "folder"), (AIRCRAFT, "gone"), (PROGRAMME, "empty")]
)
def test_the_line_brings_the_file_back(path: str, way: str, fleet: Path) -> None:
    before = read_files(fleet)
    BREAKS[way](fleet / path)
    (new,) = (item for item in problems(fleet, 1) if item["file"] == path and _brings(item))
    subprocess.run(shlex.split(new["mend"].partition("   ")[0]), cwd=fleet, check=True)
    assert read_files(fleet) == before


def _brings(item: dict[str, Any]) -> bool:
    return str(item["mend"]).startswith("git checkout")


def test_a_file_saved_empty_is_brought_back_from_the_version_before(fleet: Path) -> None:
    before = (fleet / PART).read_bytes()
    _empty(fleet / PART)
    assert run("save", PART, fleet=fleet).out == f"saved: {PART}\n"
    (new,) = (item for item in problems(fleet, 1) if item["file"] == PART)
    subprocess.run(shlex.split(new["mend"].partition("   ")[0]), cwd=fleet, check=True)
    assert (fleet / PART).read_bytes() == before


def test_a_file_that_history_never_had_says_what_to_write(fleet: Path) -> None:
    (fleet / "aircraft/crake").mkdir()
    _empty(fleet / "aircraft/crake/aircraft.yaml")
    (new,) = (item for item in problems(fleet, 1) if item["file"].startswith("aircraft/crake"))
    assert new["mend"].startswith('write  title: "crake"')
    (fleet / "aircraft/crake/aircraft.yaml").write_text('title: "crake"\n')
    assert not [item for item in problems(fleet) if item["level"] == "error"]


@pytest.mark.parametrize(("way", "kept"), [*((way, False) for way in BREAKS), ("empty", True)])
def test_an_aircraft_that_cannot_be_read_has_a_row(way: str, kept: bool, fleet: Path) -> None:
    assert run("snag", "heron", "wheel loose", fleet=fleet).exit_code == 0
    if kept:
        run("flyday", fleet=fleet)
    BREAKS[way](fleet / AIRCRAFT)
    for _ in range(2):
        day = run_json("flyday", fleet=fleet, exit_code=1)["aircraft"]
        (heron,) = (item for item in day if item["aircraft"] == "heron")
        # What can still be told is the graver.
        assert heron["standing"] == "grounded"
        assert any("its file cannot be read" in item["says"] for item in heron["reasons"])
        listed = run_json("fleet", fleet=fleet, exit_code=1)["aircraft"]
        assert "heron" in [item["aircraft"] for item in listed]
    for line in (("due",), ("due", "heron"), ("aircraft",), ("aircraft", "heron")):
        result = run(*line, fleet=fleet)
        assert "its file cannot be read" in " ".join(result.out.split()), line
        assert "heron" in result.out
        assert "1 file could not be read" in result.out, line


def test_an_aircraft_of_which_nothing_grave_is_told_cannot_be_told(fleet: Path) -> None:
    name = "petrel"
    _empty(fleet / f"aircraft/{name}/aircraft.yaml")
    day = run_json("flyday", fleet=fleet, exit_code=1)["aircraft"]
    (found,) = (item for item in day if item["aircraft"] == name)
    assert found["standing"] == "cannot-tell"
    assert "CANNOT TELL" in run("flyday", fleet=fleet).out


NAMING_AIRCRAFT = [
    ("fly", "heron", "2"),
    ("fly", "her", "2"),
    ("snag", "heron", "wheel loose"),
    ("done", "hatch-lock", "heron"),
    ("install", "te-120", "heron", "engine"),
    ("layup", "heron"),
    ("aircraft", "heron", "--add"),
    ("aircraft", "heron", "--title", "Heron 2"),
    ("parts", "heron", "--add", "--kind", "servo"),
    ("modify", "heron", "longer rods"),
    ("incident", "heron", "bounced"),
]


@pytest.mark.parametrize("way", ["empty", "folder"])
def test_lines_that_name_it_are_refused(way: str, fleet: Path) -> None:
    BREAKS[way](fleet / AIRCRAFT)
    before = read_files(fleet)
    for line in NAMING_AIRCRAFT:
        error = run_json(*line, fleet=fleet, exit_code=4)["error"]
        assert error["code"] == "file-unreadable"
        assert "heron's file cannot be read" in error["says"]
        assert error["mend"].startswith(f"git checkout -- {AIRCRAFT}")
    assert read_files(fleet) == before


NAMING_PART = [
    ("reading", "te-114", "egt=600"),
    ("engine-run", "te-114", "5"),
    ("remove", "te-114"),
    ("condition", "te-114", "quarantined"),
    ("swap", "te-114", "te-120"),
    ("snag", "te-114", "rubs"),
    ("parts", "te-114", "--add", "--kind", "turbine"),
    ("aircraft", "te-114", "--add"),
]


def test_lines_that_name_a_part_are_refused(fleet: Path) -> None:
    _empty(fleet / PART)
    before = read_files(fleet)
    for line in NAMING_PART:
        error = run_json(*line, fleet=fleet, exit_code=4)["error"]
        assert error["code"] == "file-unreadable"
        assert "te-114's file cannot be read" in error["says"]
        assert error["mend"].startswith(f"git checkout -- {PART}")
    assert read_files(fleet) == before


@pytest.mark.parametrize(
    ("path", "way"), [(PROGRAMME, "empty"), (PROGRAMME, "folder"), (KIT, "latin-1"), (PART, "nul")]
)
def test_what_may_ground_and_cannot_be_read_grounds(path: str, way: str, fleet: Path) -> None:
    BREAKS[way](fleet / path)
    name = Path(path).stem if path != PART else "te-114"
    for _ in range(2):
        day = run_json("flyday", fleet=fleet, exit_code=1)["aircraft"]
        found = next(item for item in day if item["aircraft"] == "heron")
        assert found["standing"] == "grounded"
        assert any(
            name in item["says"] and "cannot be read" in item["says"] for item in found["reasons"]
        )
    out = " ".join(run("due", "heron", fleet=fleet).out.split())
    assert f"{name} cannot be read" in out
    assert "no open items" not in out


def test_a_report_does_not_say_that_nothing_is_due(fleet: Path, tmp_path: Path) -> None:
    _empty(fleet / PROGRAMME)
    page = tmp_path / "r.html"
    assert run("report", "heron", "--html", str(page), fleet=fleet).exit_code in (0, 1)
    text = page.read_text()
    assert "turbine-jet cannot be read" in text
    assert "Nothing is due" not in text
