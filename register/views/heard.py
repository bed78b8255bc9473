"""When each machine of the fleet was last heard from."""

from __future__ import annotations

from datetime import date, datetime

from msgspec import Struct

from register.ledger.ledger import Ledger


class MachineHeard(Struct, frozen=True):
    """One machine: what it is called, its records, and when it last wrote one that is here."""

    machine: str
    title: str
    records: int
    last: datetime | None
    days: int | None

    @property
    def name(self) -> str:
        """As it is called, else its random name."""
        return self.title or self.machine


class HeardView(Struct, frozen=True):
    """Every machine that wrote a record, the longest silent first."""

    on: date
    machines: tuple[MachineHeard, ...]

    def others(self, own: str) -> tuple[MachineHeard, ...]:
        """All but one's own."""
        return tuple(machine for machine in self.machines if machine.machine != own)


def view_heard(ledger: Ledger, day: date) -> HeardView:
    """From the records themselves: the last moment at which each machine wrote one."""
    last: dict[str, datetime | None] = {}
    counts: dict[str, int] = {}
    for event in ledger.settled.originals.values():
        if not event.machine:
            continue
        counts[event.machine] = counts.get(event.machine, 0) + 1
        known = last.setdefault(event.machine, event.typed)
        if event.typed is not None and (known is None or event.typed > known):
            last[event.machine] = event.typed
    titles = ledger.records.fleet.machines
    zone = ledger.records.zone
    found = []
    for machine, when in last.items():
        at = None if when is None else when.astimezone(zone)
        days = None if at is None else max((day - at.date()).days, 0)
        found.append(MachineHeard(machine, titles.get(machine, ""), counts[machine], at, days))
    found.sort(key=lambda item: (item.last is not None, item.last, item.machine))
    return HeardView(day, tuple(found))
