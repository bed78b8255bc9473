"""Dates and clocks: what lies in the future, and clocks that cannot have been right."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise

from register.checks.survey import Survey, warn
from register.records.events import Event
from register.trouble import Problem

#: A clock may be set back by so much without a word: it is being kept right.
CLOCK_SLACK = timedelta(minutes=2)


def check_not_future(survey: Survey) -> Iterator[Problem]:
    """A fact dated after today."""
    for event in survey.ledger.events:
        if event.moment.day > survey.today:
            typed = event.typed.date() if event.typed else survey.today
            likely = min(typed, survey.today).isoformat()
            yield warn(
                event.place("when"),
                "date-future",
                f"when: {event.moment.day.isoformat()} is still to come",
                f"tailsheaf amend {survey.short(event)} when={likely}",
            )


def check_typed_after(survey: Survey) -> Iterator[Problem]:
    """Written down more than a day before it happened: one of the two dates is wrong."""
    for event in survey.ledger.events:
        if event.typed is None:
            continue
        instant = event.moment.instant
        if instant is not None:
            early = instant - event.typed > timedelta(days=1)
        else:
            early = (event.moment.day - event.typed.date()).days > 1
        if early:
            typed = event.typed.date().isoformat()
            yield warn(
                event.place("when"),
                "typed-early",
                f"when: {event.moment.day.isoformat()} is after {typed}, when it was written down",
                f"tailsheaf amend {survey.short(event)} when={typed}",
                (event.place("typed"),),
            )


def check_clock_forward(survey: Survey) -> Iterator[Problem]:
    """Entries of one machine in their order, written down at times that go backwards."""
    entries: dict[str, list[Event]] = defaultdict(list)
    for event in survey.ledger.settled.originals.values():
        if event.machine and event.seq and event.typed is not None:
            entries[event.machine].append(event)
    for machine in sorted(entries):
        ordered = sorted(entries[machine], key=lambda event: (event.seq, event.id))
        for one, two in pairwise(ordered):
            if one.typed is None or two.typed is None or one.seq == two.seq:
                continue
            if one.typed - two.typed > CLOCK_SLACK:
                yield warn(
                    two.place("typed"),
                    "clock-back",
                    f"typed: written after {survey.short(one)} on the same machine, "
                    "and dated before it; one of the two times is wrong",
                    "set that machine's clock; if the day is wrong:  "
                    f"tailsheaf amend {survey.short(two)} when=DATE",
                    (one.place("typed"),),
                )
