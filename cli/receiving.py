"""Carrying a receive out: quarantine, look, and with --take one commit that holds it all."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from register.trouble import RegisterError

if TYPE_CHECKING:
    from cli.session import Session
    from register.entry.clerk import Stamp
    from register.transfer.incoming import Wanted


class ReceiveWords(Struct, frozen=True):
    """The options of `receive`, as typed."""

    take: bool
    as_name: str | None
    names: tuple[str, ...]
    key: str | None
    unverified: bool


def receive_file(session: Session, file: str, words: ReceiveWords, stamp: Stamp) -> None:
    """Show what a handover file brings; with --take, write it."""
    from cli.render.receive import render_arrival, render_taken
    from register.receiving import opened_arrival, take_arrival
    from register.storage.outside import read_outside
    from register.storage.parcel import LARGEST
    from register.transfer.incoming import compare_totals, name_arrival

    fleet = session.open()
    data = read_outside(session.cwd / Path(file), LARGEST)
    wanted = _read_wanted(session, words)
    with ExitStack() as held:
        with session.stages() as tell:
            arrival = held.enter_context(opened_arrival(fleet, data, wanted, tell))
        if not words.take:
            from register.views.arriving import view_gist

            gist = view_gist(arrival.ledger, arrival.aircraft)
            render_arrival(session, arrival, gist, file)
            return
        from register.entry.owners import draft_coming

        beside: dict[str, bytes] = {}
        clerk = session.clerk(stamp.by)
        gone = fleet.ledger.gone(("aircraft", arrival.local_name)) if arrival.returns else None
        if gone is not None or not (arrival.is_update or arrival.returns):
            refs = name_arrival(arrival)
            change, _ = draft_coming(clerk, arrival.local_name, refs, stamp)
            beside[change.path] = change.after
        taken = take_arrival(fleet, arrival, beside)
    odd: tuple[str, ...] = ()
    if not (arrival.is_update or arrival.returns):
        from register.desk import read_records

        odd = compare_totals(read_records(fleet.root).ledger, arrival)
    render_taken(session, arrival, taken, odd)


def _read_wanted(session: Session, words: ReceiveWords) -> Wanted:
    from register.entry.naming import check_new_name
    from register.git.signing import read_public_key
    from register.storage.outside import read_outside
    from register.transfer.incoming import Wanted

    names: dict[str, str] = {}
    for word in words.names:
        theirs, equals, ours = word.partition("=")
        if not equals or not theirs.strip():
            raise RegisterError(
                f"{word[:60]!r} does not say which name becomes which",
                mend="--name sv-22=sv-22-heron   their name, then yours",
                code="name-wrong",
            )
        names[theirs.strip().lower()] = check_new_name(ours, (), "thing")
    as_name = None if words.as_name is None else check_new_name(words.as_name, (), "aircraft")
    key = None
    if words.key is not None:
        path = session.cwd / Path(words.key)
        key = read_public_key(path.name, read_outside(path, 100_000))
    return Wanted(names, as_name, key, words.unverified)
