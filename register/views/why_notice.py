"""Why a notice asks what it asks: whom it is about, what was answered, how long that holds."""

from __future__ import annotations

from datetime import date

from register.findings.notices import NoticeState, view_states
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.standing.judge import judge_aircraft
from register.tasks.reasons import Step
from register.views.why_finding import WhyFinding


def notices_about(ledger: Ledger, subject: Subject, day: date) -> dict[str, list[NoticeState]]:
    """The notices that concern an aircraft or part, by name; what is not asked as well."""
    found: dict[str, list[NoticeState]] = {}
    for state in view_states(ledger, day):
        touched = subject[1] in state.asked.hosts if subject[0] == "aircraft" else False
        if touched or state.subject == subject:
            found.setdefault(state.notice.name, []).append(state)
    return found


def view_why_notice(
    ledger: Ledger, subject: Subject, states: list[NoticeState], day: date
) -> WhyFinding:
    """The chain of one notice, on each part of one aircraft, or on one part."""
    notice = states[0].notice
    steps: list[Step] = []
    for state in states:
        words = f"{state.subject[1]}: {state.stands}"
        steps.append(Step(words))
        steps.extend(step for step in state.steps if step not in steps)
    steps.append(Step(f"basis: {notice.basis.text}"))
    hosts = dict.fromkeys(host for state in states for host in state.asked.hosts)
    names = {state.subject[1] for state in states}
    standing = tuple(
        f"{host}: {reason.standing.replace('-', ' ')}: {reason.says}"
        for host in hosts
        if subject[0] == "part" or host == subject[1]
        for reason in judge_aircraft(ledger, host, day).reasons
        if reason.kind == "notice" and reason.name == notice.name and reason.subject in names
    )
    open_now = any(state.is_open for state in states)
    return WhyFinding(
        f"notice {notice.name}: {notice.title}",
        "open" if open_now else "nothing open",
        tuple(steps),
        standing,
    )
