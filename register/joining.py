"""A second machine joins a fleet: its history comes from a carrier into a new folder."""

from __future__ import annotations

import random
from datetime import datetime
from pathlib import Path

from msgspec.structs import replace

from register.desk import Fleet, read_records
from register.entry.fleets import make_machine_id
from register.git.arriving import list_heard
from register.git.commit import check_identity
from register.git.remotes import check_name
from register.git.repository import init_repository
from register.git.wrapper import is_ours, require_git
from register.storage.carriers import Carrier, note_worked, write_carriers
from register.storage.founding import check_ground, make_ground
from register.storage.journal import write_machine_id
from register.storage.mailbox import list_fleets
from register.syncing import MAILBOX, fleet_mark, hear, make_carrier, take_heard
from register.trouble import Exit, RegisterError

#: What a carrier is called that a fleet was joined by.
FIRST = "first"


def join_fleet(root: Path, where: str, cwd: Path, now: datetime, chance: random.Random) -> Fleet:
    """Make `root` this machine's copy of the fleet that a carrier holds.

    Raises RegisterError before anything is written where the place, git or an identity is
    missing; CANNOT_RUN `carrier-empty` where the carrier holds no fleet yet.
    """
    carrier = _find_fleet(make_carrier(_name_for(where), where, cwd, ""))
    check_ground(root)
    require_git()
    check_identity(root)
    make_ground(root)
    if not is_ours(root):
        init_repository(root)
    write_machine_id(root, make_machine_id(chance))
    carrier, exchange = hear(root, carrier, now.date().isoformat())
    if not list_heard(root):
        first = exchange.waits[:1]
        waits = "".join(f" (letter {x.number} of {x.machine} {x.why})" for x in first)
        raise RegisterError(
            f"{where} holds no fleet yet{waits}; the new folder is empty",
            mend="tailsheaf sync   on the machine that has the fleet; then this line again",
            exit_code=Exit.CANNOT_RUN,
            code="carrier-empty",
        )
    take_heard(root)
    carrier = replace(carrier, fleet=fleet_mark(root))
    carrier = note_worked(carrier, now.isoformat(timespec="minutes"))
    write_carriers(root, {carrier.name: carrier})
    return read_records(root)


def _name_for(where: str) -> str:
    """The carrier is called as its last part is, where that can be a name."""
    last = where.rstrip("/").rpartition("/")[2].rpartition(":")[2].removesuffix(".git").lower()
    try:
        return check_name(last)
    except RegisterError:
        return FIRST


def _find_fleet(carrier: Carrier) -> Carrier:
    """The fleet in a mailbox; where there are several, which one has to be said."""
    if carrier.kind != MAILBOX:
        return carrier
    fleets = list_fleets(Path(carrier.where))
    if len(fleets) != 1:
        many = f"holds {len(fleets)} fleets ({', '.join(fleets)})" if fleets else "holds no fleet"
        raise RegisterError(
            f"the mailbox {carrier.where} {many}",
            mend="name the fleet's own folder in it"
            if fleets
            else "tailsheaf sync --add stick DIR   and  tailsheaf sync   on the first machine",
            exit_code=Exit.CANNOT_RUN,
            code="carrier-empty",
        )
    return Carrier(carrier.name, MAILBOX, carrier.where, fleet=fleets[0])
