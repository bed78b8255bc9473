"""Records that were withdrawn as doubles of each other, so that none of them would be left."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey, warn
from register.ledger.rings import Ring
from register.records.bodies import Withdrawal
from register.records.events import Event
from register.trouble import Problem


def check_doubles_left(survey: Survey) -> Iterator[Problem]:
    """Doubles withdrawn with each other: which one counts, and the lines that end it."""
    for ring in survey.ledger.settled.rings:
        if ring.stays is not None:
            yield _ring_problem(survey, ring)
        elif len({by.machine for by in ring.withdrawals}) > 1:
            yield _lost_problem(survey, ring)


def _ring_problem(survey: Survey, ring: Ring) -> Problem:
    stays = ring.stays or ""
    own = [by for by in ring.withdrawals if _target(by) == stays]
    others = [by for by in ring.withdrawals if by not in own]
    names = _names(survey, ring)
    one = survey.short(survey.ledger.settled.originals[stays])
    if len(names) > 1:
        says = f"{_list(names)} were withdrawn as doubles of each other; {one} counts all the same"
    else:
        says = f"{one} was withdrawn as its own double; it counts all the same"
    mend = f"tailsheaf withdraw {survey.short(own[0])}   leaves {one}"
    for by in others:
        target = survey.ledger.settled.originals[_target(by)]
        mend += f";  tailsheaf withdraw {survey.short(by)}   leaves {survey.short(target)}"
    return warn(
        own[0].place("duplicate_of"),
        "doubles-in-ring",
        says,
        mend,
        (by.place("duplicate_of") for by in (*own[1:], *others)),
    )


def _lost_problem(survey: Survey, ring: Ring) -> Problem:
    """One machine called it a double of what another machine took out altogether."""
    by = next(by for by in ring.withdrawals if _twin(by))
    one = survey.short(survey.ledger.settled.originals[_target(by)])
    return warn(
        by.place("duplicate_of"),
        "doubles-in-ring",
        f"{one} was withdrawn as a double of another record, which another machine withdrew: "
        f"of {_list(_names(survey, ring))} neither counts",
        f"tailsheaf withdraw {survey.short(by)}   counts {one} again; if it was not flown, after "
        f'that:  tailsheaf withdraw {one} --reason "…"',
        (other.place("withdraws") for other in ring.withdrawals if other is not by),
    )


def _names(survey: Survey, ring: Ring) -> list[str]:
    """The records concerned, by short ids."""
    originals = survey.ledger.settled.originals
    return [survey.short(originals[id_]) for id_ in sorted({_target(x) for x in ring.withdrawals})]


def _target(by: Event) -> str:
    return by.body.withdraws if isinstance(by.body, Withdrawal) else ""


def _twin(by: Event) -> str | None:
    return by.body.duplicate_of if isinstance(by.body, Withdrawal) else None


def _list(names: list[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
