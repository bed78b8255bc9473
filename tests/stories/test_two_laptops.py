"""Two laptops on one day: the files of both put together, in either order."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from stories.story_fleet import JET, Owner, make_story

from fleets import run

DAY = "2026-07-11"
OPENING = "opening:\n  counters:\n    flights: {value: 117, known: known}\n"


def make_laptop(tmp_path: Path, name: str, lines: list[list[str]]) -> Path:
    """A copy of the fleet on which some lines were typed."""
    folder = tmp_path / name
    folder.mkdir()
    grey = JET.format(id="g000000001", title="Grey Jet") + OPENING
    fleet = make_story(folder, {"aircraft/gj/aircraft.yaml": grey})
    owner = Owner(fleet)
    for words in lines:
        owner.says(DAY, *words)
    return fleet


def put_together(tmp_path: Path, name: str, first: Path, second: Path) -> Path:
    """All files of one, then all of the other."""
    both = tmp_path / name
    shutil.copytree(first, both)
    shutil.copytree(second, both, dirs_exist_ok=True)
    return both


def fly(time: str, minutes: int) -> list[str]:
    """One timed flight."""
    return ["fly", "gj", "--minutes", str(minutes), "--at", f"{DAY} {time}"]


def make_both(tmp_path: Path) -> tuple[Path, Path]:
    """Three flights on one, two on the other; one of them was typed on both."""
    one = make_laptop(tmp_path, "a", [fly("10:00", 8), fly("11:30", 6), fly("14:20", 7)])
    two = make_laptop(tmp_path, "b", [fly("12:40", 9), fly("14:21", 7)])
    return (
        put_together(tmp_path, "ab", one, two),
        put_together(tmp_path, "ba", two, one),
    )


def flights(owner: Owner) -> float:
    """The airframe's flights."""
    fleet = owner.asks(DAY, "fleet", "--on", DAY)
    return float(next(x for x in fleet["aircraft"] if x["aircraft"] == "gj")["flights"]["low"])


def twice(owner: Owner) -> list[dict[str, Any]]:
    """Probable duplicates."""
    return [problem for problem in owner.problems(DAY) if problem["code"] == "flights-twice"]


def test_total_is_122_with_one_pair_flagged(tmp_path: Path) -> None:
    for fleet in make_both(tmp_path):
        owner = Owner(fleet)
        assert flights(owner) == 122
        assert len(twice(owner)) == 1


def test_either_order_gives_identical_output(tmp_path: Path) -> None:
    ab, ba = make_both(tmp_path)
    for words in (["due", "--json"], ["flyday", DAY], ["history", "gj", "--json"], ["check"]):
        answers = [run(*words, "--on", DAY, fleet=fleet) for fleet in (ab, ba)]
        assert answers[0] == answers[1]
        assert answers[0].out


def test_a_duplicate_is_marked_and_unmarked(tmp_path: Path) -> None:
    both, _ = make_both(tmp_path)
    owner = Owner(both)
    files = {path for path in both.rglob("*.yaml")}
    records = owner.asks(DAY, "history", "gj", "--kind", "flights")["records"]
    twins = [record["id"] for record in records if record["when"][11:16] in ("14:20", "14:21")]
    withdrawal = owner.writes(DAY, "withdraw", twins[1], "--duplicate-of", twins[0])
    assert flights(owner) == 121
    assert files <= set(both.rglob("*.yaml"))
    assert not twice(owner)
    owner.says(DAY, "withdraw", withdrawal)
    assert flights(owner) == 122


def test_no_file_holds_a_flight_number(tmp_path: Path) -> None:
    both, _ = make_both(tmp_path)
    written = [path.read_text("utf-8") for path in (both / "aircraft/gj/events").rglob("*.yaml")]
    assert len(written) == 5
    assert not any("122" in text or "117" in text for text in written)
