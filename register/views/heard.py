"""When each machine of the fleet was last heard from."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, tzinfo

from msgspec import Struct


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
    """Every machine that wrote a record or has a name, the longest silent first."""

    on: date
    own: str
    machines: tuple[MachineHeard, ...]

    @property
    def others(self) -> tuple[MachineHeard, ...]:
        """All but this one."""
        return tuple(machine for machine in self.machines if machine.machine != self.own)


def view_heard(
    wrote: Mapping[str, tuple[int, datetime | None]],
    titles: Mapping[str, str],
    own: str,
    day: date,
    zone: tzinfo,
) -> HeardView:
    """From the records themselves: how many each machine wrote, and the last moment it did."""
    found = []
    for machine in {**wrote, **titles}:
        count, when = wrote.get(machine, (0, None))
        at = None if when is None else when.astimezone(zone)
        days = None if at is None else max((day - at.date()).days, 0)
        found.append(MachineHeard(machine, titles.get(machine, ""), count, at, days))
    found.sort(key=lambda item: (item.last is not None, item.last, item.machine))
    return HeardView(day, own, tuple(found))
