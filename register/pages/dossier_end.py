"""The end of a dossier: the new owner's first inspection, and the whole history."""

from __future__ import annotations

from collections.abc import Iterator

from register.pages.blocks import ATTEND, FINE, PLAIN, Block, Boxes, Row, Section, Table, Words
from register.pages.dossier_first import is_due
from register.pages.dossier_open import snag_where
from register.pages.dossier_words import NOTHING, due_words, place_of, plural
from register.views.damage import tell_place
from register.views.dossier import LATE_DAYS, DossierView, days_late
from register.views.fleet import HistoryLine

Box = tuple[str, str]
#: Asked of every aircraft that changes hands. Common practice, no source.
_ALWAYS: tuple[Box, ...] = (
    ("Every control moves the right way, with your transmitter", "look from behind, say it aloud"),
    ("Throws measured at each rate", "against the sheets in this dossier; write down your own"),
    ("Failsafe set and shown for every channel, engine answer included", "wheels chocked"),
    ("Range check, engine off and running", "the way the radio's maker says"),
    ("Engine stop works, from the transmitter and by hand", ""),
    ("Weighed, and centre of gravity found", "state of the tanks written down"),
    ("Hinges, horns and linkages pulled by hand; free play looked at", ""),
    ("Every screw and clevis looked at, also those you cannot see from outside", ""),
    ("Tank, lines and clunk: age, leaks, chafing", ""),
    ("Packs you will use: capacity, resistance, age, plugs", "none is taken on trust"),
    ("Battery, servo and ignition leads: chafing, plugs locked", ""),
    ("Skin tapped and pressed all over; bright light along the seams", "repairs under paint"),
    ("Extinguisher in date and in reach", ""),
)


def inspection(view: DossierView) -> Section:
    """Boxes to tick: what the records ask for first, then what every change of owner does."""
    groups = tuple((head, tuple(boxes)) for head, boxes in _groups(view) if boxes)
    count = sum(len(boxes) for _, boxes in groups)
    blocks: tuple[Block, ...] = (
        Words("Somebody else than the seller should look, and a second person with you. Write "
              "down what you find, also where nothing is found."),
        Boxes(groups),
        Words("The last group is common practice and has no source; the rest comes from the "
              "records. Neither is complete.", FINE),
    )  # fmt: skip
    return Section(
        "inspection",
        "Your own first inspection",
        f"{plural(count, 'thing')} to look at before the first flight with you.",
        blocks,
    )


def _groups(view: DossierView) -> Iterator[tuple[str, list[Box]]]:
    yield "What is open", [
        (snag_where(story), f"{story.state.severity.replace('-', ' ')}, found "
         f"{story.state.first_day.isoformat()}")
        for story in view.open_snags
    ]  # fmt: skip
    yield "Notices and checks not settled", [*_notices(view), *_due(view)]
    yield "Where it was hurt or mended", [*_incidents(view), *_mended(view)]
    yield "Where it is marked", _marks(view)
    yield (
        "What differs from the manual",
        [
            (line.departure.body.text, _where(line.departure.part, line.departure.body.at))
            for line in view.departures.lines
            if line.departure.state != "undone"
        ],
    )
    yield (
        "Is it the part that the records mean?",
        [
            (
                f"{part.file.name}: {part.file.title or part.file.kind}",
                f"{place_of(part)}; serial {part.file.serial or 'not recorded: write it down'}",
            )
            for part in view.parts
        ],
    )
    yield (
        "Parts that stay behind: what takes their place",
        [
            (f"in place of {part.file.name}: {part.file.title or part.file.kind}", place_of(part))
            for part in view.staying
            if part.file.name in view.facts.shared or any(stay.current for stay in part.stays)
        ],
    )
    yield "At every change of owner", list(_ALWAYS)


def _where(*words: str | None) -> str:
    return ", ".join(word for word in words if word)


def _notices(view: DossierView) -> Iterator[Box]:
    for row in view.notices.rows:
        if row.is_open and row.subject[1] not in view.stays:
            yield f"Notice: {row.notice.title} on {row.subject[1]}", row.stands


def _due(view: DossierView) -> Iterator[Box]:
    for line in view.due:
        item = line.item
        if item.task.on == "notice" or item.is_day_check:
            continue
        never = item.state == "no-baseline" and item.grounds
        if is_due(item.state) or item.failed is not None or never:
            on = f" on {item.subject[1]}" if item.subject[0] == "part" else ""
            yield f"{item.task.title}{on}", due_words(item)


def _incidents(view: DossierView) -> Iterator[Box]:
    for story in view.incidents:
        open_checks = sum(event is None for _, event in story.checks)
        told = f"{plural(open_checks, 'check')} without a result" if open_checks else ""
        said = story.says.removeprefix("incident: ")
        yield f"After the {said} of {story.event.moment.day.isoformat()}", told


def _mended(view: DossierView) -> Iterator[Box]:
    for story in view.mended:
        closed = story.state.closed_by
        action = getattr(closed.body, "action", "") if closed is not None else ""
        yield snag_where(story), f"mended: {action}" if action else ""


def _marks(view: DossierView) -> list[Box]:
    return [
        (
            f"{mark.number}: {mark.state.text}",
            _where(mark.zone.title if mark.zone is not None else mark.zone_name, tell_place(mark)),
        )
        for mark in view.damage.marks
    ]


def history(view: DossierView) -> Section:
    """Every record, in order, with how long after its day it was written."""
    pages = view.pages
    blocks: list[Block] = [
        Words(
            "“Written” is how many days after its day a record was written down: 0 is the same "
            "day. It is what the writing machine's clock said, and proves nothing by itself.",
            FINE,
        ),
        Table(
            ("day", "what", ">flights", "by", ">written", "id"),
            tuple(_history_row(line, pages.mark_of(line.event.by)) for line in view.history),
        ),
    ]
    answer = f"{plural(pages.records, 'record')}; {pages.late} written more than "
    answer += f"{plural(LATE_DAYS, 'day')} later, {pages.amended} amended, "
    answer += f"{pages.withdrawn} withdrawn."
    people = ", ".join(f"{mark} {count}" for _, mark, count in pages.people)
    if people:
        blocks.insert(0, Words(f"By whom, as marks that stand for no name: {people}.", FINE))
    return Section("history", "Whole history", answer, tuple(blocks))


def _history_row(line: HistoryLine, by: str) -> Row:
    event = line.event
    instant = event.moment.instant
    when = event.moment.day.isoformat() + (f" {instant:%H:%M}" if instant is not None else "")
    words = line.says
    if line.withdrawn:
        words = f"WITHDRAWN: {words}"
    elif line.amended:
        words = f"{words} [amended]"
    if event.source == "estimated":
        words += " [estimated]"
    elif event.source == "from-paper":
        words += " [from paper]"
    late = days_late(event)
    written = "not known" if late is None else f"{late} d"
    total = NOTHING
    if line.total is not None:
        low, high = line.total.low, line.total.high
        total = f"{low}+" if high is None else f"{low}" if low == high else f"{low}-{high}"
    tone = ATTEND if event.kind in ("incident",) else PLAIN
    return Row((when, words, total, by or NOTHING, written, event.id[:6]), tone)
