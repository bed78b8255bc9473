"""Problems on standard error: place first, the owner's own line, and the line that mends it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from cli.render.sanitise import clean_text
from register.trouble import Problem

if TYPE_CHECKING:
    from cli.session import Session
    from register.desk import Fleet

EXCERPT_WIDTH = 160


def write_problems(session: Session, problems: Iterable[Problem]) -> None:
    """Every problem, ordered by place, with an excerpt where the file can be shown."""
    for problem in sorted(problems, key=lambda item: item.order):
        session.err.write(render_problem(problem, _lines(session, problem.place.file)))


def _lines(session: Session, path: str) -> list[str]:
    fleet = getattr(session, "_fleet", None)
    return source_lines(fleet, path) if fleet is not None else []


def source_lines(fleet: Fleet, path: str) -> list[str]:
    """The lines of a file of the fleet, for an excerpt; none where it was not read."""
    from register.text.parsing import split_lines

    data = fleet.sources.get(path)
    return split_lines(data) if data is not None else []


def render_problem(problem: Problem, lines: list[str]) -> str:
    """One problem in the form that editors and grep read."""
    place = problem.place
    text = [
        f"{clean_text(str(place))}: {problem.level}: {clean_text(problem.says)} [{problem.code}]"
    ]
    if 1 <= place.line <= len(lines) and place.column >= 1:
        line = lines[place.line - 1]
        if len(line) <= EXCERPT_WIDTH:
            number = f"{place.line:>5} | "
            lead = clean_text(line[: place.column - 1])
            shown = clean_text(line)
            end = place.end_column if place.end_column > place.column else place.column + 1
            marked = clean_text(line[place.column - 1 : end - 1]) or " "
            text.append(f"{number}{shown}")
            text.append(
                " " * (len(number) - 2) + "| " + " " * len(lead) + "^" * max(len(marked), 1)
            )
    text.append(f"  mend: {clean_text(problem.mend)}")
    text.extend(f"  see also: {clean_text(str(other))}" for other in problem.related)
    return "\n".join(text) + "\n"
