"""The example's three seasons answer what they are there to answer, and nothing more than that.

One fault grows worse, one was ended by a fix, one only looks like a trend, one is of the whole
kit, and one reading will meet its limit in the season after the running one.
"""

from __future__ import annotations

import functools
import html
import re
from collections import Counter, defaultdict
from datetime import date, timedelta
from pathlib import Path
from typing import NamedTuple

from fleets import run
from register.desk import Fleet, read_records
from register.example.scenario import SHOWCASE
from register.faults.enough import TREND_EVENTS, enough_for_two_rates
from register.faults.service import gather_faults
from register.faults.trend import Trend, assess_trend
from register.faults.two_rates import compare_rates
from register.faults.watches import Watch
from register.findings.snags import SnagState
from register.records.bodies import Fix, Flights, Snag
from register.views.faults import FaultsAsked, view_faults
from register.views.season_tally import season_end
from register.views.trend import TrendLine, view_trend

EXAMPLE = Path(__file__).parents[2] / "example-fleet"
LEVEL = 0.05


class Fault(NamedTuple):
    """What tells one fault from another: where on which aircraft, and how it failed."""

    aircraft: str
    place: str
    mode: str


@functools.cache
def read_example() -> Fleet:
    return read_records(EXAMPLE)


@functools.cache
def served() -> tuple[SnagState, ...]:
    """Snags found in service."""
    return tuple(fault.state for fault in gather_faults(read_example().ledger) if fault.serves)


@functools.cache
def flown(aircraft: str) -> dict[date, int]:
    """Flights of each day, as they count."""
    days: dict[date, int] = defaultdict(int)
    ledger = read_example().ledger
    for event in ledger.about(("aircraft", aircraft)):
        body = event.body
        if isinstance(body, Flights) and body.count:
            days[event.moment.day] += int(body.count)
    return dict(days)


def flights_to(aircraft: str, day: date) -> int:
    """Flights since the register began, that day's included."""
    return sum(count for other, count in flown(aircraft).items() if other <= day)


@functools.cache
def faults() -> dict[Fault, tuple[SnagState, ...]]:
    """Everything found in service, by fault."""
    found: dict[Fault, list[SnagState]] = defaultdict(list)
    for state in served():
        body = state.event.body
        if isinstance(body, Snag) and body.mode and state.found_on:
            place = state.position or state.system or ""
            found[Fault(state.found_on, place, body.mode)].append(state)
    return {fault: tuple(states) for fault, states in found.items()}


def assess(fault: Fault) -> Trend:
    """Both trend tests over the flights of its aircraft; a day with several is one occasion."""
    length = flights_to(fault.aircraft, SHOWCASE)
    days = {state.first_day for state in faults()[fault]}
    ages = sorted(flights_to(fault.aircraft, day) for day in days)
    return assess_trend([Watch(0.0, float(length), tuple(map(float, ages)))])


def is_found(trend: Trend) -> bool:
    tests = (trend.laplace, trend.handbook)
    return all(not test.too_few and test.p is not None and test.p < LEVEL for test in tests)


def test_one_fault_grows_worse_and_both_tests_find_it() -> None:
    worse = {
        fault
        for fault in faults()
        if is_found(assess(fault)) and assess(fault).laplace.direction == 1
    }
    assert worse == {Fault("drover", "silencer", "loose")}
    (fault,) = worse
    assert len({state.first_day for state in faults()[fault]}) >= TREND_EVENTS
    assert assess(fault).handbook.direction == 1
    assert assess(fault).handbook.behind.events >= TREND_EVENTS


def test_one_fault_was_ended_by_a_fix() -> None:
    ended = []
    for fault, states in faults().items():
        last = max(state.first_day for state in states)
        fixes = [fix for state in states for fix in state.fixes if fix.moment.day >= last]
        if not fixes:
            continue
        day = max(fix.moment.day for fix in fixes)
        before = flights_to(fault.aircraft, day)
        after = flights_to(fault.aircraft, SHOWCASE) - before
        share = before / (before + after)
        if after and enough_for_two_rates(len(states), share):
            compared = compare_rates((0, float(after)), (len(states), float(before)))
            assert compared.conditional.p is not None
            if compared.conditional.p < LEVEL and not compared.conditional.too_few:
                ended.append((fault, len(states), before, after))
    assert [fault for fault, *_ in ended] == [Fault("heron", "nose-door", "out-of-adjustment")]
    _, count, before, after = ended[0]
    assert count >= 20
    assert 0.8 <= after / before <= 1.25


def test_its_last_fix_names_a_cause_and_was_not_the_first() -> None:
    states = faults()[Fault("heron", "nose-door", "out-of-adjustment")]
    fixes = {fix.id: fix for state in states for fix in state.fixes}
    last = max(fixes.values(), key=lambda fix: fix.moment.day)
    assert len(fixes) >= 5
    assert isinstance(last.body, Fix)
    assert last.body.cause


def test_one_fault_only_looks_like_a_trend() -> None:
    """Every finding in the second half of its watch, and still too few to tell."""
    seldom = []
    for fault, states in faults().items():
        length = flights_to(fault.aircraft, SHOWCASE)
        late = all(2 * flights_to(fault.aircraft, state.first_day) > length for state in states)
        if late and len(states) >= 4:
            seldom.append(fault)
            trend = assess(fault)
            assert trend.laplace.direction == 1
            assert trend.laplace.too_few
            assert trend.handbook.too_few
    assert seldom == [Fault("petrel", "belly-hatch", "loose")]


def test_one_fault_is_of_the_whole_kit() -> None:
    kits: dict[tuple[str, str, str], Counter[str]] = defaultdict(Counter)
    aircraft = read_example().records.aircraft
    for fault, states in faults().items():
        kit = aircraft[fault.aircraft].kit
        if kit is not None:
            kits[kit.name, fault.place, fault.mode][fault.aircraft] += len(states)
    shared = {key: counts for key, counts in kits.items() if len(counts) > 1}
    assert shared == {("longreach-90", "header-tank", "leaks-outward"): Counter(heron=3, kestrel=3)}


def test_one_reading_will_meet_its_limit_next_season() -> None:
    fleet = read_example()
    start = fleet.records.fleet.season_start
    first = season_end(SHOWCASE, start) + timedelta(days=1)
    end = season_end(first, start)
    lines = view_trend(fleet.ledger, SHOWCASE, fleet.unread).lines
    approaching = [line for line in lines if line.verdict == "approaching"]
    near = [line for line in approaching if is_day(line) and line.expected <= end]  # type: ignore[operator]
    assert [(line.key.subject[1], line.label) for line in near] == [("drover", "speed")]
    (line,) = near
    assert first <= line.expected <= end  # type: ignore[operator]
    assert line.drift is not None
    assert line.drift.test.behind.events >= 9
    past = [other.label for other in lines if other.verdict == "past"]
    assert past == ["aileron-left throw up, high chordal"]


def is_day(line: TrendLine) -> bool:
    return isinstance(line.expected, date)


def test_single_snags_say_how_they_failed_and_fixes_how_long_they_took() -> None:
    states = served()
    assert [state.text for state in states if not state.system] == []
    fixes = {fix.id: fix.body for state in states for fix in state.fixes}
    timed = [body for body in fixes.values() if isinstance(body, Fix) and body.minutes]
    assert len(timed) >= 40
    repeated = [body for body in fixes.values() if isinstance(body, Fix) and body.cause]
    assert len(repeated) >= 12


def test_the_answers_to_the_owner_find_exactly_these() -> None:
    """`faults` by place and mode, with what it concludes."""
    fleet = read_example()
    view = view_faults(fleet.ledger, SHOWCASE, fleet.unread, FaultsAsked())
    told = {
        (line.group.faults[0].aircraft, line.group.faults[0].position, line.conclusion.verdict)
        for line in view.lines
        if line.conclusion.verdict in ("rising", "ended", "looks-rising", "falling", "unsettled")
    }
    assert told == {
        ("drover", "silencer", "rising"),
        ("heron", "nose-door", "ended"),
        ("petrel", "belly-hatch", "looks-rising"),
    }
    assert [(one.kit, one.mode, one.aircraft) for one in view.shared] == [
        ("longreach-90", "leaks-outward", ("heron", "kestrel"))
    ]


def test_the_report_names_exactly_these_stories() -> None:
    from register.pages.blocks import Table
    from register.pages.report_document import build_report
    from register.pages.report_faults import VERDICT_TEXT
    from register.views.report import view_report

    view = view_report(read_example().ledger_at(SHOWCASE), SHOWCASE, ())
    chapters = {chapter.anchor: chapter for chapter in build_report(view)}
    assert list(chapters["faults"].findings) == [
        '"78 exhaust, loose" comes more often (drover silencer)',
        '"52 doors and hatches, out-of-adjustment" ended with a fix (heron nose-door)',
        '"52 doors and hatches, loose" looks like more and may be chance (petrel belly-hatch)',
        '"28 fuel, leaks-outward" is on several of a kit (heron, kestrel)',
    ]
    told = chapters["trends"].answer
    assert "1 to meet one by the end of the next season, 2028-02-29 (drover speed);" in told
    # Everywhere else nothing is claimed: no other row has a word for more, less or the end.
    assert [
        (row.cells[0], row.cells[-1].partition(".")[0])
        for part in chapters["faults"].parts
        if isinstance(part, Table)
        for row in part.rows
        if row.cells[-1].partition(".")[0] in {words for words, _ in VERDICT_TEXT.values() if words}
    ] == [
        ("52 doors and hatches, out-of-adjustment", "ended"),
        ("78 exhaust, loose", "MORE OFTEN"),
        ("52 doors and hatches, loose", "MAY BE CHANCE"),
    ]


def test_the_report_as_typed_and_as_a_page_tells_the_five(tmp_path: Path) -> None:
    """The words an owner reads, on the screen and on the page, from the real command."""
    fleet = tmp_path / "demo"
    assert run("init", str(fleet), "--example").exit_code == 0
    page = tmp_path / "report.html"
    done = run("report", "--html", str(page), "--on", SHOWCASE.isoformat(), fleet=fleet)
    assert done.exit_code == 0, done
    written = html.unescape(re.sub(r"<[^>]+>", " ", page.read_text("utf-8")))
    for text in (done.out, written):
        words = " ".join(text.split())
        assert '"78 exhaust, loose" comes more often (drover silencer)' in words
        assert '"52 doors and hatches, out-of-adjustment" ended with a fix (heron nose' in words
        assert '"52 doors and hatches, loose" looks like more and may be chance' in words
        assert '"28 fuel, leaks-outward" is on several of a kit (heron, kestrel)' in words
        assert "1 to meet one by the end of the next season" in words
        assert words.count("MORE OFTEN") == words.count("MAY BE CHANCE") == 1
