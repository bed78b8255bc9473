"""The events of a benchmark fleet, season after season, drawn from one seed.

About 55 in a hundred are flying days; the rest are charges, tasks done, snags and
their fixes, a few moves of engines between pairs, a few incidents and amendments.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from random import Random
from zoneinfo import ZoneInfo

from bench.standing import PROGRAMMES, ZONE, Craft, Duty
from register.entry.ids import make_id
from register.text.emitting import render_yaml
from register.text.nodes import Plain

MACHINE = "m-bench001"
FLYING_SHARE = 0.55
#: Of all Saturdays, how many are flown.
_SATURDAYS_FLOWN = 0.77
_SHORT_LIST = ("struts-after", "tubes-after", "formers-after")
#: What is found, with its system and how it failed, as far as the owner says so.
_FOUND: dict[str, tuple[str | None, str | None]] = {
    "Chip on the left leading edge": ("57", "surface-damaged"),
    "Screw missing at the hatch": ("52", "lost"),
    "Scratch under the tail": ("11", "surface-damaged"),
    "Wheel pants cracked at the screw": ("32", "cracked"),
    "Clevis keeper gone, right aileron": ("27", "lost"),
    "Stain at the filler": ("28", None),
    "Tape lifts at the wing joint": (None, None),
    "Hinge feels stiff, elevator": ("27", "stiff"),
}
_MENDED = ("Filled and painted", "New one fitted and secured", "Cleaned, glued, checked again")
_SEVERITIES = ("cosmetic", "cosmetic", "monitor", "monitor", "deferrable", "limiting")


@dataclass(frozen=True, slots=True)
class Entry:
    """One event as written down: its path, its bytes, and when it was typed."""

    path: str
    data: bytes
    typed: datetime
    message: str


@dataclass(slots=True)
class _Event:
    folder: str
    kind: str
    id: str
    day: date
    clock: time | None
    order: int
    body: dict[str, Plain]
    after: str | None = None


@dataclass(slots=True)
class _Life:
    """What the owner of one aircraft remembers: flights flown, what was done, what is open."""

    craft: Craft
    engine: str
    flown: int = 0
    charged: int = 0
    done: dict[str, tuple[int, date]] = field(default_factory=dict)
    open_snags: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)
    last_flights: str = ""


def build_entries(
    crafts: tuple[Craft, ...], count: int, until: date, chance: Random
) -> tuple[Entry, ...]:
    """Exactly `count` events in the order they were typed, the last ones just before `until`."""
    diary = _Diary(chance)
    installs = sum(2 + (craft.servo is not None) for craft in crafts)
    swaps = tuple(range(0, len(crafts) - 1, 6)) if count >= installs + 20 * len(crafts) else ()
    share, left = divmod(max(0, count - installs - 4 * len(swaps)), len(crafts))
    budgets = [share + (number < left) for number in range(len(crafts))]
    saturdays = find_saturdays(max(budgets), until)
    begins = saturdays[0] - timedelta(days=7)
    middle = saturdays[len(saturdays) // 2] + timedelta(days=4)
    lives = [_Life(craft, craft.engine) for craft in crafts]
    for life in lives:
        diary.fit_out(life.craft, begins)
    for number in swaps:
        diary.swap_engines(lives[number].craft, lives[number + 1].craft, middle)
    partners = {number: number + 1 for number in swaps} | {n + 1: n for n in swaps}
    for number, life in enumerate(lives):
        partner = partners.get(number)
        other = None if partner is None else crafts[partner].engine
        diary.live(life, budgets[number], saturdays, middle, other)
    return tuple(diary.render())[:count]


def find_saturdays(budget: int, until: date) -> tuple[date, ...]:
    """As many Saturdays as a budget of events needs; the last is some days before `until`."""
    weeks = max(2, round(budget * FLYING_SHARE / _SATURDAYS_FLOWN))
    near = until - timedelta(days=4)
    last = near - timedelta(days=(near.weekday() - 5) % 7)
    return tuple(last - timedelta(weeks=n) for n in reversed(range(weeks)))


class _Diary:
    def __init__(self, chance: Random):
        self.chance = chance
        self.events: list[_Event] = []
        self._taken: set[str] = set()

    def add(
        self,
        folder: str,
        kind: str,
        day: date,
        body: dict[str, Plain],
        *,
        clock: time | None = None,
        after: str | None = None,
    ) -> str:
        id_ = make_id(self.chance, self._taken)
        self._taken.add(id_)
        order = len(self.events)
        self.events.append(_Event(folder, kind, id_, day, clock, order, body, after))
        return id_

    def fit_out(self, craft: Craft, day: date) -> None:
        """The parts an aircraft begins with."""
        places = [(craft.engine, "engine"), (craft.servo, "rudder-servo"), (craft.pack, None)]
        for part, position in places:
            if part is not None:
                body: dict[str, Plain] = {"part": part, "aircraft": craft.ref}
                if position:
                    body["position"] = position
                self.add(f"aircraft/{craft.name}", "install", day, body)

    def swap_engines(self, one: Craft, two: Craft, day: date) -> None:
        """Two aircraft change engines on a day without flights."""
        after: str | None = None
        for kind, part, craft in (
            ("remove", one.engine, one),
            ("remove", two.engine, two),
            ("install", two.engine, one),
            ("install", one.engine, two),
        ):
            body: dict[str, Plain] = {"part": part, "aircraft": craft.ref}
            if kind == "install":
                body["position"] = "engine"
            after = self.add(f"aircraft/{craft.name}", kind, day, body, after=after)

    def live(
        self,
        life: _Life,
        budget: int,
        saturdays: tuple[date, ...],
        swap_day: date,
        other_engine: str | None,
    ) -> None:
        """One aircraft's years: exactly `budget` events, the last Saturday always flown."""
        flown = min(len(saturdays), max(1, round(budget * FLYING_SHARE)))
        days = sorted({*self.chance.sample(saturdays[:-1], flown - 1), saturdays[-1]})
        spare, used = budget - flown, 0
        for number, day in enumerate(days[:budget], 1):
            if other_engine and day > swap_day:
                life.engine = other_engine
            self._fly(life, day)
            wanted = spare * number // flown
            while used < wanted:
                self._look_after(life, day)
                used += 1

    def _fly(self, life: _Life, day: date) -> None:
        chance, craft = self.chance, life.craft
        count = chance.choice((1, 2, 3, 3, 4))
        body: dict[str, Plain] = {"aircraft": craft.ref, "count": count}
        each = [chance.randint(5, 10) for _ in range(count)]
        if chance.random() < 0.3:
            body["each"] = [*each]
        else:
            body["minutes"] = sum(each)
        if craft.programme == "jet-care" and chance.random() < 0.5:
            body["engine_minutes"] = sum(each) + 2 * count
        body["uses"] = [craft.pack]
        clock = self._clock(9, 15) if chance.random() < 0.6 else None
        life.last_flights = self.add(f"aircraft/{craft.name}", "flights", day, body, clock=clock)
        life.flown += count

    def _look_after(self, life: _Life, day: date) -> None:
        """One thing besides flying: a fix, a task, a charge, a snag, seldom something else."""
        roll = self.chance.random()
        if roll < 0.02:
            self._amend(life, day)
        elif roll < 0.03 and not life.asked:
            body: dict[str, Plain] = {"aircraft": life.craft.ref, "what": "hard-landing"}
            self.add(f"aircraft/{life.craft.name}", "incident", day, body)
            life.asked.extend(_SHORT_LIST)
        elif roll < 0.15 and len(life.open_snags) < 3:
            self._find(life, day)
        elif life.open_snags and roll < 0.28:
            self._fix(life, day)
        elif roll < 0.64 and (duty := self._choose(life, day)) is not None:
            self._do(life, duty, day + timedelta(days=self.chance.randint(1, 3)))
        else:
            part: dict[str, Plain] = {"parts": [life.craft.pack], "count": 1}
            evening = day - timedelta(days=1)
            name = life.craft.pack.partition(".")[0]
            self.add(f"parts/{name}", "charge", evening, part, clock=self._clock(17, 20))
            life.charged += 1

    def _amend(self, life: _Life, day: date) -> None:
        body: dict[str, Plain] = {
            "amends": life.last_flights,
            "set": {"landings": self.chance.randint(1, 3)},
            "seen": [],
        }
        self.add(f"aircraft/{life.craft.name}", "amendment", day + timedelta(days=1), body)

    def _find(self, life: _Life, day: date) -> None:
        text = self.chance.choice(tuple(_FOUND))
        body: dict[str, Plain] = {
            "aircraft": life.craft.ref,
            "text": text,
            "severity": self.chance.choice(_SEVERITIES),
            "found": "after-flight",
        }
        for key, word in zip(("system", "mode"), _FOUND[text], strict=True):
            if word is not None:
                body[key] = word
        folder = f"aircraft/{life.craft.name}"
        life.open_snags.append(self.add(folder, "snag", day, body, clock=self._clock(16, 19)))

    def _fix(self, life: _Life, day: date) -> None:
        snag = life.open_snags.pop(0)
        body: dict[str, Plain] = {
            "snags": [snag],
            "action": self.chance.choice(_MENDED),
            "closes": True,
            "seen": [snag],
        }
        self.add(f"aircraft/{life.craft.name}", "fix", day + timedelta(days=2), body)

    def _choose(self, life: _Life, day: date) -> Duty | None:
        """What presses most; None when all was done lately."""
        duties = {duty.id: duty for duty in PROGRAMMES[life.craft.programme]}
        if life.asked:
            return duties[life.asked.pop(0)]
        pressing, chosen = 0.3, None
        for duty in duties.values():
            share = self._pressure(life, duty, day)
            if share > pressing:
                pressing, chosen = share, duty
        return chosen

    def _pressure(self, life: _Life, duty: Duty, day: date) -> float:
        if not duty.is_chosen and duty.start != "season":
            return 0.0
        if duty.id not in life.done:
            return 9.0
        flown, done = life.done[duty.id]
        since, passed = life.flown - flown, (day - done).days
        shares = [passed / (duty.days or 365)]
        season = date(day.year if day.month > 2 else day.year - 1, 3, 1)
        if duty.start == "season" and done < season - timedelta(days=60):
            shares.append(2.0)
        for amount, gained in ((duty.flights, since), (duty.minutes, 9 * since)):
            if amount:
                shares.append(gained / amount)
        return max(shares)

    def _do(self, life: _Life, duty: Duty, day: date) -> None:
        subjects = {"engine": life.engine, "battery": life.craft.pack}
        subject = subjects.get(duty.on, life.craft.ref)
        body: dict[str, Plain] = {"task": duty.id, "subject": subject, "result": "pass"}
        if duty.reading:
            name, unit, high = duty.reading
            tenths = self.chance.randint(high * 4, high * 9)
            body["readings"] = [{"name": name, "value": Decimal(tenths) / 10, "unit": unit}]
        top = "aircraft" if subject == life.craft.ref else "parts"
        self.add(f"{top}/{subject.partition('.')[0]}", "task-done", day, body)
        life.done[duty.id] = (life.flown, day)

    def _clock(self, first: int, last: int) -> time:
        return time(self.chance.randrange(first, last), 5 * self.chance.randrange(12))

    def render(self) -> Iterator[Entry]:
        """Every event as its file, in the form and under the name the program gives it."""
        zone = ZoneInfo(ZONE)
        evening, second = date.min, 0
        for seq, event in enumerate(sorted(self.events, key=lambda item: (item.day, item.order))):
            second = second + 4 if event.day == evening else 0
            evening = event.day
            begun = datetime.combine(event.day, time(20, 5), zone)
            yield _render(event, begun + timedelta(seconds=second), seq + 1, zone)


def _render(event: _Event, typed: datetime, seq: int, zone: ZoneInfo) -> Entry:
    """The same keys in the same order as the clerk writes them."""
    day = event.day.isoformat()
    when, clock = day, ""
    if event.clock is not None:
        when = datetime.combine(event.day, event.clock, zone).isoformat(timespec="minutes")
        clock = f"-{event.clock:%H%M}"
    data: dict[str, Plain] = {
        "record": event.kind,
        "id": event.id,
        "when": when,
        "after": event.after,
        **event.body,
        "by": "owner",
        "typed": typed.isoformat(timespec="seconds"),
        "machine": MACHINE,
        "seq": seq,
        "source": "at-the-time",
    }
    folder = f"{event.folder}/events/{day[:4]}/{day[5:7]}"
    path = f"{folder}/{day}{clock}-{event.kind}-{event.id}.yaml"
    message = f"Record {event.kind} of {event.folder.partition('/')[2]}"
    return Entry(path, render_yaml(data).encode(), typed, message)
