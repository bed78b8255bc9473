"""Shell completion over the fleet's own names. A fleet that cannot be read completes nothing."""

from __future__ import annotations

from collections.abc import Iterable

from cli.session import make_session
from register.trouble import RegisterError


def _starting(names: Iterable[str], incomplete: str) -> list[str]:
    return sorted(name for name in names if name.startswith(incomplete.lower()))


def _records() -> object:
    try:
        return make_session().open().standing
    except (RegisterError, OSError):
        return None


def _names(*groups: str) -> list[str]:
    records = _records()
    return [name for group in groups for name in getattr(records, group, ())]


def complete_aircraft(incomplete: str) -> list[str]:
    """Names of aircraft."""
    return _starting(_names("aircraft"), incomplete)


def complete_part(incomplete: str) -> list[str]:
    """Names of parts."""
    return _starting(_names("parts"), incomplete)


def complete_subject(incomplete: str) -> list[str]:
    """Names of aircraft and parts."""
    return _starting(_names("aircraft", "parts"), incomplete)


def complete_task(incomplete: str) -> list[str]:
    """Names of tasks in the fleet's programmes."""
    programmes = getattr(_records(), "programmes", {})
    return _starting({t.id for p in programmes.values() for t in p.tasks}, incomplete)


def complete_programme(incomplete: str) -> list[str]:
    """Names of the fleet's programmes and of the starters."""
    from register.starters.catalogue import starter_names

    return _starting({*_names("programmes"), *starter_names()}, incomplete)


def complete_snag(incomplete: str) -> list[str]:
    """Ids of open snags."""
    try:
        ledger = make_session().open().ledger
    except (RegisterError, OSError):
        return []
    return _starting((e.id for e in ledger.events if e.kind == "snag"), incomplete)


def complete_stock(incomplete: str) -> list[str]:
    """Names of what lies on the shelf."""
    from register.records.stock import read_stock

    node = getattr(_records(), "stock", None)
    return _starting(read_stock(node)[0], incomplete)


def complete_notice(incomplete: str) -> list[str]:
    """Names of notices, aircraft and parts."""
    records = _records()
    shelves = (getattr(records, "kits", {}), getattr(records, "aircraft", {}))
    names = {name for shelf in shelves for file in shelf.values() for name in file.notices}
    return _starting({*names, *_names("aircraft", "parts")}, incomplete)
