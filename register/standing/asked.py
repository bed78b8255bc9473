"""What the notices ask of an aircraft. Where there are none, nothing of them is loaded."""

from __future__ import annotations

from datetime import date

from register.ledger.ledger import Ledger
from register.tasks.items import Item


def has_notices(ledger: Ledger) -> bool:
    """Is there any notice at all? Most fleets have none."""
    records = ledger.records
    return any(kit.notices for kit in records.kits.values()) or any(
        file.notices for file in records.aircraft.values()
    )


def view_asked(ledger: Ledger, day: date, aircraft: str) -> tuple[Item, ...]:
    """One item for each open notice, and for each whose answer runs out."""
    if not has_notices(ledger):
        return ()
    from register.findings.notices import view_notice_items

    return tuple(view_notice_items(ledger, day, aircraft))
