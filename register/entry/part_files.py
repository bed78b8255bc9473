"""Entry of parts: a new one, or a change of one."""

from __future__ import annotations

import re
from datetime import date
from decimal import Decimal

from msgspec import Struct

from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.dates import read_day
from register.entry.drafting import Draft
from register.entry.kits import check_kind, check_title, finish_plan, parse_basis, plain_basis
from register.entry.naming import check_new_name, match_name
from register.entry.openings import (
    enter_counters,
    find_unstated,
    match_counter,
    parse_counter,
    parse_past_day,
    parse_quantity,
    split_pair,
)
from register.entry.sheets import Sheet, plain_number
from register.entry.subjects import check_thing_read, folder_of
from register.ledger.counters import Subject
from register.records.bodies import CONDITIONS
from register.records.kinds import PART_KINDS, gains_counter
from register.records.standing_files import LifeLimit, PartFile
from register.records.values import Basis
from register.text.nodes import Plain
from register.trouble import RegisterError

USES = ("installed", "assigned")
SIDES = ("left", "right", "centre", "front", "rear", "upper", "lower")
#: Kinds that go from aircraft to aircraft and are counted use by use (common practice).
ASSIGNED_KINDS = frozenset({"battery"})
_WINDOW = re.compile(r"±|\+|early|late|window|(?<=\d)\s*-\s*\d")


class PartWish(Struct, frozen=True):
    """What is typed of a part; only the kind of a new one is required."""

    kind: str | None = None
    use: str | None = None
    title: str | None = None
    serial: str | None = None
    lot: str | None = None
    side: str | None = None
    opening: tuple[str, ...] = ()
    as_of: str | None = None
    life: tuple[str, ...] = ()
    basis: str | None = None
    made: str | None = None
    condition: str | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing was typed."""
        return self == PartWish()


class GivenLife(Struct, frozen=True):
    """One life limit as typed: a counter's limit, months, or a date."""

    counter: str | None
    limit: Decimal | None
    months: int | None
    until: date | None

    @property
    def side(self) -> str:
        """Which limit of the part this is; each stands once."""
        return self.counter or ("months" if self.months else "date")

    def plain(self, basis: Basis) -> Plain:
        """As written in a file."""
        found: dict[str, Plain] = {}
        if self.counter is not None and self.limit is not None:
            found = {"counter": self.counter, "limit": plain_number(self.limit)}
        elif self.months is not None:
            found = {"months": self.months}
        elif self.until is not None:
            found = {"date": self.until.isoformat()}
        return {**found, "basis": plain_basis(basis)}


def plan_part(clerk: Clerk, name: str, wish: PartWish, stamp: Stamp, *, is_new: bool) -> Plan:
    """One part entered or changed. Raises RegisterError (usage) on wrong words."""
    return _Entry(clerk, name, wish, is_new=is_new).plan(stamp)


class _Entry:
    """One part being entered."""

    def __init__(self, clerk: Clerk, name: str, wish: PartWish, *, is_new: bool):
        records = clerk.ledger.records
        check_thing_read(clerk, name)
        if is_new:
            name = check_new_name(name, records.parts, "part")
            check_new_name(name, records.aircraft, "aircraft")
        path = f"parts/{name}/part.yaml"
        self.clerk, self.name, self.wish = clerk, name, wish
        self.old: PartFile | None = None if is_new else records.parts[name]
        self.sheet = Sheet(path, None if is_new else clerk.sources[path])
        self.warnings: list[str] = []
        self.notes: list[str] = []
        self.condition: str | None = None
        self.kind = self.old.kind if self.old else ""
        self.use = self.old.use if self.old else ""

    def plan(self, stamp: Stamp) -> Plan:
        """The finished plan."""
        if wish_condition := self.wish.condition:
            self.condition = match_name(wish_condition, CONDITIONS, "condition")
        self._identity()
        self._marks()
        if self.old is None and self.condition:
            self.sheet.set(("condition",), self.condition)
        self._opening()
        self._lives()
        return self._finish(stamp)

    def _identity(self) -> None:
        wish, sheet = self.wish, self.sheet
        if self.old is None:
            if wish.kind is None:
                raise RegisterError(
                    f"{self.name} needs a kind: what sort of part it is",
                    mend=f"tailsheaf parts {self.name} --add --kind turbine   (or "
                    f"{', '.join(sorted(PART_KINDS)[:6])} …)",
                    code="kind-missing",
                )
            sheet.set(("id",), self.clerk.new_id())
        if wish.kind is not None:
            self.kind = check_kind(self.clerk, wish.kind, self.warnings)
            sheet.set(("kind",), self.kind, "kind")
        if wish.title:
            sheet.set(("title",), check_title(wish.title), "title")
        if wish.use is not None:
            self.use = match_name(wish.use, USES, "use")
        elif self.old is None:
            self.use = "assigned" if self.kind in ASSIGNED_KINDS else "installed"
        if wish.use is not None or self.old is None:
            sheet.set(("use",), self.use, "use")

    def _marks(self) -> None:
        wish, sheet = self.wish, self.sheet
        for key, value in (("serial", wish.serial), ("lot", wish.lot)):
            if value is not None:
                sheet.set((key,), check_title(value), key)
        if wish.side is not None:
            sheet.set(("side",), match_name(wish.side, SIDES, "side"), "side")
        if wish.made is not None:
            zone = self.clerk.ledger.records.zone
            made = parse_past_day(wish.made, self.clerk.now, zone, "--made")
            sheet.set(("made",), made.isoformat(), "day it was made")

    def _opening(self) -> None:
        clerk, wish = self.clerk, self.wish
        zone = clerk.ledger.records.zone
        given = [parse_counter(text, clerk.ledger.records.fleet.counters) for text in wish.opening]
        as_of = parse_past_day(wish.as_of, clerk.now, zone, "--as-of") if wish.as_of else None
        if as_of is None and given and (self.old is None or self.old.opening.as_of is None):
            as_of = clerk.today
        unstated = None
        if given and not (self.old and self.old.opening.counters):
            counters = clerk.ledger.records.fleet.counters
            own = clerk.ledger.records.fleet.part_kinds.get(self.kind)
            wanted = [name for name in counters if gains_counter(self.kind, name, own)]
            unstated = find_unstated(given, wanted, {})
        enter_counters(self.sheet, [*given, *(unstated.counters if unstated else ())], as_of)
        self.notes.extend([unstated.says] if unstated else [])

    def _lives(self) -> None:
        wish = self.wish
        if wish.basis is not None and not wish.life:
            basis = parse_basis(wish.basis)
            self.sheet.set(("basis",), plain_basis(basis), "basis")
        there = [_side_of(life) for life in self.old.life] if self.old else []
        for text in wish.life:
            life = parse_life(self.clerk, text)
            plain = life.plain(parse_basis(wish.basis))
            if life.side in there:
                number = there.index(life.side)
                self.sheet.set(("life", number), plain, f"life in {life.side}")
            else:
                there.append(life.side)
                self.sheet.append(("life",), plain, f"life in {life.side}")

    def _finish(self, stamp: Stamp) -> Plan:
        draft = self._condition_event(stamp)
        if draft is not None and not self.sheet.touched:
            return draft.plan(draft.says[0][0].upper() + draft.says[0][1:])
        plan = finish_plan(self.clerk, self.sheet, "part", self.name, self.warnings)
        says = plan.says if self.old else (self._say_new(),)
        plan = Plan(
            plan.changes,
            plan.message,
            (*says, *self.notes),
            plan.written,
            (("part", self.name),) if self.old else (),
            plan.warnings,
        )
        return plan if draft is None else plan.plus(draft.plan(plan.message))

    def _say_new(self) -> str:
        use = "used in several aircraft" if self.use == "assigned" else "in one place at a time"
        start = ""
        if not self.wish.opening:
            main = (PART_KINDS.get(self.kind) or ("flights",))[:1]
            start = f"; its counters start at zero (--opening {main[0] if main else 'flights'}=N~)"
        return f"part {self.name}, new {self.kind}, {use}{start}: {self.sheet.path}"

    def _condition_event(self, stamp: Stamp) -> Draft | None:
        """Another condition of a part that is there already is an event."""
        if self.old is None or self.condition is None:
            return None
        subject: Subject = ("part", self.name)
        draft = Draft(self.clerk, stamp)
        body: dict[str, Plain] = {"part": self.clerk.ref(subject), "condition": self.condition}
        draft.write(folder_of(self.clerk, subject), "condition", body)
        draft.say(f"{self.name} is {self.condition}{draft.day}")
        draft.touch(subject)
        return draft


def _side_of(life: LifeLimit) -> str:
    return life.counter or ("months" if life.months else "date")


def parse_life(clerk: Clerk, text: str) -> GivenLife:
    """`engine-minutes=1500`, `months=36` or `date=2027-05-01`; a window is refused (usage)."""
    records = clerk.ledger.records
    name, value = split_pair(text, "--life", "engine-minutes=25h, months=36 or date=2027-05-01")
    if name != "date" and _WINDOW.search(value.lower()):
        raise RegisterError(
            f"--life {text[:40]!r}: a life limit takes no window; it is the last permitted point",
            mend=f"--life {name}={re.split(r'[^0-9.]', value)[0] or '1500'}",
            code="life-with-window",
        )
    if name in ("month", "months"):
        if not (value.isascii() and value.isdigit() and 1 <= int(value[:6]) <= 1200):
            raise RegisterError(
                f"--life months: {value[:20]!r} is not a number of months",
                mend="--life months=36",
                code="number-wrong",
            )
        return GivenLife(None, None, int(value), None)
    if name == "date":
        return GivenLife(None, None, None, read_day(value, clerk.now, records.zone, ahead=True))
    counter = match_counter(name, (*records.fleet.counters, "months", "date"))
    limit = parse_quantity(value, counter)
    if limit <= 0:
        raise RegisterError(
            f"--life {counter}: a life is more than nothing",
            mend=f"--life {counter}=1500",
            code="number-wrong",
        )
    return GivenLife(counter, limit, None, None)
