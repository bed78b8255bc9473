"""Which events are withdrawn, also where withdrawals name each other or each other's doubles.

Two machines may each withdraw the other's record of one flight. Neither knew, and taken at
their word nothing of the flight would be left. So of records that are only withdrawn as doubles
of one another one counts: the one whose id sorts first, the same on every machine.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

from msgspec import Struct

from register.records.bodies import Withdrawal
from register.records.events import Event

Aims = Mapping[str, Sequence[Event]]
Status = dict[str, "Event | None"]


class Ring(Struct, frozen=True):
    """Records of one thing of which none would be left: the withdrawals that say so, by id.

    `stays` is the one that counts all the same; None where one of them was withdrawn for
    another reason, and then none of them counts.
    """

    withdrawals: tuple[Event, ...]
    stays: str | None


def settle_withdrawals(
    by_id: Mapping[str, Event], aims: Aims
) -> tuple[dict[str, Event], tuple[Ring, ...]]:
    """What is withdrawn and by which event, and where doubles were withdrawn with each other.

    `aims` are the withdrawals of each event. A withdrawal that is withdrawn counts for nothing.
    """
    kept: dict[str, Ring] = {}
    while True:
        status = _decide_all(aims, kept)
        found = tuple(_find_rings(by_id, aims, status))
        new = {ring.stays: ring for ring in found if ring.stays is not None}
        if not new:
            break
        # Withdrawals first: whether a record is withdrawn at all depends on them.
        deep = {id_: ring for id_, ring in new.items() if isinstance(by_id[id_].body, Withdrawal)}
        kept.update(deep or new)
    withdrawn = {id_: by for id_ in sorted(aims) if (by := status.get(id_)) is not None}
    return withdrawn, (*(kept[id_] for id_ in sorted(kept)), *found)


def _decide_all(aims: Aims, kept: Collection[str]) -> Status:
    status: Status = dict.fromkeys(kept)
    for start in sorted(aims):
        _decide(start, aims, status)
    return status


def _decide(start: str, aims: Aims, status: Status) -> None:
    """The withdrawal in force on an event, if any; a withdrawn one counts for nothing.

    A chain may be as long as there are files, so it is followed without recursion. A
    ring is cut at the event that closes it.
    """
    path = [start]
    while path:
        id_ = path[-1]
        by_all = sorted(aims.get(id_, ()), key=lambda item: item.id)
        open_ = [by.id for by in by_all if by.id not in status and by.id not in path]
        if id_ in status or not open_:
            standing = (by for by in by_all if by.id in status and status[by.id] is None)
            status.setdefault(id_, next(standing, None))
            path.pop()
        else:
            path.append(open_[0])


def _find_rings(by_id: Mapping[str, Event], aims: Aims, status: Status) -> Iterator[Ring]:
    """Records that are one by what withdrawals in force say, where none of them is left."""
    links = _link_doubles(by_id, aims, status)
    for same in _group(links):
        if any(status.get(id_) is None for id_ in same):
            continue
        doubles = {id_ for id_ in same if all(_twin_of(by) for by in _in_force(id_, aims, status))}
        # Whoever leads to one that is withdrawn for another reason goes with it.
        lost = same - doubles
        while more := {id_ for id_ in doubles - lost if any(x in lost for x in links[id_])}:
            lost |= more
        stays = min(same - lost, default=None)
        named = sorted(doubles - lost) if stays is not None else sorted(same)
        by_all = tuple(by for id_ in named for by in _in_force(id_, aims, status))
        yield Ring(by_all, stays)


def _link_doubles(
    by_id: Mapping[str, Event], aims: Aims, status: Status
) -> dict[str, tuple[str, ...]]:
    """What each record is said to be a double of, by the withdrawals in force on it."""
    links: dict[str, tuple[str, ...]] = {}
    for id_ in sorted(aims):
        twins = (_twin_of(by) for by in _in_force(id_, aims, status))
        known = tuple(dict.fromkeys(twin for twin in twins if twin and twin in by_id))
        if known:
            links[id_] = known
    return links


def _in_force(id_: str, aims: Aims, status: Status) -> list[Event]:
    """The withdrawals of an event that are not withdrawn themselves, in the order of their ids."""
    found = sorted(aims.get(id_, ()), key=lambda item: item.id)
    return [by for by in found if status.get(by.id) is None]


def _twin_of(by: Event) -> str | None:
    return by.body.duplicate_of if isinstance(by.body, Withdrawal) else None


def _group(links: Mapping[str, tuple[str, ...]]) -> list[set[str]]:
    """Sets of records that hang together, in the order of their first ids."""
    group: dict[str, set[str]] = {}
    for id_, twins in links.items():
        for twin in twins:
            one, two = group.setdefault(id_, {id_}), group.setdefault(twin, {twin})
            if one is not two:
                one |= two
                group.update(dict.fromkeys(two, one))
    return [same for id_, same in sorted(group.items()) if id_ == min(same)]
