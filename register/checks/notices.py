"""Notices that ask of nobody by a slip, answers to what was never asked."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey, warn
from register.findings.notices import list_notices, view_states
from register.ledger.ledger import Ledger
from register.records.kinds import PART_KINDS
from register.records.notices import Notice
from register.records.programmes import CounterInterval
from register.records.scalars import nearest
from register.records.workshop_bodies import NoticeAnswer
from register.standing.asked import has_notices
from register.trouble import Problem


def check_notices_ask(survey: Survey) -> Iterator[Problem]:
    """A part kind, position, counter or event in a notice that nothing has."""
    if not has_notices(survey.ledger):
        return
    ledger = survey.ledger
    kinds = {*PART_KINDS, *ledger.records.fleet.part_kinds}
    kinds |= {part.kind for part in ledger.records.parts.values()}
    for notice, scope in list_notices(ledger):
        applies = notice.applies
        if applies.part_kind is not None and applies.part_kind not in kinds:
            guess = nearest(applies.part_kind, kinds)
            yield warn(
                notice.place,
                "part-kind-unknown",
                f"{notice.name}: no part is of kind {applies.part_kind!r}; each aircraft is asked "
                "as a whole",
                f"write  part_kind: {guess}" if guess else "write the kind that the parts have",
            )
        if applies.position is not None:
            known = {name for aircraft in scope.aircraft for name in ledger.positions(aircraft)}
            if known and applies.position not in known:
                guess = nearest(applies.position, known)
                yield warn(
                    notice.place,
                    "position-unknown",
                    f"{notice.name}: no aircraft of it has a position {applies.position!r}",
                    f"write  position: {guess}" if guess else "add it under positions:",
                )
        yield from _check_counters(ledger, notice)
        yield from _check_origin(survey, notice)


def _check_counters(ledger: Ledger, notice: Notice) -> Iterator[Problem]:
    counters = ledger.records.fleet.counters
    for interval in notice.every:
        if isinstance(interval, CounterInterval) and interval.counter not in counters:
            guess = nearest(interval.counter, counters)
            yield Problem(
                interval.place,
                "counter-unknown",
                f"the fleet has no counter {interval.counter!r}; {notice.name} cannot be told "
                "when it is due again",
                f'write  "{guess}"  in its place'
                if guess
                else f'add it to fleet.yaml under counters:  - "{interval.counter}"',
            )


def _check_origin(survey: Survey, notice: Notice) -> Iterator[Problem]:
    named = notice.raised_from
    if named is None or named in survey.ledger.settled.originals or survey.is_lost_id(named):
        return
    yield warn(
        notice.place,
        "event-unknown",
        f"raised_from: no event has the id {named!r}",
        "write the whole id of the record, or take the line out",
    )


def check_answers_asked(survey: Survey) -> Iterator[Problem]:
    """An answer to a notice that no kit has, or of what that notice does not ask."""
    ledger = survey.ledger
    answers = [event for event in ledger.events if isinstance(event.body, NoticeAnswer)]
    if not answers:
        return
    names = {notice.name for notice, _ in list_notices(ledger)}
    asked = {(state.notice.name, state.subject) for state in view_states(ledger, survey.today)}
    for event in answers:
        body = event.body
        if not isinstance(body, NoticeAnswer):
            continue
        subject = ledger.subject_of(body.subject)
        short = survey.short(event)
        if body.notice not in names:
            guess = nearest(body.notice, names)
            yield warn(
                event.place("notice"),
                "notice-unknown",
                f"notice: no kit has a notice {body.notice!r}; the answer counts for nothing",
                f"tailsheaf amend {short} notice={guess or 'NOTICE'}",
            )
        elif subject is not None and (body.notice, subject) not in asked:
            yield warn(
                event.place("subject"),
                "answer-idle",
                f"subject: notice {body.notice} does not ask {subject[1]}; the answer counts for "
                "nothing",
                f"tailsheaf notices {body.notice}   shows whom it asks; then  tailsheaf amend "
                f"{short} subject=PART",
            )


def check_notices_once(survey: Survey) -> Iterator[Problem]:
    """Two kits with a notice of one name: an answer on a part of both would count for both."""
    if not has_notices(survey.ledger):
        return
    seen: dict[str, Notice] = {}
    for notice, scope in list_notices(survey.ledger):
        if scope.kit is None:
            continue
        first = seen.setdefault(notice.name, notice)
        if first is not notice:
            yield Problem(
                notice.place,
                "notice-twice",
                f"{notice.name}: kit {first.owner} has a notice of that name too; an answer of a "
                "part that was in both counts for both",
                f"write another name, for example  {notice.name}-2:",
                "warning",
                related=(first.place,),
            )
