"""What a buyer, an inspector and an insurer look for first, in words that need no program."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import pytest

from fleets import make_fleet, run
from register.git.apply import save_paths
from register.git.commit import init_repository

TASK = """
  - id: "{id}"
    title: "{title}"
    on: {on}
    group: "{group}"
    every:
      - {{counter: "flights", amount: {every}}}
    grounds: {grounds}
    basis: {{kind: "owner"}}
"""
NEVER = [
    ("hinge-pull", "Hinges pulled", '"aircraft"', "surfaces", 500, "true"),
    ("horn-look", "Horns looked at", '"aircraft"', "surfaces", 500, "false"),
    ("servo-slop", "Servo gears felt", '{part_kind: "servo"}', "servos", 500, "true"),
]
JET = """
id: "g000000001"
title: "Grey Jet"
stage: "in-service"
programmes: ["story"]
opening:
  as_of: "2026-01-01"
  counters: {flights: 900, minutes: 6000}
  tasks:
    - {task: "skin-tap", when: "2025-10-01", at: {flights: 700}}
    - {task: "tail-look", known: "unknown"}
"""
CAME = """
record: "change-of-owner"
id: "c1k2qd0001"
when: "2026-02-01"
aircraft: "gj"
way: "in"
"""


@pytest.fixture(scope="module")
def forms(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The dossier as page (tags taken out) and as text."""
    folder = tmp_path_factory.mktemp("look")
    programme = 'id: "prgstory01"\ntitle: "Story programme"\ntasks:' + "".join(
        TASK.format(id=id_, title=title, on=on, group=group, every=every, grounds=grounds)
        for id_, title, on, group, every, grounds in (
            ("skin-tap", "Skins tapped", '"aircraft"', "surfaces", 20, "true"),
            ("tail-look", "Tail looked at", '"aircraft"', "surfaces", 20, "true"),
            *NEVER,
        )
    )
    files = {
        "programmes/story.yaml": programme,
        "aircraft/gj/aircraft.yaml": JET,
        "aircraft/gj/events/2026/02/2026-02-01-change-of-owner-c1k2qd0001.yaml": CAME,
    }
    for number in (1, 2, 3):
        files[f"parts/sv-{number}/part.yaml"] = f'id: "s00000000{number}"\nkind: "servo"\n'
        files[f"aircraft/gj/events/2026/02/2026-02-02-install-b{number}k2qd0001.yaml"] = (
            f'record: "install"\nid: "b{number}k2qd0001"\nwhen: "2026-02-02"\n'
            f'part: "sv-{number}"\naircraft: "gj"\nposition: "servo-{number}"\n'
        )
    fleet = make_fleet(folder, files)
    init_repository(fleet)
    save_paths(fleet, ["fleet.yaml", *files], "Begin")
    file = folder / "gj.tailsheaf"
    assert run("handover", "gj", str(file), fleet=fleet).exit_code == 0
    import zipfile

    with zipfile.ZipFile(file) as parcel:
        page = parcel.read("dossier.html").decode()
        text = parcel.read("dossier.txt").decode()
    page = re.sub(r"<style.*?</style>|<[^>]+>", " ", page, flags=re.DOTALL)
    return {name: " ".join(unescape(words).split()) for name, words in
            (("page", page), ("text", text))}  # fmt: skip


@pytest.mark.parametrize("form", ["page", "text"])
def test_what_comes_with_it_and_who_had_it(forms: dict[str, str], form: str) -> None:
    """Parts, pictures, kit and checks in one line; owners in plain words."""
    first = forms[form].partition("What was left out")[0]
    assert "3 parts (3 servos); no picture; no sheet of a kit" in first
    assert "Story programme" in first
    said = re.search(r"the seller is the second in these records; it changed hands on \S+", first)
    assert said
    assert "it had flown before they began" in first
    assert "kit not recorded" in first
    assert "from the kit not recorded" not in first


@pytest.mark.parametrize("form", ["page", "text"])
def test_what_was_never_recorded_is_folded(forms: dict[str, str], form: str) -> None:
    """A line for each group, a check once, with the number of parts it is asked of."""
    told = forms[form]
    assert "Hinges pulled*" in told
    assert "servos: Servo gears felt* [3 parts], due in 500 flights" in told
    assert "never recorded: never recorded" not in told


@pytest.mark.parametrize("form", ["page", "text"])
def test_nothing_is_to_be_typed_and_no_figure_is_below_nothing(
    forms: dict[str, str], form: str
) -> None:
    """No command line, no "between -173 and -23 flights left", no task's short name."""
    told = forms[form]
    assert re.findall(r"tailsheaf (?!\d)\S+", told) == []
    assert "between -" not in told
    assert "Skins tapped: over by 180 flights" in told or "over by 180 flights" in told
    assert "skin-tap:" not in told


def test_a_range_that_is_passed_whole_is_one(tmp_path: Path) -> None:
    """Over by 23 to 173 flights, in due and why and on the flying day."""
    programme = 'id: "prgstory01"\ntitle: "S"\ntasks:' + TASK.format(
        id="skin-tap", title="Skins tapped", on='"aircraft"', group="g", every=20, grounds="true"
    )
    done = '{task: "skin-tap", at: {flights: 100}}'
    jet = JET.partition("opening")[0] + (
        'opening:\n  as_of: "2026-01-01"\n  counters: {flights: {low: 143, high: 293}}\n'
        f"  tasks: [{done}]\n"
    )
    fleet = make_fleet(
        tmp_path, {"programmes/story.yaml": programme, "aircraft/gj/aircraft.yaml": jet}
    )
    for words in (("due",), ("why", "gj", "skin-tap"), ("flyday",)):
        told = " ".join(run(*words, fleet=fleet).out.split())
        assert "over by 23 to 173 flights" in told, (words, told)
        assert "between -" not in told
