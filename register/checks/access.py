"""Access and tasks: what is disturbed when something comes off must be a task that is followed."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey
from register.records.as_built import read_section
from register.records.scalars import nearest
from register.trouble import Problem


def check_disturbed_known(survey: Survey) -> Iterator[Problem]:
    """Each task that an opening disturbs is one of the aircraft's, or it is never seen again."""
    ledger = survey.ledger
    for name in sorted(ledger.records.aircraft):
        tasks = {task.id for task in ledger.tasks(name)}
        if not tasks:
            continue
        for access in read_section(ledger.records, name, "access")[0].values():
            for link in access.disturbs:
                if link.name in tasks:
                    continue
                guess = nearest(link.name, tasks)
                yield Problem(
                    link.place,
                    "task-unknown",
                    f"{access.name} disturbs {link.name}, which is no task of {name}",
                    f"write  {guess}  there, or add the task to its programme"
                    if guess
                    else f"add {link.name} to a programme of {name}, or take it out",
                    "warning",
                )
