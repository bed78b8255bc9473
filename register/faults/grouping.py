"""Faults in groups, each with the use it is counted against."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from typing import Literal, get_args

from msgspec import Struct

from register.faults.service import Fault, Usage
from register.faults.watches import Watch, make_watch
from register.ledger.ledger import Ledger
from register.records.fault_words import LANDED, RUN
from register.tasks.calendar import season_day

By = Literal["system", "mode", "kind", "position", "kit", "aircraft", "season"]
KEYS: tuple[By, ...] = get_args(By)
DEFAULT: tuple[By, ...] = ("system", "mode")
NOT_SAID = {
    "system": "no system said",
    "mode": "mode not said",
    "kind": "no part named",
    "position": "no position said",
    "kit": "no kit",
    "aircraft": "off any aircraft",
    "season": "no season",
}
#: What a fault is told by; the rest is whose it is and when.
TOLD: tuple[By, ...] = ("system", "mode", "kind", "position")
Likeness = Literal["one", "mixed", "unsaid"]
#: So much of the flights must say how much of a counter, for it to be counted against.
RECORDED = 0.9
#: A rate is given for so much of a counter; engine minutes are told as hours.
PER: dict[str, tuple[float, str, str]] = {
    "flights": (100.0, "100 flights", "flights"),
    "landings": (100.0, "100 landings", "landings"),
    "engine-minutes": (6000.0, "100 engine hours", "engine hours"),
}


class Scope(Struct, frozen=True):
    """What is asked of: aircraft, from a day on, one part, one system, one mode."""

    aircraft: tuple[str, ...]
    since: date | None = None
    until: date | None = None
    part: str | None = None
    chapter: str | None = None
    mode: str | None = None
    #: Faults of parts off any aircraft are asked of too.
    everywhere: bool = True

    def holds(self, fault: Fault) -> bool:
        """Is a fault asked of?"""
        return (
            (self.since is None or fault.day >= self.since)
            and (self.until is None or fault.day <= self.until)
            and (fault.aircraft in self.aircraft or (fault.aircraft is None and self.everywhere))
            and (self.part is None or fault.state.part == self.part)
            and (self.chapter is None or fault.chapter == self.chapter)
            and (self.mode is None or fault.mode == self.mode)
        )


class Exposed(Struct, frozen=True):
    """One aircraft behind a group: its use, and its faults of the group on that scale.

    Several faults of one day are one occasion: screws found loose on one evening came loose by
    one cause, or were found by one look. The watch has a place for each occasion.
    """

    aircraft: str
    exposure: float
    vague: bool
    count: int
    occasions: int
    watch: Watch | None
    #: The same with a place for every fault.
    every: Watch | None
    #: The share of its use up to the last fault of the group, wherever that was found, and the
    #: use since; 1 and none where it has not flown since, or perhaps not.
    before_last: float
    since_last: float


class Group(Struct, frozen=True):
    """Faults that share what they are grouped by. `faults` are those in service.

    `counter` is what they are counted against, `others` were found in the kit or the build.
    `likeness`: they share something that is said of each, so that a fix can end it; they are
    mixed (all of an aircraft, a season); or it is not said what they are.
    """

    key: tuple[str | None, ...]
    label: str
    faults: tuple[Fault, ...]
    others: int
    counter: str
    #: Why these are counted against flights, where another counter would fit them; "" else.
    why: str
    exposed: tuple[Exposed, ...]
    #: Faults and use by season, first to last.
    seasons: tuple[tuple[int, int, float], ...]
    likeness: Likeness

    @property
    def exposure(self) -> float:
        """Use of all aircraft behind it, in the counter."""
        return sum(one.exposure for one in self.exposed)

    @property
    def occasions(self) -> int:
        """Days with a fault, of each aircraft: what tests and least numbers count."""
        return sum(one.occasions for one in self.exposed)

    @property
    def is_vague(self) -> bool:
        """Is some of the use a range, of which the lower end counts?"""
        return any(one.vague for one in self.exposed)

    @property
    def since_last(self) -> float:
        """Use since the last fault, of the aircraft that had one: no other tells of a quiet.

        Nothing where the aircraft that had the last has not flown since.
        """
        last = self.faults[-1].aircraft if self.faults else None
        mine = [one for one in self.exposed if one.count]
        flew = any(one.aircraft == last and one.since_last > 0 for one in mine)
        return sum(one.since_last for one in mine) if flew else 0.0

    @property
    def watches(self) -> tuple[Watch, ...]:
        """The aircraft that were used, with the faults in their places."""
        return tuple(one.watch for one in self.exposed if one.watch is not None)


class Sorter:
    """Groups the faults of a ledger; use of each aircraft is worked out once."""

    def __init__(
        self, ledger: Ledger, faults: Sequence[Fault], scope: Scope, *, compares: bool = False
    ):
        self.ledger = ledger
        self.scope = scope
        #: Both sides are set beside each other: the one without the fault counts too.
        self.compares = compares
        self.faults = [fault for fault in faults if scope.holds(fault)]
        self._usage: dict[str, Usage] = {}
        self._equipped = self._find_equipped(faults)

    def usage(self, aircraft: str) -> Usage:
        """The use of one aircraft."""
        found = self._usage.get(aircraft)
        if found is None:
            found = self._usage[aircraft] = Usage(self.ledger, aircraft)
        return found

    def _find_equipped(self, faults: Iterable[Fault]) -> dict[tuple[str, str], set[str]]:
        """Aircraft by a system or position that is listed anywhere: those that list it, and those
        that had a fault of it. What nobody lists (a radio link) all of them are taken to have."""
        found: dict[tuple[str, str], set[str]] = defaultdict(set)
        rules = self.ledger.records.fleet.faults
        for name in self.scope.aircraft:
            for position in self.ledger.positions(name).values():
                found["position", position.name].add(name)
                chapter = rules.chapter_of(position.system)
                if chapter is not None:
                    found["system", chapter].add(name)
        for fault in faults:
            for key in (("system", fault.chapter or ""), ("position", fault.position or "")):
                if key in found and fault.aircraft in self.scope.aircraft:
                    found[key].add(fault.aircraft or "")
        return found

    def group(self, by: Sequence[By]) -> tuple[Group, ...]:
        """Every group, the most faults first; seasons alone in their order."""
        found: dict[tuple[str | None, ...], list[Fault]] = defaultdict(list)
        for fault in self.faults:
            found[tuple(_KEYED[key](fault) for key in by)].append(fault)
        groups = [self.make(by, key, faults) for key, faults in found.items()]
        if tuple(by) == ("season",):
            return tuple(sorted(groups, key=lambda one: one.label))
        return tuple(sorted(groups, key=lambda one: (-len(one.faults), -one.others, one.label)))

    def make(self, by: Sequence[By], key: tuple[str | None, ...], faults: Sequence[Fault]) -> Group:
        """One group with the use that fits it."""
        served = tuple(fault for fault in faults if fault.serves)
        names = self._aircraft_of(dict(zip(by, key, strict=True)))
        since, until = self._period(dict(zip(by, key, strict=True)))
        of_system = "system" in by or self.scope.chapter is not None
        names = self._having(names, served) if of_system else names
        counter, why = self._counter_of(served if of_system else (), names, since, until)
        exposed = tuple(self._expose(name, served, counter, since, until) for name in names)
        return Group(
            key,
            self.label(by, key),
            served,
            len(faults) - len(served),
            counter,
            why,
            exposed,
            self._by_season(served, names, counter, since, until),
            self._likeness(dict(zip(by, key, strict=True)), served),
        )

    def _likeness(self, fixed: dict[By, str | None], faults: Sequence[Fault]) -> Likeness:
        asked = (self.scope.chapter, self.scope.mode, self.scope.part)
        if any(fixed.get(key) for key in TOLD) or any(asked):
            return "one"
        if any(key in fixed for key in TOLD):
            return "unsaid"
        said = [
            {fault.chapter or fault.system for fault in faults},
            {fault.mode for fault in faults},
            {fault.position for fault in faults},
            {fault.state.part for fault in faults},
        ]
        return "one" if any(len(words) == 1 and None not in words for words in said) else "mixed"

    def label(self, by: Sequence[By], key: tuple[str | None, ...]) -> str:
        """A group in words; what is not said is said once where nothing is."""
        rules = self.ledger.records.fleet.faults
        words = []
        for name, value in zip(by, key, strict=True):
            if value is None:
                words.append(NOT_SAID[name])
            elif name == "system":
                titled = rules.chapter_of(value) == value
                words.append(rules.system_title(value) if titled else value)
            else:
                words.append(value)
        return ", ".join(words)

    def _aircraft_of(self, fixed: dict[By, str | None]) -> tuple[str, ...]:
        """The aircraft whose use could have brought a fault of this group."""
        names = list(self.scope.aircraft)
        if fixed.get("aircraft") is not None:
            names = [name for name in names if name == fixed["aircraft"]]
        if "kit" in fixed:
            records = self.ledger.records
            kits = {name: records.find_kit(records.aircraft[name].kit) for name in names}
            names = [n for n in names if (k := kits[n]) is not None and k.name == fixed["kit"]] or [
                n for n in names if kits[n] is None and fixed["kit"] is None
            ]
        for key in ("system", "position"):
            value = fixed.get(key) or (self.scope.chapter if key == "system" else None)
            having = self._equipped.get((key, value or ""))
            if having:
                names = [name for name in names if name in having]
        return tuple(names)

    def _having(self, names: tuple[str, ...], faults: Sequence[Fault]) -> tuple[str, ...]:
        """Of a system that nobody lists, the aircraft that had the fault; of others, as they are.

        What one with another engine was used tells nothing of a silencer that it has not.
        """
        listed = {chapter for kind, chapter in self._equipped if kind == "system"}
        having = {fault.aircraft for fault in faults}
        if self.compares or not having or {fault.chapter for fault in faults} & listed:
            return names
        return tuple(name for name in names if name in having)

    def _period(self, fixed: dict[By, str | None]) -> tuple[date | None, date | None]:
        since, until = self.scope.since, self.scope.until
        if fixed.get("season"):
            start = self.ledger.records.fleet.season_start
            year = int(fixed["season"] or 0)
            first, after = season_day(year, start), season_day(year + 1, start)
            since = max(first, since or first)
            until = min(date.fromordinal(after.toordinal() - 1), until or date.max)
        return since, until

    def _counter_of(
        self, faults: Sequence[Fault], names: Sequence[str], since: date | None, until: date | None
    ) -> tuple[str, str]:
        """Landings for the gear, engine time for the engine, flights for all else; and why not.

        Flights too where the rows are not of systems, so that they can be set side by side, and
        where the other was recorded for less than nine flights of ten: so no single record turns
        the unit of many.
        """
        wanted = {_fitting(fault.chapter) for fault in faults}
        counter = wanted.pop() if len(wanted) == 1 else "flights"
        if counter == "flights":
            return counter, ""
        uses = [self.usage(name) for name in names]
        flown = sum(use.gained("flights", since, until) for use in uses)
        said = flown - sum(use.unsaid(counter, since, until) for use in uses)
        if said >= RECORDED * flown and any(use.gained(counter, since, until) for use in uses):
            return counter, ""
        what = "engine time is" if counter == "engine-minutes" else "landings are"
        return "flights", (
            f"by flights, for {what} recorded of {said:.0f} of {flown:.0f} (it takes 9 in 10)"
        )

    def _expose(
        self,
        name: str,
        faults: Sequence[Fault],
        counter: str,
        since: date | None,
        until: date | None,
    ) -> Exposed:
        use = self.usage(name)
        exposure = use.gained(counter, since, until)
        mine = [fault for fault in faults if fault.aircraft == name]
        occasions = list({fault.day: fault for fault in reversed(mine)}.values())
        watch = every = None
        # Found before the first flight or after the last: at the end of the scale it is near.
        edge = min(0.25, exposure / 4)
        if exposure > 0:
            at = {one.state.id: use.place(counter, one, since) for one in mine}
            at = {id_: min(max(place, edge), exposure) for id_, place in at.items()}
            watch = make_watch((at[one.state.id] for one in occasions), exposure)
            every = make_watch(at.values(), exposure)
        vague = use.is_vague(counter, since, until)
        quiet = 0.0
        if faults and exposure > 0:
            quiet = exposure - self._before(name, faults[-1], counter, since, until)
        half = 0.5 if counter != "engine-minutes" else 0.0
        ended = exposure - quiet - (half if faults and faults[-1].aircraft == name else 0.0)
        before = min(max(edge, ended), exposure) / exposure if quiet > 0 else 1.0
        quiet = max(quiet, 0.0)
        return Exposed(
            name, exposure, vague, len(mine), len(occasions), watch, every, before, quiet
        )

    def _by_season(
        self,
        faults: Sequence[Fault],
        names: Sequence[str],
        counter: str,
        since: date | None,
        until: date | None,
    ) -> tuple[tuple[int, int, float], ...]:
        start = self.ledger.records.fleet.season_start
        counts = Counter(fault.season for fault in faults)
        flown = [day for name in names for day in self.usage(name).days[:1]]
        flown += [day for name in names for day in self.usage(name).days[-1:]]
        years = (
            [*counts, *(_season_year(day, start) for day in (min(flown), max(flown)))]
            if (flown)
            else list(counts)
        )
        found = []
        for year in range(min(years), max(years) + 1) if years else ():
            first, after = season_day(year, start), season_day(year + 1, start)
            last = date.fromordinal(after.toordinal() - 1)
            low, high = max(first, since or first), min(last, until or last)
            used = sum(self.usage(name).gained(counter, low, high) for name in names)
            if low <= high and (used or counts[year]):
                found.append((year, counts[year], used))
        return tuple(found)

    def _before(
        self, name: str, last: Fault, counter: str, since: date | None, until: date | None
    ) -> float:
        """Use of an aircraft up to a fault of its own or of another's."""
        use = self.usage(name)
        if name == last.aircraft:
            return use.latest(counter, last, since)
        return use.gained(counter, since, min(last.day, until or last.day))


def _season_year(day: date, start: tuple[int, int]) -> int:
    return day.year if day >= season_day(day.year, start) else day.year - 1


def _fitting(chapter: str | None) -> str:
    if chapter in LANDED:
        return "landings"
    return "engine-minutes" if chapter in RUN else "flights"


_KEYED: dict[By, Callable[[Fault], str | None]] = {
    "system": lambda fault: fault.chapter or fault.system,
    "mode": lambda fault: fault.mode,
    "kind": lambda fault: fault.kind,
    "position": lambda fault: fault.position,
    "kit": lambda fault: fault.kit,
    "aircraft": lambda fault: fault.aircraft,
    "season": lambda fault: str(fault.season),
}
