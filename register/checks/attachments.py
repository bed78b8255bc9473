"""Files kept with a record that are not where it says."""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from pathlib import Path

from register.checks.survey import warn
from register.ledger.ledger import Ledger
from register.records.bodies import Other
from register.storage.folder import exists
from register.storage.names import is_attachment
from register.trouble import Problem, RegisterError


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


def _is_there(root: Path, path: str) -> bool:
    if not is_attachment(path) or ".." in path.split("/"):
        return False
    try:
        return exists(root, path)
    except (RegisterError, ValueError):
        return False
