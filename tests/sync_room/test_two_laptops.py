"""Two laptops, one day, no network: nothing is lost, and nothing is counted twice unseen."""

from __future__ import annotations

import json
import shutil
from datetime import datetime
from pathlib import Path

from sync_room.laptops import asks, begin, codes, exchange, tip_of, types

DAY = "2026-07-11"


def _log_apart(one: Path, two: Path) -> None:
    """Three flights on one, two on the other; one flight was typed on both."""
    for at, minutes in (("10:05", "8"), ("14:20", "7"), ("16:40", "6")):
        types(one, "fly", "heron", "--minutes", minutes, "--at", f"{DAY}T{at}")
    for at, minutes in (("14:21", "7"), ("17:30", "9")):
        types(two, "fly", "heron", "--minutes", minutes, "--at", f"{DAY}T{at}")


def _flights(root: Path) -> object:
    return asks(root, "aircraft", "heron")["counters"]["flights"]["low"]


def test_a_flight_typed_on_both_is_shown_and_marking_it_can_be_undone(tmp_path: Path) -> None:
    one, two = begin(tmp_path)
    _log_apart(one, two)
    exchange(one, two)
    assert tip_of(one) == tip_of(two)
    for root in (one, two):
        assert _flights(root) == 122
        assert codes(root).count("flights-twice") == 1
    found = next(item for item in asks(one, "check")["problems"] if item["code"] == "flights-twice")
    line = found["mend"].split("   ")[0].split()[1:]
    withdrawn = json.loads(types(one, *line, "--json").out)["id"]
    exchange(one, two)
    for root in (one, two):
        assert _flights(root) == 121
        assert codes(root).count("flights-twice") == 0
        assert len([*root.glob("aircraft/heron/events/*/*/*-flights-*.yaml")]) == 5
    types(two, "withdraw", withdrawn, "--reason", "both were flown")
    exchange(one, two)
    assert [_flights(root) for root in (one, two)] == [122, 122]


def test_whoever_syncs_first_the_answers_are_the_same(tmp_path: Path) -> None:
    one, two = begin(tmp_path)
    _log_apart(one, two)
    twins = [shutil.copytree(root, tmp_path / f"twin-{root.name}") for root in (one, two)]
    (tmp_path / "again").mkdir()
    for twin in twins:
        types(twin, "sync", "--remove", "stick" if twin is twins[0] else "box")
        types(twin, "sync", "--add", "again", str(tmp_path / "again"))
    exchange(one, two)
    exchange(*reversed(twins))
    assert len({tip_of(root) for root in (one, two, *twins)}) == 1
    asked = [
        [asks(root, *words) for words in (("due",), ("aircraft", "heron"), ("history", "heron"))]
        for root in (one, two, *twins)
    ]
    for answers in asked:
        # Which the other machine is depends on where one asks.
        answers[0].pop("last_heard")
    assert all(answer == asked[0] for answer in asked)


def test_both_log_in_the_same_second_and_clocks_go_wrong(tmp_path: Path) -> None:
    one, two = begin(tmp_path)
    same = datetime.fromisoformat(f"{DAY}T12:00:00+00:00")
    ids = []
    for root in (one, two):
        for minutes in ("6", "8"):
            said = types(root, "fly", "heron", "--minutes", minutes, "--json", now=same)
            ids.append(json.loads(said.out)["id"])
    late = same.replace(year=2028)
    ids.append(
        json.loads(types(two, "snag", "heron", "loose", "hatch", "--json", now=late).out)["id"]
    )
    early = same.replace(year=2024)
    ids.append(
        json.loads(types(two, "snag", "heron", "worn", "pin", "--json", now=early).out)["id"]
    )
    exchange(one, two)
    answers = [asks(root, "history", "heron") for root in (one, two)]
    assert answers[0] == answers[1]
    for id_ in ids:
        assert len([*one.rglob(f"*-{id_}.yaml")]) == len([*two.rglob(f"*-{id_}.yaml")]) == 1
    assert {"date-future", "clock-back"} <= set(codes(one))


def test_grounded_on_one_and_released_on_the_other_is_grounded(tmp_path: Path) -> None:
    one, two = begin(tmp_path)
    snag = asks(one, "snag", "heron", "hinge", "loose", "--severity", "monitor")["id"]
    exchange(one, two)
    types(one, "snag", snag, "--severity", "grounding")
    types(two, "snag", snag, "--severity", "cosmetic")
    types(two, "fix", snag, "tightened")
    exchange(one, two)
    for root in (one, two):
        rows = asks(root, "flyday")["aircraft"]
        assert [row["standing"] for row in rows] == ["grounded"]


def test_one_snag_amended_apart_is_said_by_the_sync_that_brings_it(tmp_path: Path) -> None:
    one, two = begin(tmp_path)
    types(one, "snag", "heron", "Wheel", "drags", "--severity", "deferrable")
    exchange(one, two)
    (path,) = one.glob("aircraft/heron/events/*/*/*-snag-*.yaml")
    id_ = path.stem.rpartition("-")[2]
    types(one, "amend", id_, "severity=limiting")
    types(two, "amend", id_, "severity=cosmetic")
    assert "clash" not in types(one, "sync").out
    said = " ".join(types(two, "sync").out.split())
    line = f"tailsheaf amend {id_[:4]} severity=…"
    assert f"1 clash: snag {id_[:4]} severity, limiting counts; {line}" in said
    told = json.loads(types(one, "sync", "--json").out)["amended_apart"]
    assert told == [
        {
            "id": id_,
            "short": id_[:4],
            "record": "snag",
            "key": "severity",
            "counted": "limiting",
            "mend": line,
        }
    ]
    # What is known already is not said again; what settles it is no clash.
    assert "clash" not in types(two, "sync").out
    types(two, "amend", id_, "severity=deferrable")
    types(two, "sync")
    assert "clash" not in types(one, "sync").out
    assert "amendment-clash" not in codes(one)


def test_two_that_withdrew_each_others_record_keep_one_and_are_told(tmp_path: Path) -> None:
    one, two = begin(tmp_path)
    for root in (one, two):
        types(root, "fly", "heron", "--minutes", "7", "--at", f"{DAY}T14:20")
    exchange(one, two)
    first, second = (path.stem[-10:] for path in sorted(one.rglob("*-flights-*.yaml")))
    types(one, "withdraw", first, "--duplicate-of", second)
    types(two, "withdraw", second, "--duplicate-of", first)
    exchange(one, two)
    for root in (one, two):
        assert _flights(root) == 118
    found = [item for item in asks(two, "check")["problems"] if item["code"] == "doubles-in-ring"]
    assert first[:4] in found[0]["says"]
    assert second[:4] in found[0]["says"]
    types(two, *found[0]["mend"].split("   ")[0].split()[1:])
    exchange(one, two)
    for root in (one, two):
        assert _flights(root) == 118
        assert "doubles-in-ring" not in codes(root)


def test_a_pair_is_told_by_sync_with_its_line_and_noted_wherever_it_counts(tmp_path: Path) -> None:
    one, two = begin(tmp_path)
    _log_apart(one, two)
    types(one, "sync")
    said = types(two, "sync").out
    assert "1 pair looks like one flight typed twice" in said
    (line,) = (row.partition(":  ")[2].split()[1:] for row in said.splitlines() if "--dup" in row)
    for words in (("fleet",), ("flyday",), ("due",), ("due", "heron")):
        assert "1 pair looks like one flight typed twice" in " ".join(
            types(two, *words).out.split()
        )
        assert asks(two, *words)["doubles"] == 1
    types(two, *line)
    for words in (("fleet",), ("flyday",), ("due",)):
        assert "typed twice" not in types(two, *words).out
        assert "doubles" not in asks(two, *words)


def test_edits_that_are_not_saved_are_named_by_sync(tmp_path: Path) -> None:
    one, _ = begin(tmp_path)
    assert asks(one, "sync")["unsaved"] == []
    path = one / "aircraft/heron/aircraft.yaml"
    path.write_text(path.read_text().replace('"grey"', '"blue"'))
    said = " ".join(types(one, "sync").out.split())
    assert "not saved, so it stayed on this machine: aircraft/heron/aircraft.yaml" in said
    assert "tailsheaf save then sync again" in said
    types(one, "save")
    assert "not saved" not in types(one, "sync").out


def test_doubles_stand_with_the_errors_before_what_is_many_and_alike(tmp_path: Path) -> None:
    one, two = begin(tmp_path)
    _log_apart(one, two)
    exchange(one, two)
    path = one / "aircraft/heron/aircraft.yaml"
    path.write_text(f"{path.read_text()}# not saved\n")
    codes_told = [line for line in types(one, "check").out.splitlines() if "warning: " in line]
    assert "[flights-twice]" in codes_told[0]
    assert len(codes_told) > 1
