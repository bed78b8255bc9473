"""Readings as series: one physical thing, its moves, its units, its limits, and work between."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from seasons_room.season_fleet import (
    FILES,
    HERON,
    KESTREL,
    Diary,
    make_season_fleet,
    reading,
)

from fleets import make_fleet
from register.desk import open_fleet
from register.views.trend import TrendLine, TrendView, view_trend
from register.views.trend_words import meets_words

DAY = date(2026, 5, 16)


def ask(fleet: Path) -> TrendView:
    """All series of a fleet."""
    return view_trend(open_fleet(fleet).ledger_at(DAY), DAY, ())


def one(view: TrendView, subject: str, name: str, unit: str | None = None) -> TrendLine:
    """The one series of that name."""
    found = [
        line
        for line in view.lines
        if line.key.subject[1] == subject
        and line.key.name == name
        and unit in (None, line.key.unit)
    ]
    assert len(found) == 1, [(line.key.subject, line.label, line.key.unit) for line in view.lines]
    return found[0]


def made(tmp_path: Path, diary: Diary) -> TrendView:
    """The series of a diary."""
    return ask(make_fleet(tmp_path, {**FILES, **diary.files}))


def test_a_reading_at_a_position_goes_with_the_part_to_the_next_aircraft(tmp_path: Path) -> None:
    diary = Diary()
    position = 'position: "aileron-servo-left"\n'
    diary.install("2025-03-01", "sv-1", HERON, "aileron-servo-left")
    diary.done("2025-04-01", "servo-lash", HERON, reading("lash", 0.1, "mm"), more=position)
    diary.note("remove", "2025-05-01", 'part: "sv-1"\n')
    diary.install("2025-05-02", "sv-2", HERON, "aileron-servo-left")
    diary.install("2025-05-03", "sv-1", KESTREL, "aileron-servo-left")
    diary.done("2025-06-01", "servo-lash", KESTREL, reading("lash", 0.2, "mm"), more=position)
    diary.done("2025-06-02", "servo-lash", HERON, reading("lash", 0.05, "mm"), more=position)
    # Taken by itself, and named by the part.
    diary.note("reading", "2025-07-01", 'subject: "sv-1"\nname: "lash"\nvalue: 0.3\nunit: "mm"\n')
    view = made(tmp_path, diary)
    line = one(view, "sv-1", "lash")
    assert [read.value for read in line.placed] == [0.1, 0.2, 0.3]
    # A move is no step: it is the same servo.
    assert {read.spell for read in line.placed} == {0}
    assert line.host == "kestrel"
    assert line.limit == 0.5
    assert [read.value for read in one(view, "sv-2", "lash").placed] == [0.05]


def test_two_units_of_one_name_are_named_and_never_mixed(tmp_path: Path) -> None:
    view = ask(make_season_fleet(tmp_path))
    percent, ampere = one(view, "pk-1", "capacity", "%"), one(view, "pk-1", "capacity", "mAh")
    assert len(percent.placed) == 5
    assert [read.value for read in ampere.placed] == [3400]
    assert percent.limit == 80
    # The limit is in the task's own unit, and none in the other.
    assert ampere.limit is None
    assert any("1 more in mAh" in remark for remark in percent.remarks)
    assert any("5 more in %" in remark for remark in ampere.remarks)


def test_a_fix_at_the_place_of_a_task_begins_a_new_spell(tmp_path: Path) -> None:
    line = one(ask(make_season_fleet(tmp_path)), "heron", "play")
    assert [mark.says for mark in line.series.steps] == ["fixed: New horn screws"]
    spells = {read.day: read.spell for read in line.placed}
    assert spells[date(2025, 5, 10)] == 0
    assert spells[date(2025, 6, 10)] == 1
    # Without the step the fall from 0.98 to 0.40 would hide the drift.
    assert line.verdict == "approaching"
    assert line.drift is not None
    assert line.drift.slope.value is not None
    assert line.drift.slope.value > 0


def test_after_work_nothing_is_known_until_it_is_read_again(tmp_path: Path) -> None:
    diary = Diary()
    for n in range(10):
        diary.done(
            f"2025-{n + 1:02d}-01", "surface-play", HERON, reading("play", 0.5 + n / 10, "mm")
        )
    diary.install("2026-01-05", "sv-1", HERON, "aileron-servo-left")
    line = one(made(tmp_path, diary), "heron", "play")
    assert line.verdict == "mended"
    assert line.crossing is None
    assert "nothing was read since" in line.says


def test_after_a_reading_that_was_out_the_next_work_is_a_step(tmp_path: Path) -> None:
    diary = Diary()
    diary.done("2025-04-01", "surface-play", HERON, reading("play", 1.7, "mm"), "fail")
    snag = diary.snag("2025-04-02", "Hinge worn", "grounding")
    diary.fix("2025-04-05", snag, "New hinge")
    diary.done("2025-04-06", "surface-play", HERON, reading("play", 0.4, "mm"))
    other = diary.snag("2025-05-02", "Paint chipped", "cosmetic")
    diary.fix("2025-05-03", other, "Painted")
    diary.done("2025-06-06", "surface-play", HERON, reading("play", 0.5, "mm"))
    line = one(made(tmp_path, diary), "heron", "play")
    assert [(read.value, read.spell, read.out) for read in line.placed] == [
        (1.7, 0, True),
        (0.4, 1, False),
        (0.5, 1, False),
    ]


def test_a_reading_beyond_stays_beyond_until_one_is_read_inside(tmp_path: Path) -> None:
    diary = Diary()
    diary.done("2025-04-01", "surface-play", HERON, reading("play", 1.7, "mm"), "fail")
    diary.install("2025-04-05", "sv-1", HERON, "aileron-servo-left")
    view = made(tmp_path / "before", diary)
    line = one(view, "heron", "play")
    assert line.verdict == "past"
    assert line in view.nearing
    assert line.says == (
        "the last reading is beyond the limit; work since, not read again: sv-1 fitted, 2025-04-05"
    )
    assert meets_words(line) == "beyond it when last read; work since, not read again"
    diary.done("2025-04-06", "surface-play", HERON, reading("play", 0.4, "mm"))
    assert one(made(tmp_path / "after", diary), "heron", "play").verdict != "past"


@pytest.mark.parametrize("where", ["", 'at: "engine"\n'])
def test_a_change_elsewhere_is_no_work_on_what_was_beyond(tmp_path: Path, where: str) -> None:
    diary = Diary()
    diary.done("2025-04-01", "surface-play", HERON, reading("play", 1.7, "mm"), "fail")
    body = f'aircraft: "{HERON}"\ntext: "Steel dowel for the ash one"\nstate: "trial"\n'
    diary.note("modification", "2025-04-05", body + where)
    line = one(made(tmp_path, diary), "heron", "play")
    assert line.verdict == "past"
    assert line.series.steps == ()
    assert line.says == "the last reading is beyond the limit"


def test_a_change_at_the_place_is_work_on_what_was_beyond(tmp_path: Path) -> None:
    diary = Diary()
    diary.done("2025-04-01", "surface-play", HERON, reading("play", 1.7, "mm"), "fail")
    body = f'aircraft: "{HERON}"\ntext: "Longer horn"\nstate: "fixed"\n'
    diary.note("modification", "2025-04-05", body + 'at: "aileron-servo-left"\n')
    line = one(made(tmp_path, diary), "heron", "play")
    assert [mark.says for mark in line.series.steps] == ["changed: Longer horn"]
    assert "work since, not read again: changed: Longer horn" in line.says


def test_a_limit_may_be_a_share_of_the_first_reading(tmp_path: Path) -> None:
    diary = Diary()
    diary.fly("2025-03-20", 1)
    for n, value in enumerate((10, 12, 16)):
        readings = reading("resistance", value, "mohm")
        diary.done(f"2025-0{n + 4}-01", "pack-test", "pk-1", readings)
    line = one(made(tmp_path, diary), "pk-1", "resistance")
    assert line.limit == 15
    assert line.verdict == "past"
    assert line.placed[-1].out


def test_a_part_that_was_with_no_aircraft_is_bounded_by_no_programme(tmp_path: Path) -> None:
    diary = Diary()
    diary.done("2025-04-01", "pack-test", "pk-1", reading("capacity", 70, "%"))
    line = one(made(tmp_path, diary), "pk-1", "capacity")
    assert line.limit is None
    assert line.verdict == "no-limit"


def test_a_value_not_known_is_counted_and_is_no_nought(tmp_path: Path) -> None:
    diary = Diary()
    diary.done("2025-04-01", "surface-play", HERON, reading("play", 0.4, "mm"))
    diary.done("2025-05-01", "surface-play", HERON, '{name: "play", unit: "mm"}')
    line = one(made(tmp_path, diary), "heron", "play")
    assert [read.value for read in line.placed] == [0.4]
    assert "1 without a value" in line.remarks


def test_throws_leaks_and_sizes_of_marks_are_series(tmp_path: Path) -> None:
    diary = Diary()
    for n, (up, sets_up) in enumerate(((12, True), (12.5, False), (12, True))):
        body = f'aircraft: "{HERON}"\nsurface: "flap"\nrate: "high"\nmeasure: "chordal"\n'
        more = f"throws: {{up: {up}}}\nsets_up: {str(sets_up).lower()}\n"
        diary.note("throws", f"2025-0{n + 4}-01", body + more)
    snag = diary.snag("2025-04-02", "Crack at the hatch", "monitor", "size: 6\n")
    diary.note(
        "reading", "2025-05-02",
        f'subject: "heron"\nsnag: "{snag}"\nname: "size"\nvalue: 8\nunit: "mm"\n',
    )  # fmt: skip
    for n, (first, last) in enumerate(((8, 7.8), (8, 7.4))):
        for clock, value in (("10:00", first), ("11:00", last)):
            begins = "true" if clock == "10:00" else "false"
            diary.note(
                "reading", f"2025-0{n + 4}-03T{clock}+00:00",
                f'subject: "heron"\nname: "gear-air"\nvalue: {value}\nunit: "bar"\n'
                f"temperature: 20\nbegins: {begins}\n",
            )  # fmt: skip
    air = 'air:\n  gear-air: {full: 8, loss: [{bar: 0.5, minutes: 60, basis: {kind: "maker"}}]}\n'
    files = {**FILES, **diary.files}
    files["aircraft/heron/aircraft.yaml"] = (
        'id: "hern000001"\ntitle: "Heron"\nprogrammes: ["jet.prgjet0001"]\n' + air
    )
    view = ask(make_fleet(tmp_path, files))
    throw = next(line for line in view.lines if line.key.source == "throws")
    assert [(read.value, read.spell) for read in throw.placed] == [(12, 0), (12.5, 0), (12, 1)]
    crack = next(line for line in view.lines if line.key.source == "damage")
    assert [read.value for read in crack.placed] == [6, 8]
    leak = next(line for line in view.lines if line.key.source == "leak")
    assert [round(read.value, 3) for read in leak.placed] == [0.2, 0.6]
    assert leak.limit == 0.5
    assert leak.verdict == "past"
