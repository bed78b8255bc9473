"""Carriers, and what a sync brought and took."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from msgspec import Struct

from cli.render.copies import add_copies, copies_shape
from cli.render.doubles import tell_pairs
from cli.render.heard import machine_shape, tell_last
from cli.render.screen import Column, Screen, Span, Words
from register.entry.ids import shorten_id

if TYPE_CHECKING:
    from cli.session import Session
    from register.copying import CopyDeed
    from register.findings.doubles import Twins
    from register.ledger.settling import Disputed
    from register.posting import Exchange, Wait
    from register.storage.carriers import Carrier
    from register.syncing import Synced
    from register.views.heard import HeardView

_SHOWN = 12
_FEW = 4
#: A letter waited for so long is trouble: its machine may have to sync again.
PATIENCE_DAYS = 3


class Apart(Struct, frozen=True):
    """What was amended apart or typed twice, the ids of the fleet, by which they are shortened,
    and edits by hand that are not saved."""

    disputed: tuple[Disputed, ...]
    twins: tuple[Twins, ...]
    ids: frozenset[str]
    unsaved: tuple[str, ...]


def render_carrier(session: Session, carrier: Carrier, deed: str) -> None:
    """One carrier, just set or taken off."""
    screen = Screen()
    screen.line([f"carrier {deed}: ", Span(carrier.name, "strong"), f", {_tell_kind(carrier)}"])
    if deed == "set":
        screen.line(["next:  ", Span("tailsheaf sync", "command")], 2)
        if carrier.kind == "mailbox":
            screen.line(
                "on each other machine:  tailsheaf init DIR --from FOLDER   or, where the fleet "
                "is already:  tailsheaf sync --add NAME FOLDER",
                2,
                2,
            )
    session.show(screen, {"version": 1, "deed": deed, "carrier": _carrier_shape(carrier)})


def _tell_kind(carrier: Carrier) -> str:
    what = "mailbox" if carrier.kind == "mailbox" else "repository"
    return f"{what} {carrier.where}"


def render_carriers(session: Session, carriers: dict[str, Carrier], heard: HeardView) -> None:
    """The carriers of this machine, and when each machine was last heard from."""
    screen = Screen()
    screen.title("Carriers of this machine", heard.on.isoformat())
    if not carriers:
        screen.line(["none;  ", Span("tailsheaf sync --add stick DIR", "command"), "  sets one"], 2)
    else:
        rows: list[tuple[Words, ...]] = [
            (Span(item.name, "strong"), _tell_kind(item), _tell_worked(item))
            for item in carriers.values()
        ]
        columns = (Column("name"), Column("where", flexible=True), Column("last worked"))
        screen.table(columns, rows, indent=2)
    if heard.machines:
        _add_machines(screen, heard)
    data = {
        "version": 1,
        "on": heard.on.isoformat(),
        "carriers": [_carrier_shape(item) for item in carriers.values()],
        "machines": [machine_shape(item) for item in heard.machines],
    }
    session.show(screen, data)


def _add_machines(screen: Screen, heard: HeardView) -> None:
    screen.gap()
    screen.title("Machines", "")
    columns = (
        Column("machine", flexible=True),
        Column("records", right=True),
        Column("last wrote"),
    )
    told = tuple(
        (
            f"{item.name} (this one)" if item.machine == heard.own else item.name,
            str(item.records),
            tell_last(item),
        )
        for item in heard.machines
    )
    screen.table(columns, told, indent=2)


def _tell_worked(carrier: Carrier) -> str:
    return carrier.worked.replace("T", " ")[:16] if carrier.worked else "not yet"


def render_synced(
    session: Session,
    done: Synced,
    copies: tuple[CopyDeed, ...],
    own: str,
    titles: dict[str, str],
    apart: Apart,
) -> None:
    """What came, from whom, and what was sent."""
    screen = Screen()
    add_copies(screen, copies)
    for exchange in done.exchanges:
        _add_exchange(screen, exchange, titles)
    came = [f"{count} record{'' if count == 1 else 's'} of {home}" for home, count in done.records]
    if came:
        screen.line(["taken in: ", ", ".join(came)], 0, 2)
    if done.files:
        shown = ", ".join(done.files[:_SHOWN])
        more = f" and {len(done.files) - _SHOWN} more" if len(done.files) > _SHOWN else ""
        screen.line(f"files taken in: {shown}{more}", 0, 2)
    for name, before in done.renamed:
        words = f"{before} was added on two machines as two things; one is {name} now:  "
        screen.line([Span(words, "attend"), Span("tailsheaf check", "command")], 0, 2)
    if not came and not done.files and not done.clashes:
        screen.line("nothing new came in")
    if done.clashes:
        count = len(done.clashes)
        words = "1 value was" if count == 1 else f"{count} values were"
        screen.line(
            [
                Span(f"{words} changed on two machines, not alike:  ", "attend"),
                Span("tailsheaf check", "command"),
                "  shows both sides and the line that settles each",
            ],
            0,
            2,
        )
    told = [_apart_shape(one, apart.ids) for one in apart.disputed]
    _add_apart(screen, told)
    pairs = [_pair_shape(one, apart.ids) for one in apart.twins]
    _add_pairs(screen, pairs)
    _add_unsaved(screen, apart.unsaved)
    if done.note:
        screen.line(f"note: {done.note}", 0, 2)
    shape = {
        **_synced_shape(done, own),
        "typed_twice": pairs,
        "unsaved": list(apart.unsaved),
        "amended_apart": told,
    }
    session.show(screen, {**shape, "copies": copies_shape(copies)})
    if any(item.moved is None for item in copies) or any(x.trouble for x in done.exchanges):
        session.problems_seen = True
    patience = (session.now - timedelta(days=PATIENCE_DAYS)).date().isoformat()
    if any(wait.since <= patience for exchange in done.exchanges for wait in exchange.waits):
        session.problems_seen = True


def _apart_shape(one: Disputed, ids: frozenset[str]) -> dict[str, str]:
    short = shorten_id(one.event.id, ids)
    return {
        "id": one.event.id,
        "short": short,
        "record": one.event.kind,
        "key": one.key,
        "counted": one.counted,
        "mend": f"tailsheaf amend {short} {one.key}=…",
    }


def _add_apart(screen: Screen, told: list[dict[str, str]]) -> None:
    """What two machines amended without having seen each other, with the line that settles it."""
    if not told:
        return
    head = "1 clash: " if len(told) == 1 else f"{len(told)} clashes: "
    for one in told:
        what = f"{one['record']} {one['short']} {one['key']}, {one['counted']} counts; "
        screen.line([Span(head, "attend"), what, Span(one["mend"], "command")], 0, 2)
        head = "and: "


def _pair_shape(one: Twins, ids: frozenset[str]) -> dict[str, str]:
    first, later = (shorten_id(event.id, ids) for event in (one.first, one.later))
    return {
        "aircraft": one.aircraft,
        "day": one.later.moment.day.isoformat(),
        "first": one.first.id,
        "later": one.later.id,
        "mend": f"tailsheaf withdraw {later} --duplicate-of {first}",
    }


def _add_pairs(screen: Screen, pairs: list[dict[str, str]]) -> None:
    """Flights that were perhaps typed on two machines, each with the line that makes them one."""
    if not pairs:
        return
    words = f"{tell_pairs(len(pairs))} like one flight typed twice; both count until you say:"
    screen.line(Span(words, "attend"))
    for one in pairs[:_SHOWN]:
        screen.line([f"{one['aircraft']} {one['day']}:  ", Span(one["mend"], "command")], 2, 4)
    if len(pairs) > _SHOWN:
        screen.line(f"and {len(pairs) - _SHOWN} more:  tailsheaf check", 2, 4)


def _add_unsaved(screen: Screen, unsaved: tuple[str, ...]) -> None:
    """Edits by hand travel only once they are saved."""
    if not unsaved:
        return
    shown = ", ".join(unsaved[:_FEW])
    more = f" and {len(unsaved) - _FEW} more" if len(unsaved) > _FEW else ""
    screen.line(
        [
            Span(f"not saved, so it stayed on this machine: {shown}{more}:  ", "attend"),
            Span("tailsheaf save", "command"),
            "  then sync again",
        ],
        0,
        2,
    )


def _add_exchange(screen: Screen, exchange: Exchange, titles: dict[str, str]) -> None:
    words: list[str | Span] = [Span(exchange.carrier, "strong"), ": "]
    if exchange.trouble is not None:
        words.append(Span(f"did not work: {exchange.trouble}", "attend"))
        screen.line(words, 0, 2)
        if exchange.mend:
            screen.line(exchange.mend, 2, 2)
        return
    heard = [
        f"{count} letter{'' if count == 1 else 's'} of {titles.get(machine, machine)}"
        if machine
        else "what it had new"
        for machine, count in exchange.heard
    ]
    words.append(f"heard {', '.join(heard)}" if heard else "heard nothing new")
    words.append("; sent what it had not" if exchange.sent else "; it had everything")
    screen.line(words, 0, 2)
    for wait in exchange.waits:
        screen.line(f"waiting: {_tell_wait(wait, titles)}", 2, 2)


def _tell_wait(wait: Wait, titles: dict[str, str]) -> str:
    whose = titles.get(wait.machine, wait.machine)
    return f"letter {wait.number} of {whose} {wait.why} (noticed {wait.since})"


def _carrier_shape(carrier: Carrier) -> dict[str, object]:
    return {
        "name": carrier.name,
        "kind": carrier.kind,
        "where": carrier.where,
        "worked": carrier.worked,
    }


def _synced_shape(done: Synced, own: str) -> dict[str, object]:
    return {
        "version": 1,
        "machine": own,
        "carriers": [
            {
                "name": exchange.carrier,
                "where": exchange.where,
                "heard": [{"machine": name, "letters": count} for name, count in exchange.heard],
                "waiting": [
                    {
                        "machine": wait.machine,
                        "letter": wait.number,
                        "why": wait.why,
                        "since": wait.since,
                    }
                    for wait in exchange.waits
                ],
                "sent": exchange.sent,
                "trouble": exchange.trouble,
                "mend": exchange.mend,
            }
            for exchange in done.exchanges
        ],
        "records": dict(done.records),
        "files": list(done.files),
        "clashes": list(done.clashes),
        "renamed": [{"name": name, "before": before} for name, before in done.renamed],
        "note": done.note,
    }
