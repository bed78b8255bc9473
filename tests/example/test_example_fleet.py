"""The example fleet: the same bytes each time, no errors, and the stories it is there to show.

`pytest tests/example --accept` writes it anew after a change of its generator.
"""

from __future__ import annotations

import functools
import re
import shutil
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest
from test_words import find_forbidden

from fleets import read_files
from register.desk import Fleet, read_records
from register.example.scenario import SHOWCASE, build_example
from register.records.bodies import (
    Amendment,
    Charge,
    Condition,
    Deferral,
    Flights,
    Incident,
    Install,
    Layup,
    Reading,
    TaskDone,
    Withdrawal,
)
from register.records.events import Event
from register.standing.judge import judge_fleet
from register.storage.names import LONGEST_PATH, is_attachment, is_plain, is_plain_record
from register.tasks.counter_dues import fold_counter
from register.tasks.items import Dones

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "example-fleet"


@functools.cache
def read_example() -> Fleet:
    """The committed fleet, read once."""
    return read_records(EXAMPLE)


def written_by_hand() -> dict[str, bytes]:
    """Every file of the example but its picture."""
    return {path: data for path, data in build_example().items() if path.endswith(".yaml")}


def events(kind: str) -> list[Event]:
    """Events of one kind, as written, in order of their paths."""
    found = read_example().records.events
    return sorted((event for event in found if event.kind == kind), key=lambda item: item.path)


def test_the_committed_fleet_is_what_the_generator_makes(request: pytest.FixtureRequest) -> None:
    made = build_example()
    if request.config.getoption("--accept"):
        shutil.rmtree(EXAMPLE, ignore_errors=True)
        for path, data in made.items():
            target = EXAMPLE / path
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(data)
    held = read_files(EXAMPLE)
    assert sorted(held) == sorted(made)
    assert [path for path in made if held[path] != made[path]] == []


def test_it_is_the_same_in_another_process() -> None:
    script = (
        "import hashlib, register.example.scenario as s; files = s.build_example();"
        "print(hashlib.sha256(repr(sorted(files.items())).encode()).hexdigest())"
    )
    answers = {
        subprocess.run(
            [sys.executable, "-c", script],
            capture_output=True,
            text=True,
            check=True,
            cwd=ROOT,
            env={"PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    }
    assert len(answers) == 1


def test_it_is_read_without_an_error_and_with_one_warning_on_purpose() -> None:
    fleet = read_example()
    problems = (*fleet.problems, *fleet.ledger.problems)
    assert [problem for problem in problems if problem.level == "error"] == []
    assert [problem.code for problem in problems] == ["meter-disagrees"]
    assert fleet.unread == ()


def test_its_size_and_names() -> None:
    files = build_example()
    assert sum(len(data) for data in files.values()) < 1_500_000
    for path in files:
        *folders, name = path.split("/")
        assert len(path) <= LONGEST_PATH
        assert is_plain_record(name) or is_attachment(path)
        assert all(is_plain(folder) for folder in folders)


def test_five_aircraft_three_seasons() -> None:
    fleet = read_example()
    assert sorted(fleet.records.aircraft) == ["bulwark", "drover", "heron", "kestrel", "petrel"]
    assert 850 <= len(fleet.records.events) <= 1_050
    years = Counter(event.moment.day.year for event in events("flights"))
    assert set(years) == {2024, 2025, 2026}
    assert max(event.moment.day for event in fleet.records.events) < SHOWCASE


def test_ids_are_ten_letters_and_digits() -> None:
    ids = [event.id for event in read_example().records.events]
    assert len(set(ids)) == len(ids)
    shape = re.compile(r"[a-hjkmnp-tv-z][0-9a-hjkmnp-tv-z]{9}")
    assert [id_ for id_ in ids if not shape.fullmatch(id_)] == []


def test_each_standing_is_shown_on_the_showcase() -> None:
    days = {found.aircraft: found for found in judge_fleet(read_example().ledger, SHOWCASE)}
    assert {name: found.standing for name, found in days.items()} == {
        "bulwark": "not-in-service",
        "drover": "nothing-open",
        "heron": "limited",
        "kestrel": "grounded",
        "petrel": "due",
    }
    kestrel = [reason for reason in days["kestrel"].reasons if reason.standing == "grounded"]
    assert any("ran out 2026-05-12" in reason.says for reason in kestrel)
    assert [reason.name for reason in kestrel if reason.kind == "task"] == [
        "hard-landing-retract-travel"
    ]
    assert any(reason.kind == "life" and "cannot tell" in reason.says for reason in kestrel)
    assert "grass only" in days["heron"].reasons[0].says


def test_the_showcase_is_no_wall_of_open_items() -> None:
    for found in judge_fleet(read_example().ledger, SHOWCASE):
        if found.stage == "in-service":
            near = [item for item in found.items if item.state != "ok" and not item.is_day_check]
            assert len(near) <= 8, (found.aircraft, [item.task.id for item in near])


def test_parts_moved_between_aircraft() -> None:
    spells = read_example().ledger.places.spells
    assert [spell.aircraft for spell in spells["te-114"]] == ["heron", "kestrel", "heron"]
    assert [spell.aircraft for spell in spells["gear-r-2"]] == ["kestrel", "heron"]
    assert [spell.aircraft for spell in spells["gear-r-1"]] == ["heron", "kestrel"]


def test_a_servo_was_changed_between_two_flights() -> None:
    ledger = read_example().ledger
    put = next(event for event in events("install") if named(event, "sv-208"))
    assert put.after is not None
    assert put.after.flight == 2
    flown = ledger.orders.events[put.after.event]
    assert isinstance(flown.body, Flights)
    assert flown.body.count == 4
    before = ledger.at(put.moment.day.replace(day=put.moment.day.day - 1))
    for servo in ("sv-205", "sv-208"):
        gained = ledger.at(put.moment.day).value(("part", servo), "flights").low
        assert gained - before.value(("part", servo), "flights").low == 2


def named(event: Event, part: str) -> bool:
    """Whether an install is of this part."""
    return (
        isinstance(event.body, Install)
        and event.body.part is not None
        and (event.body.part.name == part)
    )


def test_packs_are_shared_and_charged() -> None:
    ledger = read_example().ledger
    assert ledger.places.assigned_to("rx-3") == ("heron", "kestrel")
    charged = [
        event
        for event in events("charge")
        if isinstance(event.body, Charge) and "rx-3" in {ref.name for ref in event.body.parts}
    ]
    assert len(charged) >= 40
    flown = {
        ref.name
        for event in events("flights")
        if isinstance(event.body, Flights) and event.body.uses
        for ref in event.body.uses
    }
    assert {"pk-11", "pk-12", "pk-13", "pk-14", "rx-3"} <= flown


def test_an_inspection_was_late_beyond_its_window() -> None:
    ledger = read_example().ledger
    task = next(task for task in ledger.tasks("heron") if task.id == "leak-down")
    dones = Dones(ledger).of(task, ("aircraft", "heron"), None)
    folded = fold_counter(ledger, ("aircraft", "heron"), task, "flights", dones, None)
    assert [late.beyond for late in folded.lateness if late.beyond > 0] == [2]


def test_winters_are_layups() -> None:
    states = Counter(
        (event.body.subject.name, event.body.state)
        for event in events("layup")
        if isinstance(event.body, Layup) and event.body.subject is not None
    )
    assert set(states.values()) == {2}
    assert {name for name, _ in states} == {"drover", "heron", "kestrel", "petrel"}


def test_hard_landings_are_answered_item_by_item() -> None:
    landed = {
        event.body.aircraft.name: event.moment.day
        for event in events("incident")
        if isinstance(event.body, Incident)
        and event.body.what == "hard-landing"
        and event.body.aircraft is not None
    }
    answers = {
        name: {
            event.body.task
            for event in events("task-done")
            if isinstance(event.body, TaskDone)
            and event.body.subject is not None
            and event.body.subject.name == name
            and event.body.task.startswith("hard-landing-")
            and event.moment.day >= day
        }
        for name, day in landed.items()
    }
    assert len(answers["heron"]) == 6
    assert answers["heron"] - answers["kestrel"] == {"hard-landing-retract-travel"}


def test_what_is_not_known_stays_unknown() -> None:
    ledger = read_example().ledger
    assert ledger.value(("aircraft", "drover"), "tows").high is None
    assert ledger.value(("part", "gear-l-5"), "gear-cycles").high is None
    assert ledger.value(("aircraft", "drover"), "flights").known == "estimated"
    assert ledger.value(("aircraft", "kestrel"), "flights").known == "known"


def test_packs_and_parts_out_of_use() -> None:
    states = {
        event.body.part.name: event.body.condition
        for event in events("condition")
        if isinstance(event.body, Condition) and event.body.part is not None
    }
    assert states["pk-11"] == "rejected"
    assert states["sv-205"] == "quarantined"
    assert states["prop-27"] == "scrapped"
    assert states["gear-r-1"] == "serviceable"


def test_mistakes_are_mended_by_new_events() -> None:
    ledger = read_example().ledger
    taken = [event.body for event in events("withdrawal")]
    assert [isinstance(body, Withdrawal) and body.duplicate_of is not None for body in taken] == [
        True
    ]
    assert len(ledger.settled.withdrawn) == 1
    mended = [event.body for event in events("amendment")]
    amended = {body.amends for body in mended if isinstance(body, Amendment)}
    assert amended == set(ledger.settled.amendments)
    assert len(mended) == 1
    assert [event.source for event in events("flights") if event.source != "at-the-time"] == [
        "from-paper"
    ]


def test_one_deferral_was_extended() -> None:
    extended = [
        event.body
        for event in events("deferral")
        if isinstance(event.body, Deferral) and event.body.extends
    ]
    assert [body.limit for body in extended] == [None]
    assert len(events("deferral")) == 5


def test_papers_one_near_its_end() -> None:
    papers = read_example().records.papers
    ends = {name: paper.spells[-1][1] for name, paper in papers.items()}
    near = [name for name, end in ends.items() if end and 0 <= (end - SHOWCASE).days <= 30]
    assert near == ["jet-permit"]
    assert all(end is not None and end > SHOWCASE for end in ends.values())


@pytest.mark.parametrize(
    ("task", "subject", "reading"),
    [
        ("surface-free-play", "heron", "play-mm"),
        ("leak-down", "heron", "drop-15-min"),
        ("pack-capacity", "rx-3", "resistance"),
    ],
)
def test_readings_creep(task: str, subject: str, reading: str) -> None:
    values = [
        item.value
        for event in sorted(events("task-done"), key=lambda event: event.moment.day)
        if isinstance(event.body, TaskDone) and event.body.task == task
        if event.body.subject is not None and event.body.subject.name == subject
        for item in event.body.readings
        if item.name == reading and item.value is not None
    ]
    third = len(values) // 3
    assert third >= 1
    assert sum(values[-third:]) > sum(values[:third])


def test_every_kind_of_story_is_there() -> None:
    kinds = {event.kind for event in read_example().records.events}
    assert {
        *("flights", "engine-run", "charge", "meter-reading", "task-done", "reading", "snag"),
        *("severity", "deferral", "fix", "install", "remove", "condition", "incident", "layup"),
        *("stage", "amendment", "withdrawal", "note", "modification"),
    } <= kinds
    measured = [
        event.body.measured for event in events("reading") if isinstance(event.body, Reading)
    ]
    assert all(item.value is not None for item in measured)


def test_dones_name_tasks_of_their_programmes() -> None:
    ledger = read_example().ledger
    tasks = {task.id for name in read_example().records.aircraft for task in ledger.tasks(name)}
    assert {
        event.body.task for event in events("task-done") if isinstance(event.body, TaskDone)
    } <= (tasks)


def test_readings_are_those_the_tasks_ask_for_and_inside_their_bounds() -> None:
    ledger = read_example().ledger
    wanted = {
        (task.id, reading.name): reading
        for name in read_example().records.aircraft
        for task in ledger.tasks(name)
        for reading in task.readings
    }
    taken = 0
    for event in events("task-done"):
        assert isinstance(event.body, TaskDone)
        for item in event.body.readings:
            bounds = wanted[event.body.task, item.name]
            assert item.unit == bounds.unit
            assert item.value is not None
            assert bounds.low is None or item.value >= bounds.low, event.path
            assert bounds.high is None or item.value <= bounds.high, event.path
            taken += 1
    assert taken > 200


def test_it_passes_no_judgement() -> None:
    texts = {path: data.decode() for path, data in written_by_hand().items()}
    assert [line for path, text in texts.items() for line in find_forbidden(path, text)] == []


def test_the_check_values_of_the_tests_are_not_used() -> None:
    text = "\n".join(data.decode() for data in written_by_hand().values()).lower()
    words = ("tu-07", "sv-22.", "sv-31.", "pk-04", "op-7k")
    assert [word for word in words if word in text] == []
