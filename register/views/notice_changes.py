"""What an entry changed about notices: who is asked, who no longer is, and why."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from register.findings.notices import NoticeState, view_states
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.views.changes import limit_phrase

_Key = tuple[str, str | None, Subject]


def notice_changes(
    before: Ledger, after: Ledger, subjects: tuple[Subject, ...], day: date
) -> Iterator[str]:
    """A line for each part touched whose notice now stands otherwise."""
    old = {_key(state): state for state in view_states(before, day)}
    for state in view_states(after, day):
        if not _is_touched(state, subjects):
            continue
        words = _change(old.get(_key(state)), state)
        if words is not None:
            yield words


def _key(state: NoticeState) -> _Key:
    return state.notice.name, state.kit, state.subject


def _is_touched(state: NoticeState, subjects: tuple[Subject, ...]) -> bool:
    return state.subject in subjects or any(
        ("aircraft", host) in subjects for host in state.asked.hosts
    )


def _change(old: NoticeState | None, new: NoticeState) -> str | None:
    name = f"notice {new.notice.name} on {new.subject[1]}"
    hosts = ", ".join(new.asked.hosts)
    where = f" in {hosts}" if hosts and new.subject[0] == "part" else ""
    if old is None:
        if new.state == "not-applicable":
            return None
        return f"{name}{where}: {new.stands}"
    if len(new.looks) > len(old.looks):
        return f"{name}: {_after_look(new)}"
    if old.state == new.state:
        moved = old.asked.hosts != new.asked.hosts
        if not moved or not (new.is_open or new.limits):
            return None
        return f"{name} is{where or ' on no aircraft'} now: {new.says}"
    was = old.state.replace("-", " ")
    return f"{name}: was {was}, now {new.stands}"


def _after_look(new: NoticeState) -> str:
    """What comes of a look: when it is asked again, or that it is closed or stays open."""
    if new.state == "found":
        return "open until repaired"
    if new.is_open:
        return new.stands
    phrases = [found[1] for limit in new.limits if (found := limit_phrase(limit)) is not None]
    return f"asked again: {' or '.join(phrases)}" if phrases else "closed"
