"""Files kept with a record that are not where it says, and files that no record names."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from pathlib import Path

from register.checks.survey import warn
from register.ledger.ledger import Ledger
from register.records.bodies import Other
from register.storage.folder import exists, list_attachments
from register.storage.names import is_attachment
from register.trouble import Place, Problem, RegisterError


def check_attachments(root: Path, ledger: Ledger) -> Iterator[Problem]:
    """A note whose file is gone, or names a file that no attachment can be."""
    for event in ledger.events:
        path = event.body.attachment if isinstance(event.body, Other) else None
        if path is None or _is_there(root, path):
            continue
        if is_attachment(path) and ".." not in path.split("/"):
            says = f"attachment: {path} is not there"
            mend = f"git checkout -- {shlex.quote(path)}   takes it back, if it was in history"
        else:
            says = f"attachment: {path[:80]!r} is not in an attachments folder of the fleet"
            mend = f"tailsheaf withdraw {event.id[:6]}   and attach the file anew"
        yield warn(event.place("attachment"), "attachment-missing", says, mend)


def check_attachments_named(root: Path, ledger: Ledger) -> Iterator[Problem]:
    """A kept file that no record names, not even one that was withdrawn."""
    named = {
        event.body.attachment
        for event in ledger.settled.originals.values()
        if isinstance(event.body, Other)
    }
    amended = {e.body.attachment for e in ledger.settled.events if isinstance(e.body, Other)}
    folders = [f"aircraft/{name}" for name in ledger.records.aircraft]
    folders += [f"parts/{name}" for name in ledger.records.parts]
    lost = {path.partition("/events/")[0] for path in ledger.records.unread}
    for folder in sorted({*folders} - lost):
        for path in list_attachments(root, folder):
            if path not in named and path not in amended:
                kept = shlex.quote(path)
                yield warn(
                    Place(path),
                    "attachment-idle",
                    "no record names this file",
                    f"tailsheaf attach {folder.partition('/')[2]} {kept}   keeps it with a record; "
                    f"then, or if it is not wanted:  git rm -- {kept}",
                )


def _is_there(root: Path, path: str) -> bool:
    if not is_attachment(path) or ".." in path.split("/"):
        return False
    try:
        return exists(root, path)
    except (RegisterError, ValueError):
        return False
