"""Answering a notice on one physical part, and finding which is meant."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from msgspec import Struct

from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, check_words
from register.entry.naming import match_name
from register.entry.snags import shorten
from register.entry.subjects import folder_of
from register.findings.notices import NoticeState, asked_lot, list_notices, view_states
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.notices import Notice
from register.text.nodes import Plain
from register.trouble import Exit, RegisterError

_MOST_NAMED = 6
_RESULT_WORDS = {
    "clear": "looked at, clear",
    "found": "FOUND, open until repaired",
    "repaired": "repaired",
    "not-applicable": "does not apply",
}


class Meant(Struct, frozen=True):
    """What the words mean: a notice, an aircraft or part, a position; None: not said."""

    notice: str | None
    subject: Subject | None
    position: str | None


def read_meant(ledger: Ledger, words: Sequence[str]) -> Meant:
    """A notice, an aircraft or part, and a position, in any order; beginnings will do.

    Raises RegisterError (USAGE) with the nearest names.
    """
    records = ledger.records
    names = {notice.name for notice, _ in list_notices(ledger)}
    subjects = {*records.aircraft, *records.parts}
    places = {name for aircraft in records.aircraft for name in ledger.positions(aircraft)}
    found: dict[str, str] = {}
    for word in (item.strip().lower() for item in words):
        rooms = {"notice": names, "subject": subjects, "position": places}
        free = {what: known for what, known in rooms.items() if what not in found}
        if not free:
            break
        what = next((what for what, known in free.items() if word in known), None)
        if what is None:
            every = {name for known in free.values() for name in known}
            meant = match_name(word, every, "notice, aircraft or part")
            what = next(what for what, known in free.items() if meant in known)
            word = meant
        found[what] = word
    name = found.get("subject")
    subject: Subject | None = None
    if name is not None:
        subject = ("aircraft", name) if name in records.aircraft else ("part", name)
    return Meant(found.get("notice"), subject, found.get("position"))


def plan_answer(clerk: Clerk, words: Sequence[str], result: str, text: str, stamp: Stamp) -> Plan:
    """What was found when a notice was looked into. Takes the time now.

    Refused (exit 4): "not applicable" without its reason. Recorded and pointed out: a clear
    look at what was found before and not repaired.
    """
    draft = Draft(clerk, stamp, takes_time=True)
    meant = read_meant(clerk.ledger, words)
    said = " ".join(text.split())
    if result == "not-applicable" and not said:
        raise RegisterError(
            "that a notice does not apply needs its reason",
            mend='--not-applicable "why: a later moulding, seen on the label"',
            exit_code=Exit.REFUSED,
            code="reason-none",
        )
    check_words(said, result.replace("-", " "))
    state = _find_state(clerk.ledger, meant, draft.when.day, result)
    lot = asked_lot(clerk.ledger, state.asked)
    body: dict[str, Plain] = {
        "notice": state.notice.name,
        "subject": clerk.ref(state.subject),
        "result": result,
        "text": said,
        # An answer that it does not apply was given of this lot, stated or not.
        "lot": lot or ("" if result == "not-applicable" else None),
    }
    after = _after_find(clerk, draft, state) if result == "repaired" else None
    draft.write(folder_of(clerk, state.subject), "notice-answer", body, after=after)
    draft.touch(state.subject, *(("aircraft", host) for host in state.asked.hosts))
    draft.say(
        f"notice {state.notice.name} on {_whose(state)}{draft.day}: {_RESULT_WORDS[result]}: {said}"
    )
    _point_out(clerk, draft, state, result)
    return draft.plan(f"Answer notice {state.notice.name} on {state.subject[1]}: {shorten(said)}")


def _whose(state: NoticeState) -> str:
    hosts = ", ".join(state.asked.hosts)
    return (
        f"{state.subject[1]} in {hosts}"
        if hosts and state.subject[0] == "part"
        else (state.subject[1])
    )


def _after_find(clerk: Clerk, draft: Draft, state: NoticeState) -> str | None:
    """A repair of the same day, without times, follows what was found."""
    if draft.stamp.after or state.state != "found":
        return None
    finds = [look.event for look in state.looks if look.result == "found"]
    same = [event for event in finds if event.moment.day == draft.when.day]
    if same and (draft.when.instant is None or same[-1].moment.instant is None):
        return same[-1].id
    return None


def _point_out(clerk: Clerk, draft: Draft, state: NoticeState, result: str) -> None:
    notice = state.notice
    if result == "clear" and state.state == "found":
        draft.warn(
            f"it was {state.says}; that stays open until a repair is recorded: "
            f'tailsheaf notices {notice.name} {state.subject[1]} --repaired "…"'
        )
    if result == "clear" and notice.action == "until-repaired" and not notice.every:
        draft.warn("this notice is ended by a repair only; it stays open")
    if result != "not-applicable" and state.asked.verdict.answer == "no":
        draft.warn(f"it was not asked: {state.asked.verdict.why}; recorded all the same")
    if result == "found":
        draft.say(f"note what was found as a snag too: tailsheaf snag {state.subject[1]} WORDS")


def _find_state(ledger: Ledger, meant: Meant, day: date, result: str) -> NoticeState:
    """The one part that is answered for."""
    if meant.notice is None:
        raise RegisterError(
            "which notice is answered?",
            mend="tailsheaf notices NOTICE PART --clear WORDS   (tailsheaf notices lists them)",
            code="notice-none",
        )
    states = [state for state in view_states(ledger, day) if state.notice.name == meant.notice]
    if not states:
        _refuse_trap(ledger, meant.notice)
    chosen = [state for state in states if _fits(state, meant)]
    if len(chosen) > 1:
        # What it does not apply to is meant only when named.
        chosen = [state for state in chosen if state.asked.verdict.answer != "no"] or chosen
    if len(chosen) > 1 and meant.subject is None and meant.position is None:
        opened = [state for state in chosen if state.is_open]
        chosen = opened if len(opened) == 1 else chosen
    if len(chosen) == 1:
        return chosen[0]
    option = f'--{result} "…"'
    listed = chosen or states
    lines = [f"{_whose(state)} ({state.state.replace('-', ' ')})" for state in listed]
    named = ", ".join(lines[:_MOST_NAMED])
    more = f" and {len(lines) - _MOST_NAMED} more" if len(lines) > _MOST_NAMED else ""
    what = "asks several" if chosen else "does not ask that; it asks"
    raise RegisterError(
        f"notice {meant.notice} {what}: {named}{more}",
        mend=f"tailsheaf notices {meant.notice} {listed[0].subject[1]} {option}",
        code="notice-part-ambiguous" if chosen else "notice-not-asked",
    )


def _fits(state: NoticeState, meant: Meant) -> bool:
    if meant.position is not None and state.asked.position != meant.position:
        return False
    if meant.subject is None or meant.subject == state.subject:
        return True
    return meant.subject[0] == "aircraft" and meant.subject[1] in state.asked.hosts


def _refuse_trap(ledger: Ledger, name: str) -> None:
    notices: dict[str, Notice] = {notice.name: notice for notice, _ in list_notices(ledger)}
    notice = notices[name]
    if notice.is_trap:
        raise RegisterError(
            f"{name} is a trap: it needs no answer, it is shown where work touches its place",
            mend=f"tailsheaf notices {name}   shows it",
            exit_code=Exit.REFUSED,
            code="trap-answered",
        )
    raise RegisterError(
        f"notice {name} asks nothing of this fleet: no aircraft is of kit {notice.owner}",
        mend=f"tailsheaf aircraft NAME --kit {notice.owner}",
        code="notice-not-asked",
    )
