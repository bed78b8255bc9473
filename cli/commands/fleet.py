"""fleet: all aircraft at a glance."""

from __future__ import annotations

from cli.session import current_session

EXAMPLE = "Example: tailsheaf fleet --on 2025-10-01"


def command() -> None:
    """Show every aircraft: standing, totals, this season, last flown."""
    from cli.render.fleet import render_fleet
    from register.desk import answer_fleet, answer_heard

    session = current_session()
    heard = answer_heard(session.open(), session.on)
    render_fleet(session, answer_fleet(session.open(), session.on), heard)
