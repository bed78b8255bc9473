"""When the other machines were last heard from: the foot of every list of what is due."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cli.render.screen import Screen, Span

if TYPE_CHECKING:
    from register.views.heard import HeardView, MachineHeard


def add_heard(screen: Screen, heard: HeardView | None) -> None:
    """One faint line; none where the fleet is on one machine only."""
    if heard is None or not heard.others:
        return
    told = "; ".join(f"{item.name} {tell_last(item)}" for item in heard.others)
    screen.line(Span(f"last heard from: {told}", "faint"), 0, 2)


def tell_last(item: MachineHeard) -> str:
    """When a machine last wrote, and how long ago."""
    if item.last is None or item.days is None:
        return "nothing yet"
    if item.is_ahead:
        return f"{item.last.date().isoformat()} by its clock, which is to come"
    ago = "today" if item.days == 0 else f"{item.days} day{'' if item.days == 1 else 's'} ago"
    return f"{item.last.date().isoformat()}, {ago}"


def machine_shape(item: MachineHeard) -> dict[str, object]:
    """One machine as data."""
    return {
        "machine": item.machine,
        "title": item.title,
        "records": item.records,
        "last": None if item.last is None else item.last.isoformat(),
        "days_ago": None if item.is_ahead else item.days,
    }


def heard_shape(heard: HeardView | None) -> dict[str, object]:
    """`last_heard`, in the answers of a fleet that is on several machines."""
    if heard is None:
        return {}
    return {"last_heard": [machine_shape(item) for item in heard.others]}
