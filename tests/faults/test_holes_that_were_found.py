"""Points at which a promise once broke: each stays a case of its own."""

from __future__ import annotations

from faults.conftest import AFTER_INTERRUPTED
from faults.fleet_at_work import Workplace
from faults.library import KINDS
from faults.many import Point, Trials
from faults.promises import run_clean

KIND = {kind.name: kind for kind in KINDS}


def ops_of(places: dict[str, Workplace], name: str) -> str:
    """The calls of a line when nothing goes wrong, one letter each."""
    return run_clean(places[name], places[name].lines[name])[0].ops


def numbers(ops: str, op: str) -> list[int]:
    """At which calls the letter stands, counted from one."""
    return [number for number, found in enumerate(ops, 1) if found == op]


def points(name: str, kinds: str, at: list[int]) -> list[Point]:
    """Points of one line; the kinds with a bar between."""
    return [Point(name, KIND[kind], number) for kind in kinds.split("|") for number in at]


def test_two_records_of_one_line_come_or_stay_away_together(
    places: dict[str, Workplace], trials: Trials
) -> None:
    """Killed, or refused with no way back, after the first of two had its name."""
    first, second = numbers(ops_of(places, "swap"), "l")[:2]
    tried = points("swap", "kill after|power cut", [first, second])
    tried += points("swap", "EROFS from then on|ENOSPC from then on", [second, second + 1])
    assert trials.run(tried).all_broken == []


def test_a_file_refused_but_not_taken_back_is_told_as_saved(
    places: dict[str, Workplace], trials: Trials
) -> None:
    """The folder cannot be flushed and the file not removed: typing it again would double it."""
    link = numbers(ops_of(places, "fly"), "l")[0]
    tried = points("fly", "EROFS from then on|ENOSPC from then on", [link + 1, link + 2])
    assert trials.run(tried).all_broken == []


def test_a_name_that_cannot_be_removed_at_once_does_not_stay(
    places: dict[str, Workplace], trials: Trials
) -> None:
    link = numbers(ops_of(places, "fly"), "l")[0]
    tried = points("fly", "ENOSPC once|EIO once", [link + 1, link + 2, link + 3])
    assert trials.run(tried).all_broken == []


def test_a_journal_that_cannot_be_closed_is_no_refusal(
    places: dict[str, Workplace], trials: Trials
) -> None:
    """The record is in history by then."""
    last = len(ops_of(places, "fly"))
    tried = points("fly", "EIO once|EROFS from then on", list(range(last - 3, last + 3)))
    assert trials.run(tried).all_broken == []


def test_a_lock_that_git_could_not_remove_stops_nobody(
    places: dict[str, Workplace], trials: Trials
) -> None:
    """The commit stands and git says so; its HEAD.lock stays."""
    tried: list[Point] = []
    for name in ("fly", AFTER_INTERRUPTED):
        last = len(ops_of(places, name))
        # Which call it is differs by a few from run to run: git makes folders as it needs them.
        tried += points(name, "EIO once", list(range(last - 16, last - 2)))
    assert trials.run(tried).all_broken == []


def test_a_lock_of_a_dead_save_stops_nobody(places: dict[str, Workplace], trials: Trials) -> None:
    """No file is written by it, so it once had no journal."""
    opened = numbers(ops_of(places, "save"), "o")[-6:]
    assert trials.run(points("save", "kill after", opened)).all_broken == []


def test_who_finishes_an_old_write_may_die_as_well(
    places: dict[str, Workplace], trials: Trials
) -> None:
    """The journal is a day old by then, and the new locks are not."""
    opened = numbers(ops_of(places, AFTER_INTERRUPTED), "o")
    tried = points(AFTER_INTERRUPTED, "kill after", opened[::2])
    assert trials.run(tried).all_broken == []


def test_without_hard_links_no_half_file_is_ever_seen(
    places: dict[str, Workplace], trials: Trials
) -> None:
    link = numbers(ops_of(places, "fly"), "l")[0]
    tried = points("fly", "no hard links, kill", list(range(link - 1, link + 6)))
    assert trials.run(tried).all_broken == []
