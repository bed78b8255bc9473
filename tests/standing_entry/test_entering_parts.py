"""`parts`: entering, changing, showing; counters with three clocks, life limits."""

from __future__ import annotations

from pathlib import Path

import pytest

from fleets import Result, read_files, run, run_json


def ok(*args: str, fleet: Path) -> Result:
    result = run(*args, fleet=fleet)
    assert result.exit_code == 0, result
    return result


@pytest.mark.parametrize(
    ("typed", "low", "high", "known"),
    [
        ("18.3 h", 1098, 1098, "known"),
        ("18.3h~", 1098, 1098, "estimated"),
        ("1098", 1098, 1098, "known"),
        ("1098 min", 1098, 1098, "known"),
        ("18:18~", 1098, 1098, "estimated"),
        ("?", 0, None, "unknown"),
    ],
)
def test_opening_minutes_in_every_form(
    fleet: Path, typed: str, low: int, high: int | None, known: str
) -> None:
    opening = f"engine-minutes={typed}"
    ok("parts", "tb-1", "--add", "--kind", "turbine", "--opening", opening, fleet=fleet)
    shown = run_json("parts", "tb-1", fleet=fleet)
    since_new = shown["counters"]["engine-minutes"]["since_new"]
    assert since_new == {"low": low, "high": high, "known": known}
    assert shown["counters"]["engine-minutes"]["since_installed"] is None
    assert shown["opening_as_of"] == "2026-05-16"


def test_a_part_with_a_past_has_no_counter_at_zero_unsaid(fleet: Path) -> None:
    result = ok(
        "parts",
        "tb-1",
        "--add",
        "--kind",
        "turbine",
        "--opening",
        "engine-minutes=18h",
        fleet=fleet,
    )
    assert "not known: flights, minutes, engine-starts" in result.out
    counters = run_json("parts", "tb-1", fleet=fleet)["counters"]
    assert counters["flights"]["since_new"] == {"low": 0, "high": None, "known": "unknown"}


def test_a_new_part_starts_at_zero_and_that_is_said(fleet: Path) -> None:
    result = ok("parts", "pack-1", "--add", "--kind", "battery", fleet=fleet)
    assert "its counters start at zero (--opening charges=N~)" in result.said
    shown = run_json("parts", "pack-1", fleet=fleet)
    assert shown["use"] == "assigned"
    assert shown["counters"]["charges"]["since_new"] == {"low": 0, "high": 0, "known": "known"}
    ok("parts", "sv-1", "--add", "--kind", "servo", fleet=fleet)
    assert run_json("parts", "sv-1", fleet=fleet)["use"] == "installed"


def test_life_limits_by_counter_months_and_date(fleet: Path) -> None:
    ok(
        "parts",
        "tb-1",
        "--add",
        "--kind",
        "turbine",
        "--opening",
        "engine-minutes=24h",
        "--life",
        "engine-minutes=25h",
        "--life",
        "months=36",
        "--life",
        "date=2027-05-01",
        "--basis",
        "maker: handbook page 12",
        "--made",
        "2024-01-10",
        fleet=fleet,
    )
    shown = run_json("parts", "tb-1", fleet=fleet)
    engine, months, until = shown["life"]
    assert (engine["limit"], engine["remaining"], engine["state"]) == (1500, 60, "soon")
    assert months["date"] == "2027-01-10"
    assert until["date"] == "2027-05-01"
    assert engine["basis"] == {"kind": "maker", "reference": "handbook page 12"}
    out = ok("parts", "tb-1", fleet=fleet).out
    assert "25:00 h engine minutes" in out
    assert "soon 1:00 h left" in out
    assert "maker: handbook page 12" in out


def test_a_life_given_again_replaces_the_first(fleet: Path) -> None:
    ok("parts", "sv-1", "--add", "--kind", "servo", "--life", "flights=300", fleet=fleet)
    ok("parts", "sv-1", "--life", "flights=400", "--life", "months=60", fleet=fleet)
    life = run_json("parts", "sv-1", fleet=fleet)["life"]
    assert [line["limit"] or line["months"] for line in life] == [400, 60]
    assert life[0]["basis"]["kind"] == "owner"


@pytest.mark.parametrize(
    "life",
    ["flights=300+20", "flights=300±20", "flights=300-10", "flights=300 late 10", "months=36+1"],
)
def test_a_life_takes_no_window(fleet: Path, life: str) -> None:
    before = read_files(fleet)
    result = run("parts", "sv-1", "--add", "--kind", "servo", "--life", life, fleet=fleet)
    assert result.exit_code == 2
    assert "a life limit takes no window" in result.err
    assert f"--life {life[: life.index('=')]}=3" in result.err
    assert read_files(fleet) == before


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ([], "--kind turbine"),
        (["--kind", "turbin"], "turbine"),
        (["--kind", "servo", "--use", "lent"], "installed"),
        (["--kind", "servo", "--life", "flights=0"], "more than nothing"),
        (["--kind", "servo", "--life", "months=0"], "months=36"),
        (["--kind", "servo", "--life", "flight"], "date=2027-05-01"),
        (["--kind", "servo", "--life", "date=soon"], "year-month-day"),
        (["--kind", "servo", "--opening", "engine-mins=3"], "engine-minutes"),
        (["--kind", "servo", "--made", "2030-01-01"], "still to come"),
        (["--kind", "servo", "--condition", "broken"], "serviceable"),
        (["--kind", "servo", "--side", "lefft"], "left"),
    ],
)
def test_wrong_words_are_refused_with_what_to_type(
    fleet: Path, options: list[str], says: str
) -> None:
    before = read_files(fleet)
    result = run("parts", "sv-1", "--add", *options, fleet=fleet)
    assert result.exit_code == 2, result
    assert says in result.err
    assert read_files(fleet) == before


def test_a_new_part_is_said_to_be_new(fleet: Path) -> None:
    ok("parts", "servo-3", "--add", "--kind", "servo", fleet=fleet)
    result = run("parts", "servo-4", "--kind", "servo", fleet=fleet)
    assert result.exit_code == 2
    assert "did you mean servo-3?" in result.err
    assert "tailsheaf parts servo-4 --add --kind servo" in result.err
    assert run("parts", "servo-3", "--add", "--kind", "servo", fleet=fleet).exit_code == 4


def test_a_kind_of_ones_own_is_taken_and_noted(fleet: Path) -> None:
    result = ok("parts", "smoke-1", "--add", "--kind", "smoke-pump", fleet=fleet)
    assert "smoke-pump is a kind of your own" in result.out


def test_another_condition_is_an_event(fleet: Path) -> None:
    ok("parts", "sv-1", "--add", "--kind", "servo", fleet=fleet)
    file = (fleet / "parts/sv-1/part.yaml").read_bytes()
    ok("parts", "sv-1", "--condition", "quar", "--at", "2026-05-15", fleet=fleet)
    assert (fleet / "parts/sv-1/part.yaml").read_bytes() == file
    assert run_json("parts", "sv-1", fleet=fleet)["condition"] == "quarantined"
    assert "QUARANTINED" in ok("parts", fleet=fleet).out


MOVED = {
    "aircraft/heron/aircraft.yaml": 'id: "hrn4567890"\npositions: {bay: {kind: servo}}\n',
    "parts/sv-1/part.yaml": (
        'id: "srv4567890"\nkind: "servo"\nopening: {counters: {flights: {value: 20}}}\n'
    ),
    "a": 'record: install\nid: aaaa111111\nwhen: "2026-05-01"\npart: sv-1\naircraft: heron\n'
    "position: bay\n",
    "b": 'record: flights\nid: bbbb111111\nwhen: "2026-05-02"\naircraft: heron\ncount: 4\n'
    "minutes: 20\n",
    "c": 'record: remove\nid: cccc111111\nwhen: "2026-05-03"\npart: sv-1\n',
    "d": 'record: install\nid: dddd111111\nwhen: "2026-05-04"\npart: sv-1\naircraft: heron\n'
    "position: bay\n",
    "e": 'record: flights\nid: eeee111111\nwhen: "2026-05-05"\naircraft: heron\ncount: 3\n',
}


def test_three_clocks_and_every_stay(fleet: Path) -> None:
    for name, text in MOVED.items():
        events = "aircraft/heron/events/2026/05/2026-05-0"
        path = fleet / (name if "/" in name else f"{events}1-x-{name * 10}.yaml")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode())
    shown = run_json("parts", "sv-1", fleet=fleet)
    flights = shown["counters"]["flights"]
    assert flights["since_new"] == {"low": 27, "high": 27, "known": "known"}
    assert flights["since_overhaul"] == {"low": 27, "high": 27, "known": "known"}
    assert flights["since_installed"] == {"low": 3, "high": 3, "known": "known"}
    minutes = shown["counters"]["minutes"]
    assert minutes["since_installed"]["high"] is None
    stays = [(s["aircraft"], s["position"], s["from"], s["to"]) for s in shown["installations"]]
    assert stays == [
        ("heron", "bay", "2026-05-01", "2026-05-03"),
        ("heron", "bay", "2026-05-04", None),
    ]
    assert shown["installations"][0]["record"].endswith("x-aaaaaaaaaa.yaml")
    earlier = run_json("parts", "sv-1", "--on", "2026-05-03", fleet=fleet)
    assert earlier["where"] == []
    assert earlier["counters"]["flights"]["since_installed"] is None
    listed = run_json("parts", fleet=fleet)["parts"]
    assert listed[0]["where"] == ["heron bay"]
    assert "still there" in ok("parts", "sv-1", fleet=fleet).out
