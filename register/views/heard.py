"""When each machine of the fleet was last heard from."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, tzinfo

from msgspec import Struct


class MachineHeard(Struct, frozen=True):
    """One machine: what it is called, its records, and when it last wrote one that is here.

    `is_ahead`: every moment of it is to come, so its clock was wrong.
    """

    machine: str
    title: str
    records: int
    last: datetime | None
    days: int | None
    is_ahead: bool = False

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
    wrote: Mapping[str, tuple[int, tuple[datetime, ...]]],
    titles: Mapping[str, str],
    own: str,
    day: date,
    zone: tzinfo,
) -> HeardView:
    """From the records themselves: how many each machine wrote, and the last moment it did.

    A moment that is to come was written by a clock that ran ahead, and tells nothing.
    """
    found = []
    for machine in {**wrote, **titles}:
        count, moments = wrote.get(machine, (0, ()))
        told = [when.astimezone(zone) for when in moments]
        past = [at for at in told if at.date() <= day]
        at = max(past or told, default=None)
        days = None if at is None else max((day - at.date()).days, 0)
        title = titles.get(machine, "")
        found.append(MachineHeard(machine, title, count, at, days, bool(told) and not past))
    found.sort(key=lambda item: (item.last is not None, item.last, item.machine))
    return HeardView(day, own, tuple(found))
