"""What the notices ask of an aircraft. Where there are none, nothing of them is loaded."""

from __future__ import annotations

from datetime import date

from register.ledger.ledger import Ledger
from register.tasks.items import Item


def view_asked(ledger: Ledger, day: date, aircraft: str) -> tuple[Item, ...]:
    """One item for each open notice, and for each whose answer runs out."""
    records = ledger.records
    if not any(kit.notices for kit in records.kits.values()) and not any(
        file.notices for file in records.aircraft.values()
    ):
        return ()
    from register.findings.notices import view_notice_items

    return tuple(view_notice_items(ledger, day, aircraft))
