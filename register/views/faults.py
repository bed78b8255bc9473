"""What keeps breaking: faults in groups, how often, did the fix hold, what may be concluded."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date

from msgspec import Struct

from register.faults.concluding import BACK, HELD, OPEN, YOUNG, Conclusion, FixTold, conclude
from register.faults.grouping import DEFAULT, By, Group, Scope, Sorter
from register.faults.service import Fault, gather_faults
from register.findings.snags import SnagState
from register.ledger.counters import Subject
from register.ledger.ledger import Ledger
from register.records.bodies import Fix
from register.records.events import Event
from register.records.fault_words import FaultRules
from register.views.fault_changes import short_id

LAST = 3


class FaultsAsked(Struct, frozen=True):
    """What is asked: of whom, grouped by what, since when, one system or mode."""

    subject: Subject | None = None
    by: tuple[By, ...] = DEFAULT
    since: date | None = None
    chapter: str | None = None
    mode: str | None = None


class FaultLine(Struct, frozen=True):
    """One group: its share of all faults in service, its last three, how its fixes went."""

    group: Group
    share: float
    cumulative: float
    last: tuple[Fault, ...]
    open: int
    fixes: tuple[FixTold, ...]
    conclusion: Conclusion

    @property
    def count(self) -> int:
        """Faults found in service."""
        return len(self.group.faults)

    def went(self, outcome: str) -> int:
        """How many fixes held, came back or are young."""
        return sum(fix.outcome == outcome for fix in self.fixes)

    @property
    def fix_words(self) -> str:
        """Did the fix hold?"""
        known = self.went(HELD) + self.went(BACK)
        words = [f"{self.went(HELD)} of {known} held"] if known else []
        if self.went(OPEN):
            words.append(f"{self.went(OPEN)} may not")
        if self.open:
            words.append(f"{self.open} open")
        young = f"{self.went(YOUNG)} young" if self.went(YOUNG) else "no fix"
        return ", ".join(words) or young


class Shared(Struct, frozen=True):
    """One fault on several aircraft of a kit; `raise_from` is the record to make a notice of."""

    kit: str
    system: str
    mode: str
    aircraft: tuple[str, ...]
    of: int
    count: int
    raise_from: str
    raised: bool


class CameBack(Struct, frozen=True):
    """A snag that came back after a fix."""

    state: SnagState
    fix: Event


class FaultsView(Struct, frozen=True):
    """The answer to `faults`."""

    on: date
    complete: bool
    unread: tuple[str, ...]
    asked: FaultsAsked
    lines: tuple[FaultLine, ...]
    total: int
    others: int
    #: Faults in service of which neither system nor mode is said.
    bare: int
    #: The latest of them, by as much of its id as tells it apart.
    bare_last: str | None
    came_back: tuple[CameBack, ...]
    shared: tuple[Shared, ...]
    rules: FaultRules

    @property
    def bare_line(self) -> str:
        """The line that says system and mode of the latest without them."""
        return f"tailsheaf snag {self.bare_last or 'ID'} --system SYSTEM --mode MODE"

    @property
    def tested(self) -> int:
        """Groups with faults enough for the trend tests."""
        told = [line for line in self.lines if line.group.likeness != "unsaid"]
        return sum(not line.conclusion.trend.laplace.too_few for line in told)


def scope_of(ledger: Ledger, asked: FaultsAsked) -> Scope:
    """The aircraft, part and period that are asked of."""
    aircraft = tuple(sorted(ledger.records.aircraft))
    part = None
    if asked.subject is not None:
        kind, name = asked.subject
        aircraft = (name,) if kind == "aircraft" else aircraft
        part = name if kind == "part" else None
    everywhere = asked.subject is None or part is not None
    return Scope(aircraft, asked.since, None, part, asked.chapter, asked.mode, everywhere)


def view_faults(
    ledger: Ledger, day: date, unread: tuple[str, ...], asked: FaultsAsked
) -> FaultsView:
    """Every group of faults, the commonest first. Needs the whole ledger, not a circle of it."""
    faults = gather_faults(ledger)
    sorter = Sorter(ledger, faults, scope_of(ledger, asked))
    outcomes = tell_outcomes(ledger, faults)
    groups = sorter.group(asked.by)
    total = sum(len(group.faults) for group in groups)
    lines = []
    sofar = 0
    for group in groups:
        sofar += len(group.faults)
        lines.append(_line(group, outcomes, total, sofar))
    served = [fault for fault in sorter.faults if fault.serves]
    bare = [fault for fault in served if fault.system is None and fault.mode is None]
    return FaultsView(
        day,
        not unread,
        unread,
        asked,
        tuple(lines),
        total,
        len(sorter.faults) - total,
        len(bare),
        short_id(ledger, bare[-1].state.id) if bare else None,
        tuple(
            CameBack(fault.state, fault.state.unheld)
            for fault in reversed(sorter.faults)
            if fault.state.unheld is not None
        ),
        find_shared(ledger, sorter.faults),
        ledger.records.fleet.faults,
    )


def _line(group: Group, outcomes: dict[str, FixTold], total: int, sofar: int) -> FaultLine:
    fixes = {
        fix.id: outcomes[fix.id]
        for fault in group.faults
        for fix in fault.state.fixes
        if fix.id in outcomes
    }
    told = tuple(sorted(fixes.values(), key=lambda one: one.event.moment.day))
    still = sum(fault.state.is_open for fault in group.faults)
    return FaultLine(
        group,
        len(group.faults) / total if total else 0.0,
        sofar / total if total else 0.0,
        group.faults[-LAST:],
        still,
        told,
        conclude(group),
    )


def tell_outcomes(ledger: Ledger, faults: Sequence[Fault]) -> dict[str, FixTold]:
    """Of every fix that closed a snag: did it hold, did it not, or can that not be told?"""
    unheld = [fault.state for fault in faults if fault.state.unheld is not None]
    back = {state.unheld.id: state.unheld_open for state in unheld if state.unheld is not None}
    back |= {state.unheld.id: False for state in unheld if state.unheld and not state.unheld_open}
    young_flights = ledger.records.fleet.faults.refix_flights
    found: dict[str, FixTold] = {}
    for fault in faults:
        for fix in fault.state.fixes:
            if not isinstance(fix.body, Fix) or not fix.body.closes:
                continue
            outcome = (OPEN if back[fix.id] else BACK) if fix.id in back else HELD
            if outcome == HELD and fault.aircraft is not None:
                point = ledger.orders.last_point(fix.id)
                since = ledger.gained(("aircraft", fault.aircraft), "flights", point).low
                outcome = YOUNG if since <= young_flights else HELD
            found[fix.id] = FixTold(fix, outcome)
    return found


def find_shared(ledger: Ledger, faults: Sequence[Fault]) -> tuple[Shared, ...]:
    """The same system and mode on more than one aircraft of a kit, the commonest first."""
    groups: dict[tuple[str, str, str], list[Fault]] = defaultdict(list)
    for fault in faults:
        chapter = fault.chapter or fault.system
        if fault.kit and chapter and fault.mode and fault.aircraft:
            groups[fault.kit, chapter, fault.mode].append(fault)
    found = []
    for (kit, chapter, mode), listed in groups.items():
        aircraft = tuple(sorted({fault.aircraft for fault in listed if fault.aircraft}))
        if len(aircraft) > 1:
            found.append(_shared(ledger, kit, chapter, mode, aircraft, listed))
    return tuple(sorted(found, key=lambda one: (one.raised, -one.count, one.kit, one.mode)))


def _shared(
    ledger: Ledger,
    kit: str,
    chapter: str,
    mode: str,
    aircraft: tuple[str, ...],
    faults: Sequence[Fault],
) -> Shared:
    records = ledger.records
    raised = {notice.raised_from for notice in records.kits[kit].notices.values()}
    origin = next((fault for fault in faults if fault.state.id in raised), faults[-1])
    rules = records.fleet.faults
    known = rules.chapter_of(chapter) == chapter
    return Shared(
        kit,
        rules.system_title(chapter) if known else chapter,
        mode,
        aircraft,
        sum(
            (found := records.find_kit(file.kit)) is not None and found.name == kit
            for file in records.aircraft.values()
        ),
        len(faults),
        origin.state.id,
        origin.state.id in raised,
    )
