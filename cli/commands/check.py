"""check: everything odd in the records, each with the line that mends it."""

from __future__ import annotations

from cli.session import current_session

EXAMPLE = "Example: tailsheaf check"


def command() -> None:
    """Look through every record and show what is wrong or unlikely, and how to mend it."""
    from cli.render.check import render_check
    from register.desk import answer_check

    session = current_session()
    fleet = session.open()
    render_check(session, fleet, answer_check(fleet, session.today, session.environment))
