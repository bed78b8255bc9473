"""sync: exchange with the fleet's other machines.

With `--json` an exchange answers, version 1:

    {"version": 1, "machine": "m-2468c2jn",
     "carriers": [{"name", "where", "heard": [{"machine", "letters"}], "sent": true,
                   "waiting": [{"machine", "letter", "why", "since"}],
                   "trouble": null or why it did not work, "mend"}],
     "records": {aircraft or part: how many came}, "files": [hand-made files that changed],
     "clashes": [ids opened],
     "renamed": [{"name", "before"}], things whose name another one has,
     "typed_twice": [{"aircraft", "day", "first", "later", "mend"}],
     "unsaved": [edits by hand that stayed on this machine],
     "amended_apart": [{"id", "short", "record", "key", "counted", "mend"}],
     "copies": [{"path", "says", "moved": null where it needs you}],
     "note": null or words}

`--list` answers `carriers` as `{"name", "kind", "where", "worked"}` and `machines` as
`{"machine", "title", "records", "last", "days_ago"}`; `--add` and `--remove` answer
`{"deed", "carrier"}`; `--settle` and `--call-me` answer as every entry does.
"""

from __future__ import annotations

from typing import Annotated

import typer

from cli.session import Session, current_session
from register.trouble import RegisterError

EXAMPLE = "Example: tailsheaf sync --add stick /media/stick"


def command(
    carriers: Annotated[
        list[str] | None, typer.Argument(help="Which carriers; without, all of them.")
    ] = None,
    add: Annotated[
        tuple[str, str] | None,
        typer.Option(
            "--add",
            metavar="NAME WHERE",
            help="Set a carrier: a folder (stick, synced folder), a repository, https:// or ssh://",
        ),
    ] = None,
    remove: Annotated[
        str | None, typer.Option("--remove", metavar="NAME", help="Take a carrier off.")
    ] = None,
    listed: Annotated[
        bool, typer.Option("--list", help="Carriers, and when each machine was last heard from.")
    ] = False,
    call_me: Annotated[
        str | None,
        typer.Option("--call-me", metavar="WORDS", help="What the others call this machine."),
    ] = None,
    settle: Annotated[
        tuple[str, str] | None,
        typer.Option(
            "--settle",
            metavar="CLASH 1|2|VALUE",
            help="Say which of two values holds, or a third one.",
        ),
    ] = None,
) -> None:
    """Hear from other machines, join what both wrote, and tell them what they have not."""
    session = current_session()
    if sum(bool(given) for given in (add, remove, listed, call_me, settle, carriers)) > 1:
        raise RegisterError(
            "one thing at a time: --add, --remove, --list, --call-me, --settle, or carriers to use",
            mend="tailsheaf sync",
            code="usage",
        )
    if settle is not None:
        from register.settling_clashes import settle_clash

        clerk = session.clerk()
        session.record(settle_clash(session.open().root, clerk, *settle))
    elif call_me is not None:
        from register.entry.machines import plan_naming

        session.record(plan_naming(session.clerk(), call_me))
    elif add is not None:
        _add(session, *add)
    elif remove is not None:
        _remove(session, remove)
    elif listed:
        _list(session)
    else:
        _sync(session, carriers or [])


def _sync(session: Session, names: list[str]) -> None:
    from cli.render.sync import Apart, render_synced
    from register.copying import settle_copies
    from register.git.history import paths_not_in_history
    from register.storage.journal import machine_id
    from register.syncing import read_titles, sync_fleet

    fleet = session.open()
    copies = settle_copies(fleet, session.now.strftime("%Y-%m-%d-%H%M%S"))
    done = sync_fleet(fleet.root, names, session.now)
    own = machine_id(fleet.root) or ""
    unsaved = paths_not_in_history(fleet.root)
    titles = read_titles(fleet.root)
    if not done.amendments and not done.flights:
        render_synced(session, done, copies, own, titles, Apart((), (), frozenset(), unsaved))
        return
    # Only then: folding a ledger takes as long as all the rest.
    from cli.replay import find_key_path
    from register.desk import read_records
    from register.settling_clashes import find_disputed, find_typed_twice

    joined = read_records(fleet.root, find_key_path(session.environment))
    came = (*done.amendments, *done.flights)
    # Only what hangs together with what came is opened.
    ledger = joined.cut(
        joined.find_circles({path.partition("/events/")[0] for path in came})
    ).ledger
    apart = Apart(
        find_disputed(ledger, done.amendments),
        find_typed_twice(ledger, done.flights),
        joined.find_ids(),
        unsaved,
    )
    render_synced(session, done, copies, own, titles, apart)


def _add(session: Session, name: str, where: str) -> None:
    from cli.render.sync import render_carrier
    from register.syncing import add_carrier

    root = session.open().root
    render_carrier(session, add_carrier(root, name, where, session.cwd, session.chance), "set")


def _remove(session: Session, name: str) -> None:
    from cli.render.sync import render_carrier
    from register.syncing import remove_carrier

    render_carrier(session, remove_carrier(session.open().root, name), "taken off")


def _list(session: Session) -> None:
    from cli.render.sync import render_carriers
    from register.storage.carriers import read_carriers
    from register.storage.journal import machine_id
    from register.views.heard import view_heard

    fleet = session.open()
    titles, own = fleet.standing.fleet.machines, machine_id(fleet.root) or ""
    view = view_heard(fleet.find_writers(), titles, own, session.on, fleet.zone)
    render_carriers(session, read_carriers(fleet.root), view)
