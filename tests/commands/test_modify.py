"""Departures from the manual: recorded with their reasons, followed, and shown until settled."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from event_fleet import make_event_fleet

from fleets import Result, run, run_json


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """The fleet of entry tests."""
    return make_event_fleet(tmp_path)


def says(fleet: Path, *words: str, exit_code: int = 0) -> Result:
    """Type one line."""
    result = run(*words, fleet=fleet)
    assert result.exit_code == exit_code, result
    return result


def one(fleet: Path, word: str) -> dict[str, Any]:
    """One departure."""
    found = run_json("modify", word, fleet=fleet)["modifications"]
    assert len(found) == 1
    return dict(found[0])


FULL = (
    "modify", "heron", "carbon", "tongue", "in", "the", "hatch",
    "--manual", "plywood tongue, 2 mm", "--why", "it broke twice",
    "--tried", "two layers of ply", "--tried", "glass over it",
    "--mass", "-4.5g", "--strength", "stiffer", "--state", "trial",
    "--before", "gap=0.8mm", "--after-work", "gap=0.2mm", "--where", "left-wing",
)  # fmt: skip


def test_everything_typed_is_kept(fleet: Path) -> None:
    id_ = str(run_json(*FULL, fleet=fleet)["id"])
    found = one(fleet, id_[:4])
    assert found["manual"] == "plywood tongue, 2 mm"
    assert found["tried"] == ["two layers of ply", "glass over it"]
    assert found["mass"] == -0.0045
    assert found["state"] == "trial"
    assert found["where"] == "left-wing"
    assert found["readings"] == [{"name": "gap", "before": 0.8, "after": 0.2, "unit": "mm"}]
    text = (fleet / found["records"][0]).read_text()
    assert "mass: -0.0045\n" in text
    assert 'state: "trial"' in text
    shown = " ".join(says(fleet, "modify", "heron").out.split())
    assert "ON TRIAL" in shown
    assert "-4.5 g" in shown
    assert "gap 0.8 → 0.2 mm" in shown


def test_a_trial_stays_visible_until_it_is_settled(fleet: Path) -> None:
    id_ = str(run_json(*FULL, fleet=fleet)["id"])
    assert "ON TRIAL since 2026-05-16: carbon tongue in the hatch" in (
        says(fleet, "aircraft", "heron").out
    )
    assert run("modify", "heron", "--strict", fleet=fleet).exit_code == 1
    says(
        fleet,
        "modify",
        id_,
        "held",
        "all",
        "spring",
        "--state",
        "fixed",
        "--after-work",
        "gap=0.3mm",
    )
    found = one(fleet, id_)
    assert (found["state"], found["readings"][0]["after"]) == ("fixed", 0.3)
    assert len(found["records"]) == 2
    shown = says(fleet, "aircraft", "heron").out
    assert "ON TRIAL" not in shown
    assert "1 departure from the manual kept" in shown
    follow = run_json("modify", "heron", fleet=fleet)["modifications"][0]["records"][1]
    says(fleet, "withdraw", follow.rsplit("-", 1)[1].removesuffix(".yaml"))
    assert one(fleet, id_)["state"] == "trial"


def test_it_goes_with_its_part(fleet: Path) -> None:
    says(fleet, "modify", "sv-22", "longer", "arm", "--state", "trial", "--mass", "2")
    assert run_json("modify", "heron", fleet=fleet)["modifications"][0]["part"] == "sv-22"
    says(fleet, "remove", "sv-22")
    says(fleet, "install", "sv-22", "kestrel", "aileron-servo-left")
    assert run_json("modify", "heron", fleet=fleet)["modifications"] == []
    found = run_json("modify", "kestrel", fleet=fleet)["modifications"]
    assert [item["text"] for item in found] == ["longer arm"]
    assert "ON TRIAL" in says(fleet, "aircraft", "kestrel").out


def test_what_rests_on_a_cure_is_not_fixed_before_its_end(fleet: Path) -> None:
    id_ = str(run_json("modify", "heron", "glass", "patch", "--state", "curing", fleet=fleet)["id"])
    path = fleet / "aircraft/heron/events/2026/05/2026-05-16-cure-c0reaaaaaa.yaml"
    path.write_text(
        'record: "cure"\nid: "c0reaaaaaa"\nwhen: "2026-05-16T08:00+00:00"\naircraft: "heron"\n'
        f'text: "patch"\nadhesive: "laminating resin"\nfull_minutes: 2000\nholds: ["{id_}"]\n'
    )
    refused = says(fleet, "modify", id_, "--state", "fixed", exit_code=4)
    assert "rests on patch" in refused.err
    assert one(fleet, id_)["state"] == "curing"


@pytest.mark.parametrize(
    ("more", "hint"),
    [
        (("--mass", "heavy"), "--mass 12"),
        (("--mass", "12kg"), "--mass 12"),
        (("--state", "done"), "state of a modification"),
        (("--before", "0.8mm"), "NAME=VALUE"),
        (("--before", "gap=thin"), "not a number"),
        (("--at", "left-wing"), "--where left-wing"),
    ],
)
def test_wrong_words_are_named(fleet: Path, more: tuple[str, ...], hint: str) -> None:
    refused = says(fleet, "modify", "heron", "new", "tongue", *more, exit_code=2)
    assert hint in refused.err
    assert run_json("modify", fleet=fleet)["modifications"] == []


def test_the_first_record_keeps_what_belongs_to_it(fleet: Path) -> None:
    id_ = str(run_json(*FULL, fleet=fleet)["id"])
    refused = says(fleet, "modify", id_, "--manual", "nothing", exit_code=2)
    assert "tailsheaf amend" in refused.err
    says(fleet, "modify", exit_code=0)
    assert says(fleet, "modify", "--why", "no", exit_code=2).err
