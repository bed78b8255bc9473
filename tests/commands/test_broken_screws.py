"""A broken screw: noted in one line, its rest asked after, mended off the shelf."""

from __future__ import annotations

from pathlib import Path

import pytest
from event_fleet import events_of
from workshop_room.jointed_fleet import joints_of, lots_of, make_jointed_fleet

from fleets import read_files, run, run_json
from register.desk import open_fleet
from register.findings.snags import SnagState, fold_snags


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_jointed_fleet(tmp_path)


def states(fleet: Path) -> list[SnagState]:
    return list(fold_snags(open_fleet(fleet).ledger).values())


def break_one(fleet: Path, *more: str) -> str:
    """Break a screw of the nose gear; the id of the snag."""
    line = ("snag", "heron", "screw sheared", "--joint", "nose-gear", "--broken", "1")
    found: str = run_json(*line, *more, fleet=fleet)["written"][0]["id"]
    return found


def standing(fleet: Path) -> tuple[str, str]:
    """Of heron today, with every reason in one text."""
    judged = run_json("flyday", fleet=fleet)["aircraft"]
    [heron] = [one for one in judged if one["aircraft"] == "heron"]
    return heron["standing"], "; ".join(reason["says"] for reason in heron["reasons"])


def test_one_line_asks_nothing_and_says_how_to_tell_the_rest(fleet: Path) -> None:
    line = ("snag", "heron", "sheared", "--joint", "nose", "--broken", "1")
    result = run(*line, fleet=fleet, input="")
    assert result.exit_code == 0
    [state] = states(fleet)
    short = state.id[:4]
    assert "nose-gear: 3 of 4 still hold" in result.out
    asked = [row for row in result.out.splitlines() if "?" in row]
    words = f"where is the rest? tailsheaf snag {short} --rest out, in-hole or loose-inside"
    assert [row.strip() for row in asked] == [words]
    assert "tailsheaf fasteners heron nose-gear" in result.out
    body = state.event.body
    assert (body.joint, body.broken, body.rest) == ("nose-gear", 1, None)  # type: ignore[union-attr]
    # The joint says where it is.
    assert body.zone == "nose"  # type: ignore[union-attr]


def test_with_the_rest_given_nothing_is_asked(fleet: Path) -> None:
    line = ("snag", "heron", "sheared", "--joint", "nose", "--broken", "2", "--rest", "in-hole")
    result = run(*line, fleet=fleet)
    assert "?" not in result.out
    assert "nose-gear: 2 of 4 still hold" in result.out
    assert "fewer than the 3 that must hold" in result.out
    assert states(fleet)[0].rest == "in-hole"


def test_what_lies_loose_inside_grounds_until_it_is_found(fleet: Path) -> None:
    id_ = break_one(fleet, "--rest", "loose", "-s", "cosmetic")
    assert standing(fleet)[0] == "grounded"
    assert "the rest lies loose inside, not found: screw sheared" in standing(fleet)[1]
    # Neither a rating, nor a deferral, nor a fix takes it away.
    for line in (
        ("snag", id_, "-s", "cosmetic", "--note", "looked harmless"),
        ("defer", id_, "--reason", "later", "--until", "10d"),
        ("fix", id_, "new screw fitted"),
        ("fix", id_, "new screw fitted", "--rest", "not-known"),
    ):
        result = run(*line, fleet=fleet)
        assert result.exit_code == 4, line
        assert states(fleet)[0].severity == "grounding"
    result = run("snag", id_, "--rest", "out", fleet=fleet)
    assert result.exit_code == 0
    assert "the rest is out" in result.out
    [state] = states(fleet)
    assert state.is_open
    assert (state.severity, state.rest) == ("cosmetic", "out")
    assert "loose" not in standing(fleet)[1]
    assert run("fix", id_, "new screw fitted", fleet=fleet).exit_code == 0
    assert not states(fleet)[0].is_open


def test_a_fix_may_say_that_it_was_found(fleet: Path) -> None:
    id_ = break_one(fleet, "--rest", "loose-inside")
    result = run("fix", id_, "shaken out, new screw", "--rest", "out", fleet=fleet)
    assert result.exit_code == 0
    assert not states(fleet)[0].is_open


def test_a_fix_written_by_hand_does_not_lose_it(fleet: Path) -> None:
    """Closing words alone do not find it: the snag stays open and grounds."""
    id_ = break_one(fleet, "--rest", "loose-inside")
    path = fleet / "aircraft/heron/events/2026/05/2026-05-16-fix-h4nd000001.yaml"
    path.write_text(
        f'record: "fix"\nid: "h4nd000001"\nwhen: "2026-05-16"\nsnags: ["{id_}"]\n'
        'action: "new screw"\n'
    )
    [state] = states(fleet)
    assert (state.is_open, state.severity) == (True, "grounding")


def test_it_can_come_loose_later_and_be_rated_when_found(fleet: Path) -> None:
    id_ = break_one(fleet, "--rest", "in-hole", "-s", "deferrable")
    run("snag", id_, "--rest", "loose-inside", fleet=fleet)
    assert states(fleet)[0].severity == "grounding"
    result = run("snag", id_, "--rest", "out", "-s", "monitor", fleet=fleet)
    assert result.exit_code == 0
    [state] = states(fleet)
    assert (state.severity, state.rest) == ("monitor", "out")


def test_why_tells_what_grounds(fleet: Path) -> None:
    id_ = break_one(fleet, "--rest", "loose-inside", "-s", "c")
    told = run("why", "heron", id_[:6], fleet=fleet).out
    assert "the rest lies loose inside: grounding until it is found" in " ".join(told.split())


def test_a_joint_not_on_record_is_kept_as_written(fleet: Path) -> None:
    line = ("snag", "heron", "loose", "--joint", "Spar Cap", "--broken", "1")
    result = run(*line, fleet=fleet)
    assert result.exit_code == 0
    assert "heron has no joint spar-cap on record (canopy, nose-gear" in result.out
    assert states(fleet)[0].event.body.joint == "spar-cap"  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--broken", "1"), "of which joint?"),
        (("--joint", "nose", "--broken", "-1"), "negative"),
        (("--joint", "nose", "--broken", "1.5"), "not an amount"),
        (("--joint", "nose", "--rest", "somewhere"), "no place of the rest"),
        (("--joint", " "), "no words"),
    ],
)
def test_bad_words_write_nothing(fleet: Path, words: tuple[str, ...], says: str) -> None:
    before = read_files(fleet)
    result = run("snag", "heron", "sheared", *words, fleet=fleet)
    assert (result.exit_code, says in result.err) == (2, True), result.err
    assert read_files(fleet) == before


def test_more_broken_than_fitted_is_recorded_and_pointed_out(fleet: Path) -> None:
    line = ("snag", "heron", "all gone", "--joint", "nose", "--broken", "5")
    result = run(*line, fleet=fleet)
    assert "nose-gear has 4; 5 are said to be broken" in result.out
    assert "0 of 4 still hold" in result.out


# --- mending ------------------------------------------------------------------


def test_a_fix_draws_the_shelf_and_says_what_falls_short(fleet: Path) -> None:
    id_ = break_one(fleet)
    line = ("fix", id_, "same again", "--mending", "same", "--draw", "screw-m3x16-cap=3")
    result = run(*line, fleet=fleet)
    assert result.out.startswith("recorded: heron: screw sheared")
    assert "taken: 3 screw-m3x16-cap, 4 there, 5 wanted" in result.out
    assert "BELOW what is wanted: 1 screw-m3x16-cap to get" in result.out
    text = (fleet / "stock.yaml").read_text()
    assert 'count: 4, wanted: 5, where: "second drawer"' in text
    assert text.startswith("# What lies in the drawers.")
    [fix] = events_of(fleet, "fix")
    assert [(draw.item, draw.count) for draw in fix.body.draws] == [("screw-m3x16-cap", 3)]
    assert fix.body.mending == "same-again"
    assert run("doctor", fleet=fleet).exit_code == 0
    shown = run("stock", "screw-m3x16-cap", fleet=fleet).out
    assert f"3 taken by fix {fix.id[:4]}" in shown


def test_several_draws_and_a_bare_count(fleet: Path) -> None:
    id_ = break_one(fleet)
    line = ("fix", id_, "insert set", "--draw", "insert-m2-5", "--draw", "screw-m4x16=2,glue")
    result = run(*line, fleet=fleet)
    assert "taken: 1 insert-m2-5, 3 there" in result.out
    assert "glue was never counted, so what is left is not known" in result.out
    text = (fleet / "stock.yaml").read_text()
    assert "insert-m2-5: 3\n" in text
    assert "screw-m4x16-cap: {count: 7}" in text


def test_more_than_is_there_is_recorded_as_none_left(fleet: Path) -> None:
    id_ = break_one(fleet)
    result = run("fix", id_, "done", "--draw", "screw-m4x16-cap=12", fleet=fleet)
    assert result.exit_code == 0
    assert "only 9 screw-m4x16-cap were counted; it is written as 0" in result.out
    [fix] = events_of(fleet, "fix")
    assert fix.body.draws[0].count == 12


@pytest.mark.parametrize(
    ("draw", "says"),
    [
        ("screw-m9", "no stock item is called 'screw-m9'"),
        ("glue=0", "how many were taken?"),
        ("glue=-2", "how many were taken?"),
        ("glue=some", "not an amount"),
        ("screw", "could be screw-m3x16-cap or screw-m4x16-cap"),
    ],
)
def test_a_bad_draw_writes_nothing(fleet: Path, draw: str, says: str) -> None:
    id_ = break_one(fleet)
    before = read_files(fleet)
    result = run("fix", id_, "done", "--draw", draw, fleet=fleet)
    assert (result.exit_code, says in result.err) == (2, True), result.err
    assert read_files(fleet) == before


def test_a_larger_thread_is_kept_as_a_departure(fleet: Path) -> None:
    id_ = break_one(fleet)
    line = ("fix", id_, "drilled and tapped", "--mending", "larger-thread", "--thread", "M4")
    result = run(*line, fleet=fleet)
    assert "departure: nose-gear: 1 of 4 now M4 x 16 cap, it was M3 x 16 cap" in result.out
    assert lots_of(fleet, "nose-gear") == [(3, "M3 x 16 cap"), (1, "M4 x 16 cap")]
    [event] = events_of(fleet, "modification")
    body = event.body
    assert (body.manual, body.state, body.at) == ("M3 x 16 cap", "fixed", "nose-gear")
    assert body.why == "screw sheared: drilled and tapped"
    # It is told of the joint, of the tools and of the spares from then on.
    told = run_json("fasteners", "heron", fleet=fleet)
    assert "hex key 3 mm" in {tool["tool"] for tool in told["tools"]}
    assert "screw-m4x16-cap" in {spare["item"] for spare in told["spares"]}
    assert joints_of(fleet)["nose-gear"].holding == 4


def test_the_day_before_a_departure_knows_nothing_of_it(fleet: Path) -> None:
    id_ = break_one(fleet)
    run("fix", id_, "tapped", "--mending", "larger-thread", "--thread", "M4", fleet=fleet)
    before = run_json("fasteners", "heron", "nose", "--on", "2026-05-15", fleet=fleet)
    assert [lot["thread"] for lot in before["fitted"]] == ["M3"]


def test_another_head_and_count(fleet: Path) -> None:
    id_ = break_one(fleet)
    line = ("fix", id_, "all four", "--head", "button", "--length", "14mm", "--changed", "4")
    run(*line, fleet=fleet)
    assert lots_of(fleet, "nose-gear") == [(4, "M3 x 14 button")]


def test_a_longer_screw_in_the_same_hole_is_pointed_out(fleet: Path) -> None:
    id_ = break_one(fleet)
    result = run("fix", id_, "longer one", "--length", "20", fleet=fleet)
    assert result.exit_code == 0
    assert "Never a longer screw in the same hole" in result.out
    id_ = break_one(fleet)
    line = ("fix", id_, "moved it", "--length", "20", "--mending", "new-hole")
    assert "Never a longer screw" not in run(*line, fleet=fleet).out


@pytest.mark.parametrize(
    ("words", "says", "mend"),
    [
        (("--mending", "larger-thread"), "which thread has it now?", "--thread M4"),
        (("--mending", "larger-thread", "--thread", "M9"), "none of the sizes", "--thread M8"),
        (("--thread", "#4"), "more than one thread", "--thread 4-40 or 4-48"),
        (("--length", "0"), "no length in millimetres", "--length 10"),
        (("--mending", "weld"), "no mending is called", "known"),
        (("--head", "star"), "no head is called", "known: "),
        (("--rest", "gone"), "no place of the rest", ""),
    ],
)
def test_bad_mendings_write_nothing(
    fleet: Path, words: tuple[str, ...], says: str, mend: str
) -> None:
    id_ = break_one(fleet)
    before = read_files(fleet)
    result = run("fix", id_, "done", *words, fleet=fleet)
    assert (result.exit_code, says in result.err, mend in result.err) == (2, True, True), result.err
    assert read_files(fleet) == before


def test_a_size_without_a_joint_cannot_be_kept(fleet: Path) -> None:
    id_ = run_json("snag", "heron", "loose", fleet=fleet)["written"][0]["id"]
    result = run("fix", id_, "tapped", "--thread", "M4", fleet=fleet)
    assert result.exit_code == 2
    assert f"tailsheaf amend {id_[:4]} joint=NAME" in result.err
    amended = run("amend", id_, "joint=nose-gear", "broken=1", fleet=fleet)
    assert amended.exit_code == 0, amended
    assert run("fix", id_, "tapped", "--thread", "M4", fleet=fleet).exit_code == 0
    assert (1, "M4 x 16 cap") in lots_of(fleet, "nose-gear")


def test_what_stays_when_the_fix_is_withdrawn_is_said(fleet: Path) -> None:
    id_ = break_one(fleet)
    line = ("fix", id_, "tapped", "--thread", "M4", "--draw", "screw-m4x16-cap")
    run(*line, fleet=fleet)
    [fix] = events_of(fleet, "fix")
    [departure] = events_of(fleet, "modification")
    result = run("withdraw", fix.id, fleet=fleet)
    assert "tailsheaf stock screw-m4x16-cap --put 1" in result.out
    assert f"tailsheaf withdraw {departure.id[:4]}" in result.out


def test_history_tells_joint_rest_mending_and_draws(fleet: Path) -> None:
    id_ = break_one(fleet, "--rest", "in-hole")
    line = ("fix", id_, "drilled out", "--mending", "extracted", "--draw", "screw-m3x16-cap")
    run(*line, fleet=fleet)
    told = " ".join(run("history", "heron", fleet=fleet).out.split())
    assert "screw sheared; nose-gear, 1 broken, the rest in hole" in told
    assert "fixed by extracted: drilled out; taken 1 screw-m3x16-cap" in told
