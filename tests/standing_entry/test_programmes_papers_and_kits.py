"""`programme`, `papers` and `kit`."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleets import Result, read_files, run, run_json
from register.records.programmes import build_programme
from register.starters.catalogue import read_starter, starter_names
from register.starters.outline import read_outline
from register.text.parsing import parse_text


def ok(*args: str, fleet: Path) -> Result:
    result = run(*args, fleet=fleet)
    assert result.exit_code == 0, result
    return result


@pytest.mark.parametrize("name", starter_names())
def test_an_outline_is_that_of_the_whole_file(name: str) -> None:
    node = parse_text("x.yaml", read_starter(name)).node
    assert node is not None
    whole, _ = build_programme("x.yaml", name, node)
    outline = read_outline(name)
    assert (outline.title, outline.groups) == (whole.title, whole.groups)
    assert outline.tasks == len(whole.tasks)


def test_starters_are_listed_and_shown_before_they_are_copied(fleet: Path) -> None:
    listed = run_json("programme", fleet=fleet)["programmes"]
    assert {item["programme"] for item in listed} == set(starter_names())
    assert all(not item["in_fleet"] and item["tasks"] > 50 for item in listed)
    before = read_files(fleet)
    out = ok("programme", "turbine-jet", fleet=fleet).out
    assert "starter, not in this fleet" in out
    assert "tailsheaf programme turbine-jet --copy" in out
    assert read_files(fleet) == before


def test_unset_figures_are_named_with_the_line_to_write_them_in(fleet: Path) -> None:
    ok("programme", "turbine-jet", "--copy", fleet=fleet)
    shown = run_json("programme", "turbine-jet", fleet=fleet)
    tasks = {task["task"]: task for group in shown["groups"] for task in group["tasks"]}
    (unset,) = tasks["turbine-service"]["not_set"]
    path, _, line = unset["place"].partition(":")
    assert path == "programmes/turbine-jet.yaml"
    assert "engine-minutes" in (fleet / path).read_text("utf-8").splitlines()[int(line) - 1]
    assert tasks["surface-throws"]["common_practice"] is True
    assert (
        unset["place"] in ok("programme", "turbine-jet", "--task", "turbine-serv", fleet=fleet).out
    )


def test_a_copy_under_another_name_and_never_over_ones_own(fleet: Path) -> None:
    ok("programme", "fan-jet", "--copy", fleet=fleet)
    mine = (fleet / "programmes/fan-jet.yaml").read_bytes()
    result = run("programme", "fan-jet", "--copy", fleet=fleet)
    assert result.exit_code == 4
    assert "--as fan-jet-2" in result.err
    assert (fleet / "programmes/fan-jet.yaml").read_bytes() == mine
    ok("programme", "fan-jet", "--copy", "--as", "fan-two", fleet=fleet)
    shown = run_json("programme", "fan-two", fleet=fleet)
    assert shown["starter"] == "fan-jet"
    assert shown["id"] != run_json("programme", "fan-jet", fleet=fleet)["id"]


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (["turbin-jet"], "turbine-jet"),
        (["turbine-jet", "--task", "surface-thorws"], "surface-throws"),
        (["--copy"], "which programme?"),
        (["turbine-jet", "--as", "../x"], "a-z"),
    ],
)
def test_wrong_programme_words(fleet: Path, args: list[str], says: str) -> None:
    result = run("programme", *args, fleet=fleet)
    assert result.exit_code == 2
    assert says in result.err


def test_a_paper_is_added_renewed_and_counted_down(fleet: Path) -> None:
    ok("aircraft", "heron", "--add", fleet=fleet)
    ok(
        "papers",
        "permit",
        "--add",
        "--kind",
        "permit",
        "--covers",
        "her",
        "--until",
        "2026-06-01",
        "--warn-days",
        "20",
        fleet=fleet,
    )
    (paper,) = run_json("papers", fleet=fleet)["papers"]
    assert (paper["state"], paper["days_left"], paper["covers"]) == ("soon", 16, ["heron"])
    assert paper["grounds"] is True
    text = (fleet / "papers/permit.yaml").read_text("utf-8")
    assert '- "heron.' in text
    result = ok("papers", "permit", "--until", "2027-06-01", "--from", "2026-06-02", fleet=fleet)
    assert "paper permit renewed until 2027-06-01" in result.out
    (paper,) = run_json("papers", "permit", fleet=fleet)["papers"]
    assert [spell["until"] for spell in paper["valid"]] == ["2026-06-01", "2027-06-01"]
    (later,) = run_json("papers", "--on", "2027-06-02", fleet=fleet)["papers"]
    assert later["state"] == "expired"
    assert "EXPIRED" in run("papers", "--on", "2027-06-02", fleet=fleet).out
    assert run("papers", "--strict", "--on", "2027-06-02", fleet=fleet).exit_code == 1


def test_a_paper_covers_the_fleet_unless_said(fleet: Path) -> None:
    ok("papers", "cover", "--add", "--until", "2027-01-01", "--does-not-ground", fleet=fleet)
    (paper,) = run_json("papers", fleet=fleet)["papers"]
    assert (paper["covers"], paper["grounds"], paper["kind"]) == (["fleet"], False, "other")


@pytest.mark.parametrize(
    ("args", "code", "says"),
    [
        (["permit", "--until", "2027-01-01"], 2, "tailsheaf papers permit --add"),
        (["permit", "--add", "--until", "2026-13-01"], 2, "--until"),
        (["permit", "--add", "--until", "01.02.2027"], 2, "year-month-day"),
        (["permit", "--add", "--from", "2026-01-01"], 2, "--until"),
        (["permit", "--add", "--from", "2027-01-02", "--until", "2027-01-01"], 2, "--until"),
        (["permit", "--add", "--covers", "heorn", "--until", "2027-01-01"], 2, "heron"),
        (["permit", "--add", "--kind", "permitt"], 2, "permit"),
        (["permit", "--add", "--warn-days", "-1"], 2, "--warn-days 30"),
        (["ins", "--add"], 4, "already"),
    ],
)
def test_wrong_paper_words(fleet: Path, args: list[str], code: int, says: str) -> None:
    ok("aircraft", "heron", "--add", fleet=fleet)
    ok("papers", "ins", "--add", "--until", "2027-01-01", fleet=fleet)
    before = read_files(fleet)
    result = run("papers", *args, fleet=fleet)
    assert result.exit_code == code, result
    assert says in result.err
    assert read_files(fleet) == before


def test_a_kit_gives_its_aircraft_positions(fleet: Path) -> None:
    ok(
        "kit",
        "northwind",
        "--position",
        "engine=turbine!",
        "--per-flight",
        "landings=2",
        fleet=fleet,
    )
    ok("aircraft", "heron", "--kit", "north", fleet=fleet)
    positions = run_json("aircraft", "heron", fleet=fleet)["positions"]
    assert [(line["position"], line["required"]) for line in positions] == [("engine", True)]
    assert "EMPTY, and must be filled" in ok("aircraft", "heron", fleet=fleet).out
    ok("kit", "northwind", "--position", "rx=receiver", "--title", "Northwind", fleet=fleet)
    (kit,) = run_json("kit", "northwind", fleet=fleet)["kits"]
    assert kit["aircraft"] == ["heron"]
    assert [line["position"] for line in kit["positions"]] == ["engine", "rx"]
    assert kit["per_flight"]["landings"]["value"] == 2
    result = run("kit", "nortwind", "--title", "x", fleet=fleet)
    assert result.exit_code == 2
    assert "did you mean northwind?" in result.err


def test_nothing_is_shown_outside_a_fleet(tmp_path: Path) -> None:
    for command in ("aircraft", "parts", "kit", "programme", "papers"):
        result = run(command, cwd=tmp_path)
        assert result.exit_code == 3
        assert "tailsheaf init" in result.err


def test_help_shows_a_line_to_type(tmp_path: Path) -> None:
    for command in ("init", "aircraft", "parts", "kit", "programme", "papers"):
        result = run(command, "--help", cwd=tmp_path)
        assert result.exit_code == 0
        assert f"Example: tailsheaf {command} " in " ".join(result.out.split())
