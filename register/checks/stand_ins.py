"""Use elsewhere that is told by other records too, but not all of it."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey, warn
from register.records.owner_bodies import UsageElsewhere
from register.trouble import Problem


def check_usage_told_once(survey: Survey) -> Iterator[Problem]:
    """A usage elsewhere of whose records some are here and some are not."""
    ledger = survey.ledger
    for event in ledger.events:
        if not isinstance(event.body, UsageElsewhere):
            continue
        weight = ledger.counters.weight(event)
        if weight.share == "partly":
            part = ledger.names.part_name(event.body.part)
            yield warn(
                event.place("stands_for"),
                "usage-partly-here",
                f"{weight.here} of the {weight.covered} records that this stands for are here too, "
                f"so it adds to {part} anything from nothing to all of it",
                "receive the newest file of each aircraft that came from there;  where all that "
                f"{part} did there is here:  tailsheaf withdraw {survey.short(event)}",
            )
