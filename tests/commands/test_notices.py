"""Notices as typed: which is meant, what is refused, what a broken file does."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from event_fleet import make_event_fleet

from fleets import Result, run, run_json

KIT = """
id: kitj000001
title: "Oriel 2.4"
positions:
  aileron-servo-left: {kind: "servo"}
  aileron-servo-right: {kind: "servo"}
notices:
  arm-screw:
    title: "Screw of the servo arm works loose"
    applies: {part_kind: "servo"}
    action: "recurring"
    every: [{counter: "flights", amount: 6}, {months: 3}]
    grounds: true
    basis: {kind: "club", reference: "circular 8"}
  belly-seam:
    title: "Seam of the belly opens"
    applies: {lots: ["R5-R9"]}
  hatch-first:
    kind: "trap"
    title: "Wire the hatch switch before the fan goes in"
    touches: ["engine"]
"""


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """Heron and kestrel of one kit; heron has two servos."""
    jet = 'kit: "oriel.kitj000001"\nprogrammes: ["jet.prgjet0001"]\n'
    return make_event_fleet(
        tmp_path,
        {
            "kits/oriel.yaml": KIT,
            "aircraft/heron/aircraft.yaml": f'id: hern000001\ntitle: "Heron"\n{jet}lot: "R6"\n',
            "aircraft/kestrel/aircraft.yaml": f'id: kest000001\ntitle: "Kestrel"\n{jet}',
        },
    )


def says(fleet: Path, *words: str, exit_code: int = 0) -> Result:
    """Type one line."""
    result = run(*words, fleet=fleet)
    assert result.exit_code == exit_code, result
    return result


def rows(fleet: Path, *words: str) -> dict[tuple[str, str], dict[str, Any]]:
    """Rows by notice and subject."""
    found = run_json("notices", *words, fleet=fleet)["rows"]
    return {(row["notice"], row["subject"]): row for row in found}


def test_the_matrix_of_the_fleet(fleet: Path) -> None:
    found = {key: row["state"] for key, row in rows(fleet).items()}
    assert found == {
        ("arm-screw", "sv-22"): "not-looked-at",
        ("arm-screw", "sv-23"): "not-looked-at",
        ("arm-screw", "kestrel"): "not-looked-at",
        ("belly-seam", "heron"): "not-looked-at",
        ("belly-seam", "kestrel"): "cannot-tell",
    }
    assert run("notices", "--strict", fleet=fleet).exit_code == 1
    assert set(rows(fleet, "heron")) == {key for key in found if key[1] != "kestrel"}
    assert set(rows(fleet, "sv-22")) == {("arm-screw", "sv-22")}


@pytest.mark.parametrize(
    "words",
    [
        ("arm-screw", "sv-22"),
        ("sv-22", "arm-screw"),
        ("arm", "sv-22"),
        ("arm-screw", "heron", "aileron-servo-left"),
        ("heron", "arm", "aileron-servo-l"),
        ("arm-screw", "aileron-servo-left"),
    ],
)
def test_which_is_meant(fleet: Path, words: tuple[str, ...]) -> None:
    says(fleet, "notices", *words, "--clear", "tight, sealed")
    answered = {key for key, row in rows(fleet).items() if row["answers"]}
    assert answered == {("arm-screw", "sv-22")}


@pytest.mark.parametrize(
    ("words", "code", "hint"),
    [
        (("arm-screw", "heron", "--clear", "x"), 2, "asks several"),
        (("heron", "--clear", "x"), 2, "which notice"),
        (("arm-scrw", "--clear", "x"), 2, "did you mean arm-screw"),
        (("arm-screw", "sv-31", "--clear", "x"), 2, "does not ask that"),
        (("arm-screw", "sv-22", "--clear", ""), 2, "no words"),
        (("arm-screw", "sv-22", "--not-applicable", " "), 4, "needs its reason"),
        (("arm-screw", "sv-22", "--clear", "x", "--found", "y"), 2, "one answer at a time"),
        (("hatch-first", "--clear", "x"), 4, "needs no answer"),
        (("aileron-servo-left",), 2, "is a position"),
        (("--raise", "zzzz"), 2, "no event has an id"),
    ],
)
def test_wrong_words_are_named(fleet: Path, words: tuple[str, ...], code: int, hint: str) -> None:
    refused = says(fleet, "notices", *words, exit_code=code)
    assert hint in refused.err
    assert "mend:" in refused.err
    assert not any(row["answers"] for row in rows(fleet).values())


@pytest.mark.parametrize(
    ("more", "hint"),
    [
        (("--action", "recurring"), "how often"),
        (("--action", "once", "--every", "flights=3"), "no interval"),
        (("--every", "fortnights=3"), "counter"),
        (("--every", "months=none"), "not a number"),
        (("--lots", "R9-R5"), "no lot and no range"),
        (("--side", "up"), "side"),
        (("--side", "left"), "a side alone"),
        (("--trap", "--grounds"), "a trap needs no answer"),
        (("--at", "yesterday"), "--at means nothing"),
        (("--name", "arm-screw"), "already"),
        (("--kind", "serov"), "did you mean servo"),
    ],
)
def test_wrong_words_of_a_new_one(fleet: Path, more: tuple[str, ...], hint: str) -> None:
    snag = run_json("snag", "heron", "rattle", "in", "the", "tail", fleet=fleet)["id"]
    code = 4 if "--name" in more else 2
    refused = says(fleet, "notices", "--raise", snag, *more, exit_code=code)
    assert hint in refused.err
    assert (fleet / "kits/oriel.yaml").read_text() == KIT.removeprefix("\n")


def test_whichever_side_comes_first(fleet: Path) -> None:
    says(fleet, "notices", "arm-screw", "sv-22", "--clear", "tight", "--at", "2026-02-10")
    says(fleet, "fly", "heron", "2", "--minutes", "14", "--at", "2026-05-01")
    found = rows(fleet)["arm-screw", "sv-22"]
    assert found["state"] == "due-again"
    assert {limit["state"] for limit in found["limits"]} == {"overdue", "ok"}
    says(fleet, "notices", "arm-screw", "sv-22", "--repaired", "new screw, sealed")
    found = rows(fleet)["arm-screw", "sv-22"]
    assert (found["state"], found["open"]) == ("repaired", False)
    assert next(limit.get("remaining") for limit in found["limits"]) == 6


def test_found_and_repaired_on_one_day_by_date_alone(fleet: Path) -> None:
    says(fleet, "notices", "arm-screw", "sv-22", "--found", "loose", "--at", "2026-05-10")
    says(fleet, "notices", "arm-screw", "sv-22", "--repaired", "sealed", "--at", "2026-05-10")
    assert rows(fleet)["arm-screw", "sv-22"]["state"] == "repaired"


def test_by_hand_on_one_day_without_an_order_it_stays_open(fleet: Path) -> None:
    for n, result in enumerate(("repaired", "found")):
        name = f"2026-05-10-notice-answer-nw4nsw000{n}.yaml"
        path = fleet / "aircraft/heron/events/2026/05" / name
        path.write_text(
            f'record: "notice-answer"\nid: "nw4nsw000{n}"\nwhen: "2026-05-10"\n'
            f'notice: "arm-screw"\nsubject: "sv-22"\nresult: "{result}"\ntext: "x"\n'
        )
    assert rows(fleet)["arm-screw", "sv-22"]["state"] == "found"


def test_withdrawing_an_answer_asks_again(fleet: Path) -> None:
    id_ = run_json("notices", "arm-screw", "sv-22", "--clear", "tight", fleet=fleet)["id"]
    assert rows(fleet)["arm-screw", "sv-22"]["state"] == "clear"
    says(fleet, "withdraw", id_)
    assert rows(fleet)["arm-screw", "sv-22"]["state"] == "not-looked-at"


def test_a_notice_that_cannot_be_read_clears_nobody(fleet: Path) -> None:
    says(fleet, "notices", "arm-screw", "sv-22", "--clear", "tight")
    kit = fleet / "kits/oriel.yaml"
    kit.write_text(kit.read_text().replace("amount: 6", 'amount: "six"'))
    found = run("notices", "--json", fleet=fleet)
    assert found.exit_code == 1
    shown = run("notices", "heron", fleet=fleet)
    assert "INCOMPLETE" in shown.out
    assert "could not be read whole" in shown.out
    assert "CANNOT TELL" in shown.out


@pytest.mark.parametrize(
    "notices",
    ["notices: [a, b]", "notices: none at all", "notices:\n  arm-screw:\n",
     "notices:\n  arm-screw: [1]", "notices:\n  Arm Screw!: {title: x}"],
)  # fmt: skip
def test_a_kit_whose_notices_cannot_be_read_leaves_its_aircraft_untold(
    fleet: Path, notices: str
) -> None:
    kit = fleet / "kits/oriel.yaml"
    kit.write_text(kit.read_text().partition("notices:")[0] + notices + "\n")
    found = run_json("flyday", fleet=fleet, exit_code=1)["aircraft"]
    reasons = {one["aircraft"]: [reason["kind"] for reason in one["reasons"]] for one in found}
    assert "unread" in reasons["kestrel"]
    assert "unread" in reasons["heron"]
    assert "unread" not in reasons["bulwark"]
    problems = run_json("check", fleet=fleet, exit_code=1)["problems"]
    assert any(problem["file"] == "kits/oriel.yaml" for problem in problems)


def test_what_a_notice_says_needs_a_record_to_raise(fleet: Path) -> None:
    refused = says(fleet, "notices", "heron", "--title", "Loose arm", exit_code=2)
    assert "--raise" in refused.err


def test_an_aircraft_takes_a_notice_away_or_has_its_own(fleet: Path) -> None:
    file = fleet / "aircraft/kestrel/aircraft.yaml"
    own = 'notices:\n  belly-seam: "none"\n  fin-crack:\n    title: "Crack at the fin"\n'
    file.write_text(file.read_text() + own)
    found = rows(fleet)
    assert found["belly-seam", "kestrel"]["state"] == "not-applicable"
    assert "own file" in found["belly-seam", "kestrel"]["says"]
    assert found["fin-crack", "kestrel"]["state"] == "not-looked-at"
    assert ("fin-crack", "heron") not in found
    file.write_text(file.read_text().replace('"none"', "{grounds: true}"))
    laid = rows(fleet)["belly-seam", "kestrel"]
    assert (laid["grounds"], laid["state"]) == (True, "cannot-tell")


def test_due_and_why_show_it(fleet: Path) -> None:
    shown = says(fleet, "due", "heron").out
    assert "arm-screw [sv-22]" in shown
    assert "not yet looked at" in shown
    why = says(fleet, "why", "heron", "arm-screw").out
    assert "club: circular 8" in why
    assert "kits/oriel.yaml:7" in why
    assert "grounded" in why
    says(fleet, "notices", "belly-seam", "heron", "--clear", "seam whole")
    assert "belly-seam" not in says(fleet, "due", "heron").out


def test_a_part_says_its_kit(fleet: Path) -> None:
    part = fleet / "parts/sv-31/part.yaml"
    part.write_text(part.read_text() + 'kit: "oriel"\n')
    found = rows(fleet)["arm-screw", "sv-31"]
    assert (found["aircraft"], found["state"]) == ([], "not-looked-at")
    assert "shelf" in says(fleet, "notices", "arm-screw").out
