"""Flights, and work called done, before something had cured."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey, count_flights, number_of, warn
from register.findings.cures import (
    CureState,
    cures_holding,
    fold_cures,
    is_after_mixing,
    is_before_full,
    until_words,
)
from register.records.bodies import Fix, Install, TaskDone
from register.records.events import Event
from register.records.workshop_bodies import Job, Modification
from register.trouble import Problem


def check_flown_while_curing(survey: Survey) -> Iterator[Problem]:
    """Flights of an aircraft, or with a part, on which something had not cured yet."""
    ledger = survey.ledger
    for cure in fold_cures(ledger):
        flown = [event for event in _flights(survey, cure) if _is_early(survey, cure, event)]
        if not flown:
            continue
        first = flown[0]
        whose = cure.part or (cure.hosts[0] if cure.hosts else "it")
        yield warn(
            first.place("when"),
            "flown-while-curing",
            f"{whose} flew {number_of(count_flights(flown), 'flight')} from "
            f"{first.moment.day.isoformat()} with {cure.what} not cured {until_words(cure)}",
            f"look at that place before the next flight; if a time is wrong: tailsheaf amend "
            f"{survey.short(cure.event)} full_minutes=…   or  {survey.short(first)} when=…",
            (cure.place, *(event.place("when") for event in flown[1:])),
        )


def _flights(survey: Survey, cure: CureState) -> list[Event]:
    """By the part where there is one: it may have been elsewhere when it flew."""
    if cure.part is not None:
        return survey.flights_of(("part", cure.part))
    return [event for host in cure.hosts for event in survey.ledger.flights(host)]


def _is_early(survey: Survey, cure: CureState, event: Event) -> bool:
    return is_after_mixing(survey.ledger, cure, event) and is_before_full(
        cure, event.moment.day, event.moment.instant, event.typed
    )


def check_done_while_curing(survey: Survey) -> Iterator[Problem]:
    """A job, fix, modification or task called done while what it rests on had not cured."""
    ledger = survey.ledger
    if not fold_cures(ledger):
        return
    for event in ledger.events:
        for cure in _under(survey, event):
            # Without a full-load time the standing says so; here only what is certain counts.
            if cure.full_at is not None and _is_early(survey, cure, event):
                kind = event.kind.replace("-", " ")
                yield warn(
                    event.place("when"),
                    "done-while-curing",
                    f"this {kind} was called done with {cure.what} not cured {until_words(cure)}",
                    "it counts as done from then on only; if a time is wrong: tailsheaf amend "
                    f"{survey.short(event)} when=…",
                    (cure.place,),
                )


def _under(survey: Survey, event: Event) -> tuple[CureState, ...]:
    """Cures that the work rests on: held by its id, or at its very place."""
    body, ledger = event.body, survey.ledger
    ids: list[str] = []
    place: str | None = None
    if isinstance(body, Job) and body.state == "done":
        ids, place = [event.id, *([body.job] if body.job else [])], body.at
    elif isinstance(body, Modification) and body.state == "fixed" and body.follows:
        ids, place = [event.id, body.follows], body.at
    elif isinstance(body, Fix) and body.closes:
        # The fix itself is glued when it is recorded: only its snag can be closed too early.
        ids = list(body.snags)
    elif (isinstance(body, TaskDone) and body.result == "pass") or isinstance(body, Install):
        place = body.position
    else:
        return ()
    held = [cure for id_ in ids for cure in cures_holding(ledger, id_)]
    # Work on a part is kept with the aircraft it is fitted to.
    names = {name for kind, name in ledger.subjects_of(event) if kind == "aircraft"}
    names.add(event.path.removeprefix("aircraft/").partition("/")[0])
    if place is not None:
        held.extend(
            cure for cure in fold_cures(ledger) if cure.body.at == place and names & set(cure.hosts)
        )
    return tuple({cure.event.id: cure for cure in held}.values())
