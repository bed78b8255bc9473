"""What holds of every fleet: nothing counted twice, nothing of the build in a rate, any order."""

from __future__ import annotations

import tempfile
from datetime import date, timedelta
from pathlib import Path

from faults_views.faulty_fleet import Diary
from hypothesis import given
from hypothesis import strategies as st

from fleets import make_fleet, run_json
from register.desk import open_fleet
from register.faults.enough import RATE_EVENTS, TREND_EVENTS
from register.faults.grouping import KEYS, By, Scope, Sorter
from register.faults.service import gather_faults
from register.views.faults import FaultsAsked, FaultsView, view_faults

FIRST = date(2025, 4, 1)
CRAFT = ("heron", "kestrel")
Snagged = tuple[str, int, str, str, str, bool]

snags = st.lists(
    st.tuples(
        st.sampled_from(CRAFT),
        st.integers(0, 40),
        st.sampled_from(("", 'system: "gear"\n', 'system: "engine"\n', 'system: "odd"\n')),
        st.sampled_from(("", 'mode: "worn"\n', 'mode: "own-word"\n')),
        st.sampled_from(("", 'found: "build"\n', 'found: "in-flight"\n')),
        st.booleans(),
    ),
    max_size=20,
)
flights = st.lists(
    st.tuples(st.sampled_from(CRAFT), st.integers(0, 40), st.integers(1, 5)), max_size=12
)


def write(folder: Path, flown: list[tuple[str, int, int]], noted: list[Snagged]) -> Path:
    diary = Diary()
    for name in CRAFT:
        diary.files[f"aircraft/{name}/aircraft.yaml"] = f'title: "{name}"\nkit: "reed"\n'
    diary.files["kits/reed.yaml"] = 'title: "Reed"\n'
    for name, day, count in flown:
        diary.fly(name, FIRST + timedelta(days=day), count)
    for name, day, system, mode, found, fixed in noted:
        when = FIRST + timedelta(days=day)
        id_ = diary.snag(name, when, "something", system + mode + found)
        if fixed:
            diary.fix(name, when, id_, "mended")
    return make_fleet(folder, diary.files)


def view(folder: Path, by: tuple[By, ...]) -> FaultsView:
    ledger = open_fleet(folder).ledger
    return view_faults(ledger, date(2026, 5, 16), (), FaultsAsked(by=by))


@given(flights, snags, st.lists(st.sampled_from(KEYS), min_size=1, max_size=3, unique=True))
def test_every_fault_is_in_one_group_and_shares_come_to_one(
    flown: list[tuple[str, int, int]], noted: list[Snagged], by: list[By]
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        told = view(write(Path(folder), flown, noted), tuple(by))
    ids = [fault.state.id for line in told.lines for fault in line.group.faults]
    served = [one for one in noted if "build" not in one[4]]
    assert len(ids) == len(set(ids)) == len(served) == told.total
    assert told.others == len(noted) - len(served)
    if ids:
        assert abs(sum(line.share for line in told.lines) - 1) < 1e-9
        assert abs(max(line.cumulative for line in told.lines) - 1) < 1e-9
    for line in told.lines:
        rate = line.conclusion.rate
        assert line.group.exposure >= 0
        if line.group.exposure and line.count:
            ends = (rate.low, rate.value, rate.high)
            known = [end for end in ends if end is not None]
            assert len(known) == 3
            assert known == sorted(known)
        assert sum(one.count for one in line.group.exposed) <= line.count
        assert all(0 < time <= watch.end for watch in line.group.watches for time in watch.times)


@given(flights, snags)
def test_too_few_says_no_trend_and_no_value(
    flown: list[tuple[str, int, int]], noted: list[Snagged]
) -> None:
    with tempfile.TemporaryDirectory() as folder:
        told = view(write(Path(folder), flown, noted), ("aircraft",))
    for line in told.lines:
        verdict = line.conclusion.verdict
        if line.count < TREND_EVENTS:
            assert verdict not in ("rising", "falling", "unsettled", "steady")
        if line.count < RATE_EVENTS and verdict not in ("no-rate", "ended"):
            assert "oo few to tell" in line.conclusion.says
        if verdict == "no-rate":
            assert not line.count or not line.group.exposure


@given(flights, snags)
def test_use_is_the_same_however_it_is_cut(
    flown: list[tuple[str, int, int]], noted: list[Snagged]
) -> None:
    """The use of the seasons, and of the aircraft, is that of the whole."""
    with tempfile.TemporaryDirectory() as folder:
        ledger = open_fleet(write(Path(folder), flown, noted)).ledger
        sorter = Sorter(ledger, gather_faults(ledger), Scope(CRAFT))
        whole = sorter.group(())
        apart = sorter.group(("aircraft",))
    for group in whole:
        total = sum(count for _, _, count in flown)
        assert group.exposure == sum(used for _, _, used in group.seasons) == total
        assert sum(count for _, count, _ in group.seasons) == len(group.faults)
    for group in apart:
        mine = sum(count for name, _, count in flown if name == group.key[0])
        assert group.exposure == mine


def test_files_in_another_order_change_no_answer(tmp_path: Path) -> None:
    noted: list[Snagged] = [
        ("heron", day, 'system: "gear"\n', 'mode: "worn"\n', "", day % 2 == 0)
        for day in range(1, 16)
    ]
    flown = [("heron", day, 2) for day in range(16)]
    one = write(tmp_path / "one", flown, noted)
    two = write(tmp_path / "two", flown, noted)
    for number, path in enumerate(sorted((two / "aircraft/heron/events").rglob("*.yaml"))):
        path.rename(path.with_name(f"{99 - number:02d}-{path.name}"))
    answers = [
        run_json("faults", "--figures", "--by", "system", fleet=fleet) for fleet in (one, two)
    ]
    for answer in answers:
        for group in answer["groups"]:
            group.pop("last")
            group["fixes"].pop("records")
        for back in answer["came_back"]:
            back.pop("fix")
    assert answers[0] == answers[1]
