"""Words of a fault, said at once or later; fixes that did not hold; the third closing."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from pathlib import Path

import pytest
from event_fleet import events_of, make_event_fleet
from faults_views.faulty_fleet import Diary, flying_day

from fleets import make_fleet, run, run_json
from register.desk import open_fleet
from register.findings.snags import SnagState, fold_snags

LEAK = 'position: "gear-left"\nmode: "leaks-outward"\n'


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path)


def states(fleet: Path) -> list[SnagState]:
    return list(fold_snags(open_fleet(fleet).ledger).values())


def keys_of(fleet: Path) -> dict[str, str | None]:
    body = states(fleet)[-1].event.body
    return {key: getattr(body, key) for key in ("mode", "mechanism", "circumstance", "system")}


def note(fleet: Path, *line: str) -> str:
    found: str = run_json("snag", *line, fleet=fleet)["written"][0]["id"]
    return found


# --- words --------------------------------------------------------------------


def test_words_are_said_with_the_snag_by_their_beginning(fleet: Path) -> None:
    note(
        fleet, "heron", "leg", "sinks", "--system", "gear", "--mode", "leaks out",
        "--mechanism", "ag", "--circumstance", "design",
    )  # fmt: skip
    assert keys_of(fleet) == {
        "mode": "leaks-outward", "mechanism": "ageing", "circumstance": "design", "system": "gear",
    }  # fmt: skip


def test_words_are_filled_in_later_without_a_rating(fleet: Path) -> None:
    id_ = note(fleet, "heron", "leg", "sinks")
    result = run("snag", id_[:5], "--mode", "worn", "--system", "3230", fleet=fleet)
    assert result.exit_code == 0, result
    assert "mode none -> worn" in result.out
    assert keys_of(fleet) == {
        "mode": "worn", "mechanism": None, "circumstance": None, "system": "3230",
    }  # fmt: skip
    run("snag", id_[:5], "-s", "monitor", "--mechanism", "wear", fleet=fleet)
    assert (keys_of(fleet)["mechanism"], states(fleet)[0].severity) == ("wear", "monitor")


def test_amend_reads_the_same_words(fleet: Path) -> None:
    id_ = note(fleet, "heron", "leg", "sinks")
    assert run("amend", id_[:5], "mode=crack", "circumstance=adj", fleet=fleet).exit_code == 0
    assert (keys_of(fleet)["mode"], keys_of(fleet)["circumstance"]) == ("cracked", "adjustment")
    assert run("amend", id_[:5], "mode=", fleet=fleet).exit_code == 0
    assert keys_of(fleet)["mode"] is None


def test_an_unknown_word_is_kept_and_check_says_so(fleet: Path) -> None:
    result = run("snag", "heron", "hum", "--mode", "hums at idle", fleet=fleet)
    assert result.exit_code == 0
    assert "mode hums-at-idle is none of the register's words; recorded as written" in result.out
    assert keys_of(fleet)["mode"] == "hums-at-idle"
    checked = run_json("check", fleet=fleet)
    assert "fault-word-unknown" in {problem["code"] for problem in checked["problems"]}
    with (fleet / "fleet.yaml").open("a", encoding="utf-8") as file:
        file.write('fault_words:\n  modes: ["hums at idle"]\n  systems: {smoke: "90"}\n')
    checked = run_json("check", fleet=fleet)
    assert "fault-word-unknown" not in {problem["code"] for problem in checked["problems"]}
    assert run("snag", "heron", "thin", "--system", "smoke", fleet=fleet).exit_code == 0
    labels = [group["label"] for group in run_json("faults", fleet=fleet)["groups"]]
    assert "90 towing and drops, mode not said" in labels


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--mode", "crackd"], "cracked"),
        (["--mode", "leaks"], "leaks-inward or leaks-outward"),
        (["--system", "gearr"], "gear"),
        (["--system", "99"], "no chapter 99"),
        (["--mechanism", "!?"], "is not one word"),
        (["--mode", " "], "mode"),
    ],
)
def test_a_slip_is_refused_and_nothing_written(fleet: Path, words: list[str], says: str) -> None:
    result = run("snag", "heron", "leg", *words, fleet=fleet)
    assert result.exit_code == 2
    assert says in result.err
    assert events_of(fleet, "snag") == []


# --- repeats ------------------------------------------------------------------


def snag_twice(
    tmp_path: Path, first: str, second: str, flights: int, more: Mapping[str, str] | None = None
) -> Path:
    """A snag, its fix, so many flights, and another snag."""
    diary = Diary()
    one = diary.snag("heron", flying_day(0, 0), "leg sinks", first)
    diary.fix("heron", flying_day(0, 0), one, "new ring")
    diary.fly("heron", flying_day(0, 1) - timedelta(days=1), flights)
    diary.snag("heron", flying_day(0, 1), "leg sinks", second)
    aircraft = 'title: "Heron"\npositions:\n  gear-left: {kind: "retract", system: "gear"}\n'
    return make_fleet(
        tmp_path, {"aircraft/heron/aircraft.yaml": aircraft, **diary.files, **(more or {})}
    )


@pytest.mark.parametrize(("flights", "back"), [(1, True), (5, True), (6, False)])
def test_within_five_flights_of_a_fix_it_is_back(tmp_path: Path, flights: int, back: bool) -> None:
    state = states(snag_twice(tmp_path, LEAK, LEAK, flights))[-1]
    assert (state.unheld is not None, state.repeat) == (back, back)
    assert state.earlier_actions == ("new ring",)


@pytest.mark.parametrize(
    ("first", "second", "back"),
    [
        (LEAK, 'position: "gear-left"\nmode: "jammed"\n', False),
        (LEAK, 'position: "gear-left"\n', True),
        (LEAK, 'position: "gear-right"\nmode: "leaks-outward"\n', False),
        ('system: "gear"\nmode: "worn"\n', 'system: "32"\nmode: "worn"\n', True),
        ('system: "gear"\nmode: "worn"\n', 'system: "fuel"\nmode: "worn"\n', False),
        ('system: "gear"\n', 'system: "gear"\n', False),
        ("", "", False),
    ],
)
def test_the_same_system_position_and_mode(
    tmp_path: Path, first: str, second: str, back: bool
) -> None:
    assert states(snag_twice(tmp_path, first, second, 2))[-1].repeat is back


def test_the_fleets_own_thresholds(tmp_path: Path) -> None:
    text = "schema: 1\nthresholds: {refix_flights: 1, refix_days: 10}\n"
    fleet = snag_twice(tmp_path, LEAK, LEAK, 3, {"fleet.yaml": text})
    # Three flights are past one, but seven days are within ten.
    assert states(fleet)[-1].unheld is not None
    (fleet / "fleet.yaml").write_text("schema: 1\nthresholds: {refix_flights: 1}\n", "utf-8")
    assert states(fleet)[-1].unheld is None
    assert run_json("faults", fleet=fleet)["rules"]["basis"] == "owner, fleet.yaml"


def test_an_order_left_open_takes_the_fewer_flights(tmp_path: Path) -> None:
    diary = Diary()
    diary.files["aircraft/heron/aircraft.yaml"] = 'title: "Heron"\n'
    one = diary.snag("heron", flying_day(0, 0), "leg sinks", LEAK)
    diary.fix("heron", flying_day(0, 0), one, "new ring")
    # The second of two flights may have been before or after the snag at noon.
    diary.fly("heron", flying_day(0, 1), 2)
    diary.snag("heron", flying_day(0, 1), "leg sinks", LEAK)
    state = states(make_fleet(tmp_path, diary.files))[-1]
    assert state.unheld_says == "1 to 2 flights later"


def test_flights_that_reach_beyond_the_limit_leave_it_open(tmp_path: Path) -> None:
    """Four flights, and twenty on the day of the snag: the fix may not have held; not counted."""
    diary = Diary()
    diary.files["aircraft/heron/aircraft.yaml"] = 'title: "Heron"\n'
    one = diary.snag("heron", flying_day(0, 0), "leg sinks", LEAK)
    diary.fix("heron", flying_day(0, 0), one, "new ring")
    diary.fly("heron", flying_day(0, 1), 4)
    diary.fly("heron", flying_day(0, 2), 20)
    diary.snag("heron", flying_day(0, 2), "leg sinks", LEAK)
    fleet = make_fleet(tmp_path, diary.files)
    state = states(fleet)[-1]
    assert state.unheld_says == "5 to 24 flights later"
    assert state.unheld_open
    assert not state.repeat
    assert state.back_words.endswith('"new ring", may not have held')
    answer = run_json("faults", fleet=fleet)
    [group] = answer["groups"]
    fixes = {key: group["fixes"][key] for key in ("held", "back", "young", "may_not_have_held")}
    assert fixes == {"held": 0, "back": 0, "young": 0, "may_not_have_held": 1}
    assert [one["sure"] for one in answer["came_back"]] == [False]


def test_it_is_named_wherever_the_snag_is_shown(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "200")
    fleet = snag_twice(tmp_path, LEAK, LEAK, 2)
    words = 'back 2 flights later: the fix of 2024-04-06, "new ring", did not hold'
    for line in (["snag"], ["history", "heron"], ["faults"]):
        assert words in " ".join(run(*line, fleet=fleet).out.split()), line
    [_, last] = run_json("snag", "--all", fleet=fleet)["snags"][::-1]
    assert last["unheld_fix"].endswith("-fix-f000000002.yaml")


def test_the_acknowledgement_names_the_fix_and_the_third_closing_needs_a_cause(
    fleet: Path,
) -> None:
    line = ("snag", "heron", "buzz", "-p", "aileron-servo-left", "--mode", "noisy", "-s", "d")
    for n in range(2):
        id_ = run_json(*line, fleet=fleet)["id"]
        assert run("fix", id_, "gears greased", fleet=fleet).exit_code == 0, n
    noted = run(*line, fleet=fleet)
    assert 'it is back before the next flight: the fix of 2026-05-16, "gears greased"' in noted.out
    id_ = states(fleet)[-1].id
    refused = run("fix", id_, "gears greased", fleet=fleet)
    assert refused.exit_code == 4
    assert '--cause "…"' in refused.err
    closed = run("fix", id_, "gears greased", "--cause", "sand in the gears", fleet=fleet)
    assert closed.exit_code == 0
    assert "it was back before the next flight" in closed.out


def test_a_part_that_moved_takes_its_history_along(tmp_path: Path) -> None:
    diary = Diary()
    for name in ("heron", "kestrel"):
        diary.files[f"aircraft/{name}/aircraft.yaml"] = (
            f'title: "{name}"\npositions:\n  servo: {{kind: "servo", system: "controls"}}\n'
        )
    diary.files["parts/sv-1/part.yaml"] = 'kind: "servo"\n'
    put = 'part: "sv-1"\naircraft: "{}"\nposition: "servo"\n'
    diary.add("parts/sv-1", "install", flying_day(0, 0), put.format("heron"))
    noisy = 'position: "servo"\nmode: "noisy"\n'
    one = diary.snag("heron", flying_day(0, 1), "buzz", noisy)
    diary.fix("heron", flying_day(0, 1), one, "greased")
    diary.add("parts/sv-1", "install", flying_day(0, 2), put.format("kestrel"))
    diary.fly("kestrel", flying_day(0, 2) + timedelta(days=1), 2)
    diary.snag("kestrel", flying_day(0, 3), "buzz", noisy)
    state = states(make_fleet(tmp_path, diary.files))[-1]
    assert state.back_words.startswith("back 2 flights later")


def test_the_same_mode_on_a_sister_offers_a_notice(fleet: Path) -> None:
    kit = fleet / "kits" / "reed.yaml"
    kit.parent.mkdir(exist_ok=True)
    kit.write_text('title: "Reed"\n', "utf-8")
    for name in ("heron", "kestrel"):
        file = fleet / "aircraft" / name / "aircraft.yaml"
        file.write_text(file.read_text("utf-8") + 'kit: "reed"\n', "utf-8")
    line = ("--mode", "loose", "--system", "controls", "-s", "d")
    first = run("snag", "heron", "horn slack", *line, fleet=fleet)
    assert "--raise" not in first.out
    second = run("snag", "kestrel", "horn slack", *line, fleet=fleet)
    id_ = states(fleet)[-1].id
    assert "heron of the same kit (reed) had it too" in second.out
    assert f"tailsheaf notices --raise {id_[:4]}" in second.out
    raised = run("notices", "--raise", id_, "--title", "Horns", "--kind", "servo", fleet=fleet)
    assert raised.exit_code == 0, raised
    assert "--raise" not in run("snag", "heron", "horn slack", *line, fleet=fleet).out
