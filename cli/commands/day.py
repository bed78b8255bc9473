"""day: type up a whole flying day, in the order of the pocket card."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from cli.asking import AnswersEnded, Asker, GoBack
from cli.options import At, By, Note, Source, stamp_of
from cli.session import current_session

if TYPE_CHECKING:
    from datetime import date

    from cli.day_questions import AircraftForm
    from register.entry.clerk import Clerk, Plan, Stamp

EXAMPLE = "Example: tailsheaf day --at sat"


def command(at: At = None, by: By = None, note: Note = None, source: Source = None) -> None:
    """Type up a flying day: short questions in the order of the pocket card, one entry for all."""
    session = current_session()
    asker = Asker(session)
    try:
        plan = _ask_all(asker, at, stamp_of(at, None, by, note, source))
    except AnswersEnded:
        plan = None
        asker.say("nothing was written")
    if plan is not None:
        session.record(plan)


def _ask_all(asker: Asker, at: str | None, stamp: Stamp) -> Plan | None:
    """The whole form, until it is agreed to; None where nothing is to be written."""
    from register.entry.day_form import plan_day

    session = asker.session
    clerk = session.clerk()
    day = _ask_day(asker, clerk, at)
    forms: list[AircraftForm] = []
    while True:
        stamp = replace(stamp, at=day.isoformat())
        try:
            _ask_aircraft(asker, clerk, day, stamp, forms)
        except GoBack:
            day = _ask_day(asker, clerk, at)
            continue
        if not forms:
            asker.say("nothing to write")
            return None
        plan = plan_day(session.clerk(), [form.answer() for form in forms], stamp)
        _show(asker, plan)
        try:
            if asker.agrees("write it?", otherwise=True):
                return plan
        except GoBack:
            continue
        asker.say("nothing was written")
        return None


def _show(asker: Asker, plan: Plan) -> None:
    asker.say("")
    for text in plan.says:
        asker.say(f"  {text}")
    for text in plan.warnings:
        asker.say(f"  note: {text}")


def _ask_day(asker: Asker, clerk: Clerk, at: str | None) -> date:
    from register.entry.dates import read_when

    zone = clerk.ledger.records.zone
    if at is not None:
        return read_when(at, clerk.now, zone).day
    today = clerk.today.isoformat()
    while True:
        try:
            return asker.ask(
                f"day [{today}]:", lambda text: read_when(text or "today", clerk.now, zone).day
            )
        except GoBack:
            asker.say("  this is the first question")


def _ask_aircraft(
    asker: Asker, clerk: Clerk, day: date, stamp: Stamp, forms: list[AircraftForm]
) -> None:
    """One aircraft after another until an empty line; `forms` are those answered so far.

    Raises GoBack at the first of them where there is a question before it.
    """

    names = ", ".join(sorted(clerk.ledger.records.aircraft)[:8])
    asker.say(f"which aircraft flew on {day.isoformat()}? ({names}; Enter to end; b: one back)")
    while True:
        form = _next_form(asker, clerk, day, forms)
        if form is None:
            return
        if _finish(asker, clerk, form, stamp):
            forms.append(form)


def _next_form(
    asker: Asker, clerk: Clerk, day: date, forms: list[AircraftForm]
) -> AircraftForm | None:
    """The next aircraft, or the last one again at its last question; None to end."""
    from cli.day_questions import AircraftForm

    taken = {form.name for form in forms}
    try:
        chosen = asker.ask("aircraft:", lambda text: _read_aircraft(clerk, text, taken))
    except GoBack:
        if not forms:
            raise
        asker.say(f"  back to {forms[-1].name}")
        forms[-1].walk.back()
        return forms.pop()
    return AircraftForm(asker, clerk, chosen[0], chosen[1], day) if chosen else None


def _finish(asker: Asker, clerk: Clerk, form: AircraftForm, stamp: Stamp) -> bool:
    """Ask what is left of one aircraft; False where it was gone back out of, or is wrong."""
    from register.entry.day_form import plan_day
    from register.trouble import RegisterError

    try:
        form.walk.run()
    except GoBack:
        return False
    try:
        # Tried alone first, so that a wrong answer never costs the whole form.
        plan_day(clerk, [form.answer()], stamp)
    except RegisterError as error:
        asker.refuse(error)
        return False
    return True


def _read_aircraft(clerk: Clerk, text: str, taken: set[str]) -> tuple[str, str | None] | None:
    """`heron`, or `heron 3`; None for an empty line."""
    from register.entry.amounts import read_count
    from register.entry.subjects import find_aircraft
    from register.trouble import RegisterError

    words = text.split()
    if not words:
        return None
    name = find_aircraft(clerk, words[0])
    if name in taken:
        raise RegisterError(
            f"{name} is in this form already", mend="enter the next one, or Enter", code="usage"
        )
    count = str(read_count(words[1], what="flights")) if len(words) > 1 else None
    return name, count
