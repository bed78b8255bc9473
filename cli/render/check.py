"""The answer of check: the problems themselves, and one line that counts them."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from cli.render.problems import render_problem, source_lines
from register.trouble import Place, Problem

if TYPE_CHECKING:
    from cli.session import Session
    from register.desk import Fleet


#: Warnings that stand with the errors: something may be counted twice, or be two things.
_FIRST = frozenset(("flights-twice", "doubles-in-ring", "name-shared"))


def render_check(session: Session, fleet: Fleet, problems: tuple[Problem, ...]) -> None:
    """Problems on standard output, errors first, then by place.

    An error among them makes the exit code 1.
    """
    errors = sum(problem.level == "error" for problem in problems)
    session.problems_seen = session.problems_seen or errors > 0
    session.open_items += len(problems)
    if session.as_json:
        data = {
            "version": 1,
            "complete": not fleet.unread,
            "unread": list(fleet.unread),
            "problems": [encode_problem(problem) for problem in problems],
        }
        session.out.write(json.dumps(data, indent=2) + "\n")
        return
    for problem in sorted(problems, key=_is_likely_alike):
        session.out.write(render_problem(problem, source_lines(fleet, problem.place.file)) + "\n")
    session.out.write(count_line(errors, len(problems) - errors, len(fleet.sources)) + "\n")


def _is_likely_alike(problem: Problem) -> bool:
    """Errors, and what may be counted twice, come before warnings, of which many may be alike."""
    return problem.level != "error" and problem.code not in _FIRST


def count_line(errors: int, warnings: int, files: int) -> str:
    """How many of each, in how many files."""
    found = [_count(errors, "error"), _count(warnings, "warning")]
    words = ", ".join(text for text in found if text) or "no problems"
    return f"{words} in {_count(files, 'file') or '0 files'}"


def _count(number: int, word: str) -> str:
    if not number:
        return ""
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def encode_problem(problem: Problem) -> dict[str, object]:
    """One problem as data."""
    return {
        "file": problem.place.file,
        "line": problem.place.line,
        "column": problem.place.column,
        "level": problem.level,
        "code": problem.code,
        "says": problem.says,
        "mend": problem.mend,
        "related": [_encode_place(place) for place in problem.related],
    }


def _encode_place(place: Place) -> dict[str, object]:
    return {"file": place.file, "line": place.line, "column": place.column}
