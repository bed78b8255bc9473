"""The owner's workshop: what stands where, what has been used how much, what is to be done."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date, timedelta

from register.example.duties import FAN, JET, MOVED, TUG, Duty
from register.example.parts import PARTS
from register.example.writing import Pen
from register.text.nodes import Plain

DUTIES: dict[str, tuple[Duty, ...]] = {"heron": JET, "kestrel": JET, "petrel": FAN, "drover": TUG}
GAINED = ("flights", "landings", "gear-cycles", "tows", "engine-minutes")
#: task, subject, from, to: the owner let it slide.
SKIPPED = (
    ("leak-down", "heron", "2025-06-01", "2025-08-29"),
    ("pack-capacity", "pk-13", "2026-03-01", "2026-12-31"),
    ("motor-bearings", "em-52", "2026-03-20", "2026-12-31"),
)


class Workshop:
    """Keeps the owner's own books, and writes what he does."""

    def __init__(self, pen: Pen):
        self.pen = pen
        self.places: dict[tuple[str, str], str] = {}
        self.packs: dict[str, list[str]] = defaultdict(list)
        self.used: dict[str, Counter[str]] = defaultdict(Counter)
        self.done: dict[tuple[str, str], tuple[date, Counter[str]]] = {}
        self.times: Counter[tuple[str, str]] = Counter()
        self.last_flown: dict[str, date] = {}
        self.touched: dict[str, set[str]] = defaultdict(set)
        self.recheck: set[str] = set()

    # --- what stands where ----------------------------------------------------

    def folder(self, name: str) -> str:
        """Where events about an aircraft or part are kept."""
        if name not in PARTS:
            return f"aircraft/{name}"
        host = next((key[0] for key, part in self.places.items() if part == name), None)
        return f"aircraft/{host}" if host else f"parts/{name}"

    def install(
        self, part: str, aircraft: str, position: str | None, day: date, after: str | None = None
    ) -> str:
        """A part goes to a position, or is assigned."""
        if position is None:
            self.packs[aircraft].append(part)
        else:
            self.places[aircraft, position] = part
        self.touched[aircraft].add(PARTS[part].kind)
        body: dict[str, Plain] = {
            "part": self.pen.ref(part),
            "aircraft": self.pen.ref(aircraft),
            "position": position,
        }
        return self.pen.add(f"aircraft/{aircraft}", "install", day, body, after=after)

    def remove(
        self, part: str, aircraft: str, day: date, reason: str, after: str | None = None
    ) -> str:
        """A part comes off an aircraft."""
        for key in [key for key, item in self.places.items() if item == part]:
            del self.places[key]
        if part in self.packs[aircraft]:
            self.packs[aircraft].remove(part)
        body: dict[str, Plain] = {
            "part": self.pen.ref(part),
            "aircraft": self.pen.ref(aircraft),
            "reason": reason,
        }
        return self.pen.add(f"aircraft/{aircraft}", "remove", day, body, after=after)

    def fitted(self, aircraft: str) -> list[str]:
        """Parts in position."""
        return [part for (host, _), part in self.places.items() if host == aircraft]

    def count(self, aircraft: str, packs: tuple[str, ...], gained: dict[str, int]) -> None:
        """Keep the books of a flying day."""
        for subject in (aircraft, *self.fitted(aircraft), *packs):
            self.used[subject].update(gained)

    # --- what is to be done -----------------------------------------------------

    def subjects(self, aircraft: str, duty: Duty) -> list[str]:
        """What a duty is on, now."""
        if duty.on == "aircraft":
            return [aircraft]
        if duty.on == "engine":
            return [self.places[aircraft, "engine"]] if (aircraft, "engine") in self.places else []
        near = [*self.fitted(aircraft), *self.packs[aircraft]]
        return sorted(part for part in near if PARTS[part].kind == duty.on)

    def prepare(self, aircraft: str, day: date, planned: int) -> None:
        """The evening in the workshop before a flying day."""
        spring = date(day.year, 3, 1)
        flown = self.last_flown.get(aircraft)
        is_first = flown is None or flown < spring
        for duty, subject in list(self._wanted(aircraft, day, planned)):
            # The season's list takes an evening of its own, a week earlier.
            ahead = 9 if is_first and duty.season else 2
            self.do(duty, aircraft, subject, day - timedelta(days=ahead))
        if self.touched[aircraft] & set(MOVED):
            self.recheck.add(aircraft)
        self.touched[aircraft].clear()

    def _wanted(self, aircraft: str, day: date, planned: int) -> Iterator[tuple[Duty, str]]:
        for duty in DUTIES[aircraft]:
            for subject in self.subjects(aircraft, duty):
                if _is_skipped(duty.task, subject, day):
                    continue
                if self._is_wanted(duty, aircraft, subject, day, planned):
                    yield duty, subject

    def _is_wanted(self, duty: Duty, aircraft: str, subject: str, day: date, planned: int) -> bool:
        if duty.stored or duty.recheck:
            return False
        if self.touched[aircraft] & set(duty.work):
            return True
        flown = self.last_flown.get(aircraft)
        last = self.done.get((duty.task, subject))
        if duty.idle:
            idle = flown is not None and (day - flown).days >= 30
            return idle and (last is None or flown is None or last[0] <= flown)
        if last is None:
            return not duty.work or duty.season
        since, at = last
        if duty.season and since < date(day.year, 3, 1):
            return True
        if duty.days is not None and (day - since).days > duty.days - 10:
            return True
        if duty.counter is None:
            return False
        limit = 8 if duty.task == "surface-free-play" and day.year > 2025 else duty.amount
        limit = limit if aircraft in ("heron", "kestrel") else duty.amount
        return self.used[subject][duty.counter] - at[duty.counter] + planned > limit

    def do(
        self, duty: Duty, aircraft: str, subject: str, day: date, *, after: str | None = None
    ) -> str:
        """Carry out one duty and write it down."""
        key = (duty.task, subject)
        count = self.times[key]
        self.times[key] += 1
        self.done[key] = (day, Counter(self.used[subject]))
        readings: list[Plain] = [gauge.draw(self.pen.rng, count) for gauge in duty.gauges]
        body: dict[str, Plain] = {
            "task": duty.task,
            "subject": self.pen.ref(subject),
            "result": "recorded" if duty.baseline and count == 0 else "pass",
            "readings": readings or None,
        }
        return self.pen.add(self.folder(subject), "task-done", day, body, after=after)

    def do_named(self, task: str, aircraft: str, day: date, *, after: str | None = None) -> str:
        """Carry out a task of the aircraft by its name; it need not be one of the duties."""
        known = next((duty for duty in DUTIES[aircraft] if duty.task == task), Duty(task))
        return self.do(known, aircraft, aircraft, day, after=after)

    def lay_up(self, aircraft: str, day: date) -> None:
        """Put an aircraft away for the winter."""
        for duty in DUTIES[aircraft]:
            # Packs are measured before the winter too, unless that was done of late.
            least = 30 if duty.stored else 120
            if duty.stored or duty.on == "battery":
                for subject in self.subjects(aircraft, duty):
                    last = self.done.get((duty.task, subject))
                    if last is None or (day - last[0]).days > least:
                        self.do(duty, aircraft, subject, day)
        self._layup(aircraft, day, "begin")

    def bring_back(self, aircraft: str, day: date) -> None:
        """The end of the winter."""
        self._layup(aircraft, day, "end")

    def _layup(self, aircraft: str, day: date, state: str) -> None:
        body: dict[str, Plain] = {"subject": self.pen.ref(aircraft), "state": state}
        self.pen.add(f"aircraft/{aircraft}", "layup", day, body)


def _is_skipped(task: str, subject: str, day: date) -> bool:
    return any(
        (task, subject) == (row[0], row[1]) and row[2] <= day.isoformat() <= row[3]
        for row in SKIPPED
    )
