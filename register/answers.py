"""Answers that need several views and the names as typed: the desk's other half."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import TYPE_CHECKING

from msgspec.structs import replace

from register.desk import Fleet, find_aircraft, find_subject, find_unread
from register.entry.naming import match_name
from register.findings.cures import fold_cures
from register.findings.papers import covers
from register.findings.snags import fold_snags
from register.standing.asked import has_notices
from register.tasks.items import Item, view_items
from register.tasks.life import LIFE_TASK, view_life, view_lives
from register.trouble import RegisterError
from register.views.why import WhyCounter, WhyTask, view_why_counter, view_why_task
from register.views.why_finding import (
    WhyAircraft,
    WhyFinding,
    view_why_aircraft,
    view_why_cure,
    view_why_paper,
    view_why_snag,
)

if TYPE_CHECKING:
    from register.entry.evenings import WorklistWords
    from register.entry.throw_questions import ThrowsQuestion
    from register.entry.what_if import TryWords
    from register.findings.notices import NoticeState
    from register.ledger.counters import Subject
    from register.ledger.ledger import Ledger
    from register.records.spending import Money
    from register.views.balance import BalanceView
    from register.views.cures import CuresView
    from register.views.damage import DamageView
    from register.views.departures import DeparturesView
    from register.views.fasteners import FastenersView, FleetFasteners, JointView
    from register.views.fault_figures import CompareView, GroupFigures
    from register.views.faults import FaultsAsked, FaultsView
    from register.views.jobs import JobsView
    from register.views.leaks import LeaksView
    from register.views.linkage_changes import Shift, WhatIf
    from register.views.notices import NoticesView
    from register.views.part_life import PartLifeView
    from register.views.report import ReportView
    from register.views.season import SeasonView
    from register.views.stock import StockView
    from register.views.throws import ThrowsView
    from register.views.trend import Per, TrendView
    from register.views.worklist import WorklistView

Why = tuple[WhyTask, ...] | WhyCounter | WhyFinding | WhyAircraft
SHORTEST_ID = 4


def answer_why(fleet: Fleet, day: date, typed: str, what: str | None) -> Why:
    """The chain behind whatever is shown of an aircraft or part.

    `what` may be a task, a counter, a part of the aircraft, an open snag's id or a paper;
    without it, every reason of the aircraft.
    """
    subject = find_subject(fleet, typed)
    ledger = fleet.ledger_at(day)
    if what is None:
        if subject[0] == "aircraft":
            return view_why_aircraft(ledger, subject[1], day)
        what = LIFE_TASK
    items = _items_of(ledger, subject, day)
    word = what.strip().lower().replace("_", "-")
    found = _find_finding(ledger, subject, word, day)
    if found is not None:
        return found
    asked = _notices_about(ledger, subject, day)
    tasks = {item.task.id for item in items}
    counters = [name for name in ledger.listed_counters(subject) if name not in tasks]
    parts = {item.subject[1] for item in items if item.task.id == LIFE_TASK}
    name = match_name(word, {*tasks, *counters, *parts, *asked}, f"task or counter of {subject[1]}")
    if name in asked and name not in tasks:
        from register.views.why_notice import view_why_notice

        return view_why_notice(ledger, subject, asked[name], day)
    if name in counters:
        return view_why_counter(ledger, subject, name)
    chosen = [item for item in items if name in (item.task.id, *_life_of(item))]
    return tuple(view_why_task(ledger, item, day) for item in chosen)


def _notices_about(ledger: Ledger, subject: Subject, day: date) -> dict[str, list[NoticeState]]:
    if not has_notices(ledger):
        return {}
    from register.views.why_notice import notices_about

    return notices_about(ledger, subject, day)


def _life_of(item: Item) -> tuple[str, ...]:
    """The life of a part may be asked by the part's name."""
    return (item.subject[1],) if item.task.id == LIFE_TASK else ()


def _items_of(ledger: Ledger, subject: Subject, day: date) -> list[Item]:
    if subject[0] == "aircraft":
        return [*view_items(ledger, day, subject[1]), *view_lives(ledger, subject[1], day)]
    items = [item for item in view_items(ledger, day) if item.subject == subject]
    life = view_life(ledger, subject[1], day)
    return [*items, life] if life is not None else items


def _find_finding(ledger: Ledger, subject: Subject, word: str, day: date) -> WhyFinding | None:
    """A snag or cure by the beginning of its id, or a paper by its name."""
    if subject[0] == "aircraft" and word in ledger.records.papers:
        paper = ledger.records.papers[word]
        if covers(ledger, paper, subject[1]):
            return view_why_paper(ledger, paper, subject[1], day)
    if len(word) < SHORTEST_ID:
        return None
    snags = [
        snag
        for snag in fold_snags(ledger).values()
        if snag.id.startswith(word) and subject[1] in (snag.part, snag.found_on, *snag.hosts)
    ]
    if len(snags) == 1:
        return view_why_snag(ledger, snags[0], day)
    cures = [cure for cure in fold_cures(ledger) if cure.event.id.startswith(word)]
    mine = [cure for cure in cures if subject[1] in (cure.part, *cure.hosts)]
    return view_why_cure(ledger, mine[0], day) if len(mine) == 1 else None


def answer_fasteners(
    fleet: Fleet, day: date, typed: str | None, joint: str | None
) -> FleetFasteners | FastenersView | JointView:
    """What is screwed into all aircraft, one of them, or one joint of it."""
    from register.views.fasteners import view_fasteners, view_fleet_fasteners, view_joint
    from register.workshop.fasteners import fit_joints

    ledger = fleet.ledger_at(day)
    if typed is None:
        return view_fleet_fasteners(ledger, day, fleet.unread)
    aircraft = find_aircraft(fleet, typed)
    if joint is None:
        return view_fasteners(ledger, aircraft, day, fleet.unread)
    names = fit_joints(ledger, aircraft)[0]
    line = f"joints are written under  joints:  in aircraft/{aircraft}/aircraft.yaml"
    name = match_name(joint, names, f"joint of {aircraft}", add=line)
    return view_joint(ledger, aircraft, name, day, fleet.unread)


def answer_stock(fleet: Fleet, day: date, name: str | None) -> StockView:
    """The shelf, or one item of it."""
    from register.views.stock import view_stock

    return view_stock(fleet.ledger_at(day), day, name)


def answer_damage(
    fleet: Fleet, day: date, typed: str, snag: str | None = None, *, every: bool = False
) -> DamageView:
    """Where an aircraft is marked; or one of its marks, by the beginning of its snag's id."""
    from register.views.damage import choose_mark, view_damage

    name = find_aircraft(fleet, typed)
    ledger = fleet.around([("aircraft", name)]).ledger_at(day)
    unread = find_unread(fleet)
    if snag is None:
        return view_damage(ledger, name, day, unread, every=every)
    return choose_mark(view_damage(ledger, name, day, unread, every=True), snag)


def answer_balance(fleet: Fleet, day: date, typed: str, tried: TryWords) -> BalanceView:
    """The balance of an aircraft, and of what is tried on it."""
    from register.entry.what_if import read_changes, read_places
    from register.views.balance import view_balance

    name = find_aircraft(fleet, typed)
    ledger = fleet.ledger_at(day)
    changes = read_changes(ledger, name, tried) if not tried.is_empty else ()
    return view_balance(ledger, name, day, fleet.unread, changes, read_places(tried))


def answer_notices(fleet: Fleet, day: date, words: tuple[str, ...]) -> NoticesView:
    """What the notices ask: of all, of one aircraft or part, or one notice by its name."""
    from register.entry.notices import read_meant
    from register.views.notices import view_notices

    ledger = fleet.ledger_at(day)
    meant = read_meant(ledger, words)
    subject = meant.subject
    if subject is None and meant.position is not None:
        raise RegisterError(
            f"{meant.position} is a position; of which aircraft?",
            mend="tailsheaf notices AIRCRAFT   or  tailsheaf notices PART",
            code="usage",
        )
    return view_notices(ledger, day, fleet.unread, subject, meant.notice)


def answer_cures(
    fleet: Fleet, day: date, moment: datetime | None, typed: str | None, *, every: bool
) -> CuresView:
    """What is curing at a moment; without one, at the end of the day."""
    from register.views.cures import view_cures

    subject = find_subject(fleet, typed) if typed else None
    end = datetime.combine(day, time(23, 59), fleet.zone)
    at = (moment or end).astimezone(fleet.zone)
    return view_cures(fleet.ledger_at(day), at, fleet.unread, subject, every=every)


def answer_throws(
    fleet: Fleet, day: date, typed: str, asked: ThrowsQuestion
) -> ThrowsView | WhatIf | Shift:
    """Throws of an aircraft or one surface; a linkage tried otherwise; a shift in turns."""
    from register.entry.throw_questions import ask_throws

    name = find_aircraft(fleet, typed)
    return ask_throws(fleet.ledger_at(day), name, day, fleet.unread, asked)


def answer_leaks(fleet: Fleet, day: date, typed: str, system: str | None) -> LeaksView:
    """Leak-downs of the air systems of an aircraft, or of one of them."""
    from register.entry.leaks import find_system
    from register.records.as_built import read_section
    from register.views.leaks import view_leaks

    name = find_aircraft(fleet, typed)
    ledger = fleet.ledger_at(day)
    systems = read_section(ledger.records, name, "air")[0]
    chosen = find_system(systems, name, system) if system else None
    return view_leaks(ledger, name, day, fleet.unread, chosen)


def answer_jobs(fleet: Fleet, day: date, typed: str | None, *, every: bool) -> JobsView:
    """Open jobs of all aircraft or of one."""
    from register.views.jobs import view_jobs

    name = find_aircraft(fleet, typed) if typed else None
    return view_jobs(fleet.ledger_at(day), day, fleet.unread, name, every=every)


def answer_departures(fleet: Fleet, day: date, typed: str | None) -> DeparturesView:
    """Departures from the manual: of all, of one aircraft or part, or one by its id."""
    from register.findings.departures import fold_departures
    from register.views.departures import view_departures

    ledger = fleet.ledger_at(day)
    word = (typed or "").strip().lower()
    known = word in ledger.records.aircraft or word in ledger.records.parts
    if len(word) >= SHORTEST_ID and not known:
        for departure in fold_departures(ledger).values():
            if any(event.id.startswith(word) for event in departure.events):
                return view_departures(ledger, day, fleet.unread, None, departure.id)
    subject = find_subject(fleet, typed) if typed else None
    return view_departures(ledger, day, fleet.unread, subject)


def answer_worklist(
    fleet: Fleet, day: date, typed: str, words: WorklistWords, moment: datetime | None
) -> WorklistView:
    """Everything to do on an aircraft by a day, in an order that can be done."""
    from register.entry.evenings import read_asked
    from register.views.worklist import view_worklist

    name = find_aircraft(fleet, typed)
    asked = read_asked(words, day, moment, fleet.zone)
    return view_worklist(fleet.ledger_at(day), name, day, asked, fleet.unread)


def answer_trend(
    fleet: Fleet, day: date, typed: str | None, name: str | None, per: Per
) -> TrendView:
    """Readings that drift: of all, of an aircraft with its parts, or of one part."""
    from register.views.trend import view_trend

    subject = find_subject(fleet, typed) if typed else None
    part = fleet.around([subject]) if subject is not None else fleet
    return view_trend(part.ledger_at(day), day, find_unread(fleet), subject, name, per)


def answer_season(
    fleet: Fleet, day: date, year: int | None, typed: str | None, *, private: bool
) -> SeasonView:
    """A season beside the others; with `private`, with its money."""
    from register.views.season import view_season

    name = find_aircraft(fleet, typed) if typed else None
    money = read_private_money(fleet, day) if private else None
    return view_season(fleet.ledger_at(day), day, fleet.unread, year, name, money)


def read_private_money(fleet: Fleet, day: date) -> Money:
    """What private.yaml says of money spent by a day."""
    from register.records.spending import money_until, read_money
    from register.text.parsing import parse_text

    data = fleet.sources.get("private.yaml")
    money = read_money(None if data is None else parse_text("private.yaml", data).node)
    return money_until(money, day, fleet.records.aircraft)


def answer_report(
    fleet: Fleet, day: date, typed: str | None, year: int | None, *, private: bool
) -> ReportView:
    """All that looks back and on, of the fleet or of one aircraft."""
    from register.views.report import view_report

    name = find_aircraft(fleet, typed) if typed else None
    money = read_private_money(fleet, day) if private else None
    return view_report(fleet.ledger_at(day), day, fleet.unread, name, year, money)


def answer_faults(
    fleet: Fleet, day: date, typed: str | None, asked: FaultsAsked, *, figures: bool
) -> tuple[FaultsView, tuple[GroupFigures, ...]]:
    """What keeps breaking; with `figures`, the estimators of each group too."""
    from register.views.faults import view_faults

    ledger = fleet.ledger_at(day)
    if typed:
        asked = replace(asked, subject=find_subject(fleet, typed))
    view = view_faults(ledger, day, fleet.unread, asked)
    if not figures:
        return view, ()
    from register.views.fault_figures import view_figures

    return view, view_figures(ledger, view.lines)


def answer_compare(
    fleet: Fleet, day: date, asked: FaultsAsked, names: tuple[str, str]
) -> CompareView:
    """Two aircraft or two seasons beside each other, as typed."""
    from register.entry.fault_questions import read_sides
    from register.views.fault_figures import view_compare

    ledger = fleet.ledger_at(day)
    kind, sides = read_sides(ledger, names)
    return view_compare(ledger, asked, kind, sides)


def answer_part_life(fleet: Fleet, day: date, typed: str, counter: str | None) -> PartLifeView:
    """How long parts of a kind last."""
    from register.entry.fault_questions import read_life
    from register.views.part_life import view_part_life

    ledger = fleet.ledger_at(day)
    kind, chosen = read_life(ledger, typed, counter)
    return view_part_life(ledger, day, fleet.unread, kind, chosen)
