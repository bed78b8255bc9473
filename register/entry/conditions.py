"""The condition of a part, incidents, and laying up."""

from __future__ import annotations

import difflib
from collections.abc import Sequence

from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, check_words, count_words, join_names
from register.entry.naming import match_name
from register.entry.subjects import find_aircraft, find_part, find_subject, folder_of, hosts_of
from register.findings.conditions import view_condition
from register.ledger.ledger import Ledger
from register.records.bodies import CONDITIONS, Layup
from register.records.programmes import Task
from register.text.nodes import Plain
from register.trouble import RegisterError

_MOST_NAMED = 8


def plan_condition(
    clerk: Clerk, part: str, condition: str, stamp: Stamp, *, reason: str | None = None
) -> Plan:
    """The condition of a part from now on, and which aircraft that concerns."""
    draft = Draft(clerk, stamp)
    name = find_part(clerk, part)
    word = match_name(condition, CONDITIONS, "condition")
    before = view_condition(clerk.ledger, name)
    body: dict[str, Plain] = {
        "part": clerk.ref(("part", name)),
        "condition": word,
        "reason": reason,
    }
    draft.write(f"parts/{name}", "condition", body)
    hosts = hosts_of(clerk, name)
    draft.touch(("part", name), *(("aircraft", host) for host in hosts))
    why = f" ({reason})" if reason else ""
    if before.condition == word:
        draft.say(f"{name} is {word}, as before{why}")
    else:
        draft.say(f"{name} is {word} from now on, was {before.condition}{why}")
    if before.condition == "scrapped" and word != "scrapped":
        draft.warn(f"{name} was scrapped; a scrapped part seldom comes back")
    if hosts and word != "serviceable":
        verb = "uses" if len(hosts) == 1 else "use"
        assigned = clerk.ledger.records.parts[name].use == "assigned"
        draft.say(
            f"{join_names(hosts)} {verb} it" if assigned else f"it is fitted to {join_names(hosts)}"
        )
    return draft.plan(f"Call {name} {word}")


def plan_incident(clerk: Clerk, aircraft: str, what: Sequence[str], stamp: Stamp) -> Plan:
    """Something happened that opens a list of inspections, each with its own result."""
    draft = Draft(clerk, stamp, takes_time=False)
    name = find_aircraft(clerk, aircraft)
    words = "-".join(" ".join(what).lower().replace("_", "-").split())
    check_words(words, "incident")
    known = _incidents(clerk.ledger, name)
    starting = [item for item in known if item.startswith(words)]
    if words not in known and len(starting) == 1:
        words = starting[0]
    guess = next(iter(difflib.get_close_matches(words, sorted(known), n=1, cutoff=0.6)), None)
    if words not in known and guess is not None:
        raise RegisterError(
            f"no list of {name} opens on {words!r}",
            mend=f"did you mean {guess}?  known: {', '.join(sorted(known))}",
            code="incident-unknown",
        )
    draft.write(
        f"aircraft/{name}", "incident", {"aircraft": clerk.ref(("aircraft", name)), "what": words}
    )
    draft.touch(("aircraft", name))
    draft.say(f"{name}: {words.replace('-', ' ')}{draft.day}")
    _say_opened(draft, name, words, known)
    return draft.plan(f"Note an incident of {name}: {words.replace('-', ' ')}")


def _incidents(ledger: Ledger, aircraft: str) -> set[str]:
    return {
        word
        for task in ledger.tasks(aircraft)
        for start in task.starts
        if start.when == "incident"
        for word in start.what
    }


def _opens(task: Task, what: str) -> bool:
    return any(
        start.when == "incident" and (not start.what or what in start.what) for start in task.starts
    )


def _say_opened(draft: Draft, aircraft: str, what: str, known: set[str]) -> None:
    tasks = [task for task in draft.clerk.ledger.tasks(aircraft) if _opens(task, what)]
    if not tasks:
        listed = f" (lists open on: {', '.join(sorted(known))})" if known else ""
        draft.warn(f"no list of inspections opens on {what}{listed}")
        return
    lists = dict.fromkeys(task.list_name for task in tasks if task.list_name)
    ids = [task.id for task in tasks]
    more = f" and {len(ids) - _MOST_NAMED} more" if len(ids) > _MOST_NAMED else ""
    draft.say(f"it opens {count_words(len(ids), 'check')}: {', '.join(ids[:_MOST_NAMED])}{more}")
    if lists:
        draft.say(
            f"each has its own result: tailsheaf done {ids[0]} {aircraft}; "
            f"all of a list: tailsheaf done {next(iter(lists))} {aircraft}"
        )


def plan_layup(clerk: Clerk, subject: str, stamp: Stamp, *, end: bool = False) -> Plan:
    """An aircraft or part is laid up, or comes back."""
    draft = Draft(clerk, stamp)
    where = find_subject(clerk, subject)
    state = "end" if end else "begin"
    draft.write(folder_of(clerk, where), "layup", {"subject": clerk.ref(where), "state": state})
    draft.touch(where)
    before = [
        event.body.state
        for event in clerk.ledger.about(where)
        if isinstance(event.body, Layup) and event.moment.day <= draft.when.day
    ]
    last = before[-1] if before else None
    if end and last != "begin":
        draft.warn(f"{where[1]} was not recorded as laid up")
    if not end and last == "begin":
        draft.warn(f"{where[1]} was already recorded as laid up")
    draft.say(f"{where[1]} {'is back from layup' if end else 'is laid up'}{draft.day}")
    return draft.plan(f"{'Bring back' if end else 'Lay up'} {where[1]}")
