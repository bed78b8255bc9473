"""Sections of a dossier: notices and their answers, departures from the manual, papers."""

from __future__ import annotations

from collections.abc import Iterator

from register.findings.notices import NoticeState, asks_words
from register.pages.blocks import (
    ATTEND,
    FINE,
    PLAIN,
    STOP,
    Block,
    Head,
    Listed,
    Pairs,
    Row,
    Section,
    Table,
    Words,
)
from register.pages.dossier_words import NOTHING, day_of, plural, value_words
from register.records.bodies import Measured
from register.records.values import format_amount
from register.views.changes import limit_phrase
from register.views.departures import DepartureLine
from register.views.dossier import DossierView
from register.views.telling_work import grams_words

_NOTICE_STATES = {
    "cannot-tell": "CANNOT TELL",
    "found": "FOUND",
    "not-looked-at": "NOT LOOKED AT",
    "due-again": "DUE AGAIN",
    "not-repaired": "NOT REPAIRED",
    "clear": "clear",
    "repaired": "repaired",
    "not-applicable": "does not apply",
}
DEPARTURE_CAUTION = (
    "A departure from the manual is the owner's own: whether it holds is not computed here. "
    "Follow the maker and your rules first."
)


def notices(view: DossierView) -> Section:
    """What the kit's notices ask of each part, and what was answered."""
    rows = [row for row in view.notices.rows if row.subject[1] not in view.stays]
    opened = sum(row.is_open for row in rows)
    blocks: list[Block] = []
    for head in view.notices.heads:
        notice = head.notice
        grounds = "; grounds while open" if notice.grounds else ""
        blocks.append(Head(notice.title))
        said = f"{notice.text} " if notice.text else ""
        blocks.append(Words(f"{said}Asks {asks_words(notice)}{grounds} ({notice.basis.text})."))
        mine = [row for row in rows if (row.notice.name, row.kit) == (notice.name, head.kit)]
        if mine:
            columns = ("on", "state", "what is known", "answers")
            blocks.append(Table(columns, tuple(_notice_row(row) for row in mine)))
        else:
            blocks.append(Words("It asks nothing that goes along.", FINE))
    traps = tuple(
        head.notice.title + (f": {head.notice.text}" if head.notice.text else "")
        for head in view.notices.traps
    )
    if traps:
        blocks.extend((Head("Traps: know them before you work there"), Listed(traps)))
    if not blocks:
        blocks.append(Words("No notice of this kit is recorded. Ask the maker and other owners."))
    answer = f"{plural(len(view.notices.heads), 'notice')}, {opened} open."
    if not view.notices.heads:
        answer = "None recorded."
    return Section("notices", "Notices and their answers", answer, tuple(blocks))


def _notice_row(row: NoticeState) -> Row:
    until = [words[1] for limit in row.limits if (words := limit_phrase(limit)) is not None]
    looks = [
        f"{day_of(look.event)} {look.result.replace('-', ' ')}"
        + (f": {look.text}" if look.text else "")
        for look in row.looks
    ]
    tone = PLAIN if not row.is_open else STOP if row.notice.grounds else ATTEND
    cells = (
        row.subject[1],
        _NOTICE_STATES[row.state],
        "; ".join((row.says, *until)),
        "; ".join(looks) or NOTHING,
    )
    return Row(cells, tone)


def departures(view: DossierView) -> Section:
    """What was done otherwise than the manual says, with why."""
    lines = view.departures.lines
    kept = sum(line.departure.state == "fixed" for line in lines)
    opened = sum(line.departure.is_unsettled for line in lines)
    blocks: list[Block] = []
    for line in lines:
        body = line.departure.body
        blocks.append(Head(f"{day_of(line.departure.event)}: {body.text}"))
        blocks.append(Pairs(tuple(_departure_pairs(line))))
    if lines:
        blocks.append(Words(DEPARTURE_CAUTION, FINE))
    else:
        blocks.append(Words("There may be some that nobody wrote down."))
    answer = f"{plural(len(lines), 'departure')}: {kept} kept, {opened} on trial or curing."
    if not lines:
        answer = "None recorded."
    return Section("departures", "Departures from the manual", answer, tuple(blocks))


def _departure_pairs(line: DepartureLine) -> Iterator[tuple[str, str]]:
    departure, body = line.departure, line.departure.body
    flown = f", {value_words(line.flights, 'flights')} flights since" if line.flights else ""
    yield "state", f"{departure.state} since {day_of(departure.state_event)}{flown}"
    where = [word for word in (departure.part, body.at) if word]
    if where:
        yield "where", ", ".join(where)
    yield "manual", body.manual or "not stated"
    yield "why", body.why or "not stated"
    for tried in body.tried:
        yield "tried and failed", tried
    yield "mass", grams_words(body.mass) if body.mass is not None else "not stated"
    for word, said in (("throws", body.throws), ("strength", body.strength)):
        if said:
            yield word, said
    for pair in line.pairs:
        yield pair.name, f"before {_measured(pair.before)}, after {_measured(pair.after)}"


def _measured(item: Measured | None) -> str:
    if item is None or item.value is None:
        return "not taken"
    return f"{format_amount(item.value)} {item.unit}".strip()


def papers(view: DossierView) -> Section:
    """What stands in no handover, and what to ask for."""
    asks = (
        "permit or certificate of the aircraft, and whether it passes to a new owner: ask the body",
        "registration and its mark on the aircraft: yours has to be shown from the first day",
        "your own insurance, for this mass and this kind of engine",
        "your own competence or pilot's permit for this class",
        "manuals of kit, engine, radio and gear; warranty, where the seller gives it",
        "test date of the extinguisher you will use",
    )
    return Section(
        "papers",
        "Papers: none included",
        "Permits, insurance and competence belong to people and are not carried.",
        (
            Words(f"Nothing here says whether {view.name} had its papers on any day. Ask for:"),
            Listed(asks),
        ),
    )
