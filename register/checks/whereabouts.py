"""Records that lie in the folder of another aircraft or part."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey, warn
from register.ledger.counters import Subject
from register.records.events import Event
from register.trouble import Place, Problem


def check_files_at_home(survey: Survey) -> Iterator[Problem]:
    """A record in the folder of an aircraft or part that it does not speak of."""
    for event in survey.ledger.events:
        folder, _, rest = event.path.partition("/")
        name = rest.partition("/")[0]
        subjects = survey.ledger.subjects_of(event)
        home = _find_home(folder, name, subjects)
        if home is not None:
            yield warn(
                Place(event.path),
                "file-astray",
                f"this record is about {home[1]} and lies in the folder of {name}",
                f"move it to {_folder(home)}/events/{_month(event)}/",
            )


def _find_home(folder: str, name: str, subjects: tuple[Subject, ...]) -> Subject | None:
    """Where it belongs, or None where it is well where it lies."""
    aircraft = [subject for subject in subjects if subject[0] == "aircraft"]
    parts = [subject for subject in subjects if subject[0] == "part"]
    if folder == "aircraft":
        # A record of a fitted part lies with the aircraft it was in.
        astray = bool(aircraft) and ("aircraft", name) not in aircraft
    else:
        astray = bool(subjects) and ("part", name) not in parts
    return (*aircraft, *parts)[0] if astray else None


def _folder(subject: Subject) -> str:
    return f"{'aircraft' if subject[0] == 'aircraft' else 'parts'}/{subject[1]}"


def _month(event: Event) -> str:
    return f"{event.moment.day:%Y/%m}"
