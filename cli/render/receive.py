"""What a handover file brings, beside what is here; and what was taken in."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cli.render.counters import title_words, value_words
from cli.render.handover import left_shape, tell_left
from cli.render.screen import Column, Screen, Span, Words
from register.tasks.starts import asks_new_owner

if TYPE_CHECKING:
    from collections.abc import Sequence

    from cli.session import Session
    from register.git.taking import Taken
    from register.transfer.incoming import Arrival
    from register.views.arriving import Gist

_SHOWN = 12
_SHELF = {"aircraft": "aircraft", "parts": "part", "kits": "kit", "programmes": "programme"}


def render_arrival(session: Session, arrival: Arrival, gist: Gist, file: str) -> None:
    """The summary to read before anything is written."""
    screen = Screen()
    screen.title(f"{arrival.aircraft}: {arrival.title}", arrival.day.isoformat())
    screen.line(Span("nothing is written yet; the file keeps every rule", "faint"))
    screen.line(tell_signature(arrival), 0, 2)
    _add_other_hand(screen, arrival, 0)
    _add_state(screen, arrival)
    _add_records(screen, arrival, gist)
    _add_totals(screen, arrival)
    _add_names(screen, arrival)
    _add_left(screen, arrival)
    screen.gap()
    if arrival.compared.collisions or arrival.older:
        session.open_items += 1
    elif _has_nothing(arrival):
        screen.line(f"nothing new: {arrival.local_name} is here as the file has it")
    else:
        words = f"tailsheaf receive {file} --take"
        screen.line(["to take it in:  ", Span(words, "command")])
        if not arrival.is_update:
            screen.line("with --as NAME and --name THEIRS=HERE you choose other names", 2, 2)
        screen.line("to read first: dossier.html in the file, which is a zip", 2, 2)
    session.show(screen, arrival_shape(arrival, gist))


def _has_nothing(arrival: Arrival) -> bool:
    """Whether an update brings nothing at all."""
    compared = arrival.compared
    return arrival.files == arrival.base and not (compared.fresh or compared.changed)


def tell_signature(arrival: Arrival) -> Words:
    """Whose the file is, as far as it can be told."""
    state, print_ = arrival.signature.state, arrival.signature.fingerprint
    if state == "good":
        return [Span("signed", "well"), f" with the key you named ({print_})"]
    if state == "unknown":
        return [
            Span("signed", "attend"),
            f" with {print_}: ask the sender by another way whether that is theirs, or compare "
            "with --key FILE",
        ]
    if state == "wrong":
        return [Span("SIGNATURE WRONG", "stop"), ": it is not by the key you named, or altered"]
    return [
        Span("not signed", "attend"),
        ": it is whole, but who made it cannot be told from the file",
    ]


def _add_other_hand(screen: Screen, arrival: Arrival, indent: int) -> None:
    """Where a file is not signed as the one before was."""
    if not arrival.other_hand:
        return
    is_bare = arrival.other_hand == "unsigned"
    what = (
        "NOT SIGNED, AND THE FILE BEFORE WAS" if is_bare else "SIGNED WITH ANOTHER KEY THAN BEFORE"
    )
    words = f": that one with {arrival.signed_before}. Ask the sender, by another way than this "
    words += "file came, whether it is theirs, before you take it in"
    screen.line([Span(what, "stop"), words], indent, 2)


def _add_state(screen: Screen, arrival: Arrival) -> None:
    if arrival.is_update:
        screen.line(f"an update of {arrival.local_name}, which was taken in before", 0, 2)
    elif arrival.returns:
        screen.line(f"{arrival.local_name} comes back: what is here stays in your own words", 0, 2)
    if arrival.older:
        screen.line(
            [Span("older", "stop"), " than the file that was taken in last; it has nothing new"]
        )


def _add_names(screen: Screen, arrival: Arrival) -> None:
    screen.gap()
    screen.line(Span("Names", "heading"))
    rows: list[tuple[Words, ...]] = []
    alike: dict[str, dict[str, list[str]]] = {}
    for naming in arrival.namings:
        what: Words = "here already" if naming.known else "new"
        if naming.collides:
            what = Span("taken here by something else", "attend")
        if naming.ours == naming.theirs:
            shelves = alike.setdefault("here already" if naming.known else "new", {})
            shelves.setdefault(naming.shelf, []).append(naming.ours)
        else:
            rows.append((_SHELF[naming.shelf], naming.theirs, Span(naming.ours, "strong"), what))
    for state, shelves in alike.items():
        called = "called here as there" if state == "new" else state
        listed = [f"{_told(shelf, names)} {', '.join(names)}" for shelf, names in shelves.items()]
        screen.line(f"{called}: {'; '.join(listed)}", 2, 2)
    if rows:
        columns = (Column("what"), Column("there", flexible=True), Column("here"), Column(""))
        screen.table(columns, rows, indent=2)
        screen.line("the old names stay as aliases and can still be typed", 2, 2)
    for mark in (*arrival.marks, *arrival.serials):
        screen.line(Span(mark, "attend"), 2, 2)


def _told(shelf: str, names: Sequence[str]) -> str:
    return shelf if len(names) > 1 else _SHELF[shelf]


def _add_records(screen: Screen, arrival: Arrival, gist: Gist) -> None:
    compared = arrival.compared
    screen.gap()
    screen.line(Span("Records", "heading"))
    words = [f"{len(compared.fresh)} new", f"{compared.same} here already"]
    if compared.changed:
        words.append(f"{len(compared.changed)} told otherwise than before")
    if compared.ours:
        words.append(f"{len(compared.ours)} here in your own words, which stay")
    if compared.gone:
        words.append(f"{len(compared.gone)} no longer told")
    if gist.first is not None and gist.last is not None:
        words.append(f"of {gist.first.isoformat()} to {gist.last.isoformat()}")
    screen.line(", ".join(words), 2, 2)
    deferred = f", {gist.deferred} of them deferred" if gist.deferred else ""
    screen.line(f"open snags: {gist.open}{deferred}", 2, 2)
    told = ", ".join(f"{day.isoformat()} {what.replace('-', ' ')}" for day, what in gist.incidents)
    screen.line(f"incidents: {told or 'none recorded'}", 2, 2)
    if arrival.come_true:
        names = ", ".join(arrival.come_true)
        screen.line(f"known by name alone until now: {names}", 2, 2)
    for path in arrival.standing[:_SHOWN]:
        screen.line(f"stays as it is here: {path}", 2, 2)
    for clash in compared.collisions[:_SHOWN]:
        screen.line([Span(f"id {clash.id} is another record here: ", "stop"), clash.there], 2, 2)
    if len(compared.collisions) > _SHOWN:
        screen.line(f"and {len(compared.collisions) - _SHOWN} more ids", 2)
    _add_differing(screen, arrival)
    for key, more in arrival.declares.items():
        screen.line(f"fleet.yaml gets {key.replace('_', ' ')}: {', '.join(more)}", 2, 2)


def _add_differing(screen: Screen, arrival: Arrival) -> None:
    """What the sender's fleet.yaml says and this one does not: it is the owner's to choose."""
    if arrival.differs:
        words = "tasks fall due on other days than there"
        screen.line([Span(words, "attend"), ", where fleet.yaml says"], 2, 2)
    for line in arrival.differs:
        setting, _, here = line.partition("  ")
        screen.line([Span(setting, "command"), f"  {here}"], 4, 2)


def _add_totals(screen: Screen, arrival: Arrival) -> None:
    ledger, subject = arrival.ledger, ("aircraft", arrival.aircraft)
    words = [
        f"{title_words(counter)} {value_words(ledger.value(subject, counter), counter)}"
        for counter in ledger.listed_counters(subject)
        if counter == "flights" or ledger.value(subject, counter).high != 0
    ]
    screen.line(f"totals of {arrival.aircraft}: {', '.join(words)}", 2, 2)


def _add_left(screen: Screen, arrival: Arrival) -> None:
    lines = tell_left(arrival.left)
    if lines:
        screen.gap()
        screen.line(Span("Left out by the sender", "heading"))
    for line in lines:
        screen.line(line, 2, 2)


def render_taken(session: Session, arrival: Arrival, taken: Taken, odd: Sequence[str]) -> None:
    """What was written, and what to do next."""
    screen = Screen()
    name = arrival.local_name
    if not taken.is_new:
        screen.line(f"nothing new: {name} is here as the file has it")
    else:
        counts = f"{len(taken.added)} files new, {len(taken.changed)} changed"
        if taken.removed:
            counts += f", {len(taken.removed)} removed"
        screen.line(["taken in: ", Span(name, "strong"), f", {counts}"], 0, 2)
        screen.line(tell_signature(arrival), 2, 2)
        _add_other_hand(screen, arrival, 2)
        _add_inspection(screen, arrival)
        _add_differing(screen, arrival)
    clashes = [path for path in taken.added if path.startswith("clashes/")]
    if clashes:
        screen.line(
            [
                Span(f"changed here and there, not alike: {len(clashes)}  ", "attend"),
                Span("tailsheaf check", "command"),
            ],
            2,
            2,
        )
    for line in odd:
        screen.line([Span("totals differ: ", "attend"), line], 2, 2)
    if odd:
        screen.line(["what is told here in another way:  ", Span("tailsheaf check", "command")], 2)
    if taken.note:
        screen.line(f"note: {taken.note}", 2, 2)
    data = {
        "version": 1,
        "aircraft": name,
        "is_new": taken.is_new,
        "added": list(taken.added),
        "changed": list(taken.changed),
        "removed": list(taken.removed),
        "totals_differ": list(odd),
        "fleet_differs": list(arrival.differs),
        "note": taken.note,
    }
    session.show(screen, data)


def _add_inspection(screen: Screen, arrival: Arrival) -> None:
    """What the change of owner opens, or that nothing in its programmes asks for it."""
    if arrival.is_update:
        return
    if asks_new_owner(arrival.ledger, arrival.aircraft):
        line = Span(f"tailsheaf due {arrival.local_name}", "command")
        screen.line(["the new owner's own inspection:  ", line], 2, 2)
    else:
        screen.line(
            "its programmes ask nothing of a new owner; the starter programmes have tasks for "
            "that, named new-owner-…, to copy:  tailsheaf programme turbine-jet   shows them",
            2,
            2,
        )


def arrival_shape(arrival: Arrival, gist: Gist) -> dict[str, object]:
    """The summary as data."""
    compared = arrival.compared
    return {
        "version": 1,
        "aircraft": arrival.aircraft,
        "as": arrival.local_name,
        "title": arrival.title,
        "day": arrival.day.isoformat(),
        "update": arrival.is_update,
        "returns": arrival.returns,
        "older": arrival.older,
        "signature": {
            "state": arrival.signature.state,
            "fingerprint": arrival.signature.fingerprint,
            "before": arrival.signed_before or None,
            "other_hand": arrival.other_hand or None,
        },
        "names": [
            {
                "what": _SHELF[naming.shelf],
                "there": naming.theirs,
                "here": naming.ours,
                "known": naming.known,
                "collides": naming.collides,
            }
            for naming in arrival.namings
        ],
        "registrations": list(arrival.marks),
        "serials": list(arrival.serials),
        "first": None if gist.first is None else gist.first.isoformat(),
        "last": None if gist.last is None else gist.last.isoformat(),
        "open_snags": gist.open,
        "deferred": gist.deferred,
        "incidents": [{"day": day.isoformat(), "what": what} for day, what in gist.incidents],
        "records": {
            "new": len(compared.fresh),
            "same": compared.same,
            "changed": list(compared.changed),
            "ours": len(compared.ours),
            "gone": list(compared.gone),
            "collisions": [{"id": item.id, "there": item.there} for item in compared.collisions],
        },
        "come_true": list(arrival.come_true),
        "declares": dict(arrival.declares),
        "fleet_differs": list(arrival.differs),
        "left_out": left_shape(arrival.left),
        "can_take": not compared.collisions and not arrival.older,
    }
