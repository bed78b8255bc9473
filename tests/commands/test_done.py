"""done: a task, its readings, a whole list."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest
from event_fleet import events_of, make_event_fleet

from fleets import read_files, run, run_json


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_event_fleet(tmp_path)


def test_a_reading_inside_its_bounds_passes(fleet: Path) -> None:
    result = run("done", "surface-play", "heron", "--reading", "play-mm=0.8mm", fleet=fleet)
    assert result.exit_code == 0, result
    body = events_of(fleet, "task-done")[0].body
    assert (body.task, body.result) == ("surface-play", "pass")
    assert [(item.name, float(item.value), item.unit) for item in body.readings] == [
        ("play-mm", 0.8, "mm")
    ]


def test_a_reading_out_of_bounds_is_a_fail_and_is_said(fleet: Path) -> None:
    result = run("done", "surf", "heron", "-r", "2.2", fleet=fleet)
    assert result.exit_code == 0
    assert "FAILED: play-mm 2.2 mm, above 1.6" in result.out
    body = events_of(fleet, "task-done")[0].body
    assert body.result == "fail"
    assert body.readings[0].unit == "mm"


def test_a_failed_check_without_a_reading(fleet: Path) -> None:
    run("done", "hinge-look", "heron", "--fail", fleet=fleet)
    assert events_of(fleet, "task-done")[0].body.result == "fail"


def test_a_first_reading_is_a_baseline_and_later_ones_are_held_to_it(fleet: Path) -> None:
    first = run("done", "pack-test", "pk-04", "-r", "resistance=12mohm", fleet=fleet)
    assert "baseline, not a pass against a limit" in first.said
    again = run("done", "pack-test", "pk-04", "-r", "resistance=17mohm", fleet=fleet)
    assert "pack-test on pk-04 done" in again.out
    worn = run("done", "pack-test", "pk-04", "-r", "resistance=18.5mohm", fleet=fleet)
    assert "above 18" in worn.out
    assert [event.body.result for event in events_of(fleet, "task-done")] == [
        "recorded",
        "pass",
        "fail",
    ]


def test_a_task_at_a_position_is_done_on_the_part_there(fleet: Path) -> None:
    result = run("done", "engine-service", "heron", fleet=fleet)
    assert "engine-service on tu-07 (heron, engine) done" in result.out
    event = events_of(fleet, "task-done")[0]
    assert event.body.subject.name == "tu-07"
    assert event.path.startswith("aircraft/heron/events/")


def test_a_pack_on_the_bench_keeps_its_own_records(fleet: Path) -> None:
    run("done", "pack-test", "pk-05", "-r", "capacity=92%", fleet=fleet)
    assert events_of(fleet, "task-done")[0].path.startswith("parts/pk-05/events/")


@pytest.mark.parametrize(
    ("line", "code", "words"),
    [
        (["surface-plai", "heron"], "task-of-heron-unknown", "surface-play"),
        (["surface-play", "heren"], "aircraft-or-part-unknown", "heron"),
        (["servo-gears", "heron"], "task-subject-many", "sv-22"),
        (["engine-service", "kestrel"], "task-subject-none", "install"),
        (["surface-play", "sv-22"], "task-subject-wrong", "heron"),
        (["surface-play", "heron", "-r", "play=0.8in"], "unit-wrong", "mm"),
        (["surface-play", "heron", "-r", "0,8"], "reading-wrong", "decimal point"),
        (["pack-test", "pk-04", "-r", "92"], "reading-nameless", "--reading capacity=92"),
        (["pack-test", "pk-04", "-r", "capasity=92"], "reading-of-pack-test-unknown", "capacity"),
        (["surface-play", "heron", "--each", "x=1"], "usage", "season"),
    ],
)
def test_a_wrong_line_writes_nothing_and_offers_the_nearest(
    fleet: Path, line: list[str], code: str, words: str
) -> None:
    before = read_files(fleet)
    answer = run_json("done", *line, fleet=fleet, exit_code=2)
    assert answer["error"]["code"] == code
    assert words in answer["error"]["mend"]
    assert read_files(fleet) == before


def test_a_whole_list_is_one_command_and_one_commit(fleet: Path) -> None:
    count = ["git", "rev-list", "--count", "HEAD"]
    before = subprocess.run(count, cwd=fleet, capture_output=True, check=True).stdout
    result = run("done", "season", "heron", "--each", "link-check=1.7", fleet=fleet)
    assert result.exit_code == 0, result
    assert "season on heron: 2 checks recorded" in result.out
    assert "link-check: thread 1.7 diameters" in result.out
    after = subprocess.run(count, cwd=fleet, capture_output=True, check=True).stdout
    assert int(after) == int(before) + 1
    assert {event.body.task for event in events_of(fleet, "task-done")} == {
        "hinge-look",
        "link-check",
    }


def test_a_list_names_what_got_no_reading_and_what_failed(fleet: Path) -> None:
    silent = run("done", "controls", "heron", "--each", "surf=0.5", fleet=fleet)
    assert "recorded without a reading: link-check" in silent.out
    failed = run("done", "controls", "heron", "--each", "link-check=1.2", fleet=fleet)
    assert "FAILED: link-check" in failed.out
    assert "below 1.5" in failed.out


def test_a_grounding_task_is_not_passed_by_a_list_without_its_reading(fleet: Path) -> None:
    line = ["done", "controls", "heron", "--each", "link-check=1.7", "--at", "2026-05-15"]
    result = run(*line, fleet=fleet)
    assert "controls on heron on 2026-05-15: 2 checks recorded, 1 left for its readings" in (
        result.said
    )
    assert "left out: surface-play wants play-mm (mm, at most 1.6): tailsheaf done" in result.said
    assert {event.body.task for event in events_of(fleet, "task-done")} == {
        "hinge-look",
        "link-check",
    }
    typed = result.out.partition("tailsheaf ")[2].splitlines()[0].replace("…", "0.8").split()
    assert typed == [
        *("done", "surface-play", "heron", "--at", "2026-05-15", "-r", "play-mm=0.8mm"),
    ]
    assert run(*typed, fleet=fleet).exit_code == 0
    assert len(events_of(fleet, "task-done")) == 3


def test_a_list_may_be_recorded_without_readings_when_that_is_said(fleet: Path) -> None:
    result = run("done", "controls", "heron", "--no-readings", fleet=fleet)
    assert "3 checks recorded\n" in result.out
    assert "recorded without a reading: surface-play, play-mm (mm, at most 1.6)" in result.out
    assert "recorded without a reading: link-check, thread (diameters, at least 1.5)" in result.out


def test_a_list_of_which_nothing_is_left_writes_nothing(fleet: Path) -> None:
    before = read_files(fleet)
    out = ["--except", "hinge", "--except", "link"]
    answer = run_json("done", "controls", "heron", *out, fleet=fleet, exit_code=2)
    assert answer["error"]["code"] == "readings-none"
    assert "surface-play wants play-mm" in answer["error"]["says"]
    assert read_files(fleet) == before
    failed = run("done", "controls", "heron", *out, "--fail", fleet=fleet)
    assert "FAILED: surface-play" in failed.out


def test_readings_of_which_some_are_missing_are_named(fleet: Path) -> None:
    result = run("done", "pack-test", "pk-04", "-r", "capacity=92%", fleet=fleet)
    assert "no reading was given of resistance (mohm)" in result.said
    assert events_of(fleet, "task-done")[0].body.result == "pass"
    none = run("done", "surface-play", "heron", fleet=fleet)
    assert "no reading was given of play-mm (mm, at most 1.6)" in none.said
    assert len(events_of(fleet, "task-done")) == 2


def test_a_list_without_what_was_not_done(fleet: Path) -> None:
    run("done", "hard-landing", "heron", "--except", "spar", fleet=fleet)
    assert [event.body.task for event in events_of(fleet, "task-done")] == ["gear-mounts"]


def test_the_two_words_may_stand_in_either_order(fleet: Path) -> None:
    result = run("done", "heron", "hinge-look", fleet=fleet)
    assert result.exit_code == 0, result
    assert events_of(fleet, "task-done")[0].body.task == "hinge-look"


def test_a_check_on_a_flying_day_says_that_its_order_is_open(fleet: Path) -> None:
    result = run("done", "surface-play", "heron", "-r", "1", "--at", "2026-05-09", fleet=fleet)
    id_ = events_of(fleet, "task-done")[0].id
    line = f"tailsheaf amend {id_[:4]} after=f1rs:N"
    assert line in result.out
    ordered = run("amend", id_[:4], "after=f1rs:2", fleet=fleet)
    assert ordered.exit_code == 0, ordered
    due = run_json("due", "heron", "--all", fleet=fleet)
    assert "surface-play" in str(due)
