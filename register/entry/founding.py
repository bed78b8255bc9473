"""Founding a fleet: everything is checked first, then folder, repository and first records."""

from __future__ import annotations

import random
from collections.abc import Mapping
from pathlib import Path

from msgspec import Struct

from register.entry import fleets
from register.storage.founding import check_ground, find_local_zone, fit_changes, make_ground
from register.storage.journal import write_machine_id


class Founding(Struct, frozen=True):
    """What a new fleet is to be; an option not given is None."""

    name: str | None = None
    zone: str | None = None
    season_start: str | None = None
    example: bool = False
    usual_zone: str | None = None


def begin_fleet(
    root: Path, wish: Founding, chance: random.Random, example: Mapping[str, bytes] | None
) -> None:
    """Make a folder, its repository and its first records; `example` are the files to copy.

    Raises RegisterError before anything is written: usage for wrong words, REFUSED for the
    place, CANNOT_RUN for git or an identity that is missing. One that is cut short is gone
    on with by the next call.
    """
    from register.git.apply import apply_changes
    from register.git.commit import check_identity
    from register.git.repository import init_repository
    from register.git.wrapper import is_ours, require_git

    zone = (
        fleets.check_zone(wish.zone)
        if wish.zone
        else fleets.choose_zone(wish.usual_zone, find_local_zone())
    )
    season = fleets.check_season_start(wish.season_start or "03-01")
    name = fleets.check_fleet_name(wish.name or root.name or "fleet")
    check_ground(root)
    require_git()
    owner, _ = check_identity(root)
    commits: tuple[fleets.Commit, ...] = (
        ("Begin the fleet", fleets.plan_fleet(name, zone, season, owner)),
    )
    if example is not None:
        commits = fleets.plan_example(example)
    make_ground(root)
    if not is_ours(root):
        init_repository(root)
    write_machine_id(root, fleets.make_machine_id(chance))
    for message, changes in commits:
        apply_changes(root, fit_changes(root, changes), message)
