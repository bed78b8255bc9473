"""Three seasons of flying days, and what is written down on each."""

from __future__ import annotations

from datetime import date, timedelta

from register.example.upkeep import Workshop
from register.example.writing import DESK, FIELD, read_day
from register.text.nodes import Plain

#: aircraft -> first flying day of each season, and the weeks to each next one.
SEASONS: dict[str, tuple[tuple[str, tuple[int, ...]], ...]] = {
    "heron": (
        ("2024-03-30", (2, 3, 3, 2, 3, 3, 3, 4, 4)),
        ("2025-03-29", (2, 2, 1, 2, 2, 2, 1, 5, 3, 2, 2, 1, 2)),
        ("2026-03-28", (1, 1, 1, 1, 1, 1)),
    ),
    "kestrel": (
        ("2024-04-14", (4, 4, 3, 4, 4, 3)),
        ("2025-03-30", (2, 2, 2, 2, 3, 2, 1, 1, 3, 2, 3, 2, 2)),
        ("2026-03-29", (2, 1, 2, 1)),
    ),
    "petrel": (
        ("2024-04-27", (4, 3, 4, 3, 4, 3)),
        ("2025-04-05", (2, 3, 2, 2, 3, 2, 2, 3, 2, 3)),
        ("2026-04-04", (2, 2, 1)),
    ),
    "drover": (
        ("2024-03-31", (4, 3, 4, 3, 4, 3, 4)),
        ("2025-04-06", (2, 2, 2, 3, 2, 2, 3, 2, 2, 2, 3)),
        ("2026-04-12", (1, 1, 2)),
    ),
}
COUNTS = {"heron": (2, 3, 3, 4), "kestrel": (2, 3, 3), "petrel": (2, 2, 3), "drover": (4, 5, 5, 6)}
MINUTES = {"heron": (6, 9), "kestrel": (6, 9), "petrel": (4, 5), "drover": (6, 10)}
#: Flights of the days that a story needs, and of the days before the showcase:
#: aircraft and season -> flights of its first days.
FIXED: dict[tuple[str, int], tuple[int, ...]] = {
    ("heron", 2025): (3, 3, 3, 3, 4, 3, 3, 2, 3, 3),
    ("heron", 2026): (3, 3, 4, 3, 3, 4, 3),
    ("kestrel", 2026): (3, 3, 2, 3, 2),
    ("petrel", 2026): (2, 3, 2, 2),
    ("drover", 2026): (6, 6, 5, 6),
}
PACKS = {"heron": ("rx-3", "rx-4"), "kestrel": ("rx-3", "rx-5")}


def flying_days(aircraft: str) -> list[date]:
    """Every flying day of one aircraft."""
    days = []
    for first, weeks in SEASONS[aircraft]:
        day = read_day(first)
        days.append(day)
        for step in weeks:
            day += timedelta(weeks=step)
            days.append(day)
    return days


class Diary:
    """Writes flying days; remembers each day's first and last event."""

    def __init__(self, shop: Workshop):
        self.shop = shop
        self.pen = shop.pen
        self.flown: dict[tuple[str, date], str] = {}
        self.ended: dict[tuple[str, date], str] = {}

    def fly(self, aircraft: str, day: date) -> None:
        """One flying day, with the charging before it and the workshop before that."""
        rng = self.pen.rng
        count = self._count(aircraft, day)
        self.shop.prepare(aircraft, day, count)
        low, high = MINUTES[aircraft]
        each = [rng.randint(low, high) for _ in range(count)]
        if aircraft == "petrel":
            self._fly_packs(day, each)
        else:
            packs = PACKS.get(aircraft, ())
            if packs or rng.random() < 0.6:
                self._charge(aircraft, day, packs or ("rx-7", "ig-2"))
            self.flown[aircraft, day] = self._write(aircraft, day, each, packs)
            self.ended[aircraft, day] = self.flown[aircraft, day]
        if aircraft in self.shop.recheck:
            self.shop.recheck.remove(aircraft)
            first = self.flown[aircraft, day]
            self.shop.do_named("swap-fasteners", aircraft, day, after=f"{first}:1")
        self.shop.last_flown[aircraft] = day

    def _count(self, aircraft: str, day: date) -> int:
        """How many flights a day brings."""
        drawn = self.pen.rng.choice(COUNTS[aircraft])
        fixed = FIXED.get((aircraft, day.year), ())
        number = sum(1 for other in flying_days(aircraft) if date(day.year, 1, 1) <= other < day)
        return fixed[number] if number < len(fixed) else drawn

    def _write(self, aircraft: str, day: date, each: list[int], packs: tuple[str, ...]) -> str:
        count = len(each)
        engine = sum(each) + 2 * count
        body: dict[str, Plain] = {"aircraft": self.pen.ref(aircraft), "count": count}
        timed = day.year > 2024
        if timed and aircraft != "drover":
            body["each"] = [*each]
        else:
            body["minutes"] = sum(each)
        gained = {"flights": count, "landings": count, "engine-minutes": engine}
        if aircraft == "drover":
            tows = count - (self.pen.rng.choice((0, 0, 0, 1)) if day.year < 2026 else 0)
            body["tows"] = gained["tows"] = tows
        if timed and self.shop.places.get((aircraft, "engine")) == "te-114":
            body["engine_minutes"] = engine
        if packs:
            body["uses"] = [self.pen.ref(pack) for pack in packs]
        self.shop.count(aircraft, packs, gained)
        return self.pen.add(
            f"aircraft/{aircraft}",
            "flights",
            day,
            body,
            clock=self._clock(9, 14) if timed else None,
            machine=FIELD if timed else DESK,
        )

    def _fly_packs(self, day: date, each: list[int]) -> None:
        """A fan jet's day: each flight on its own pack, written one by one."""
        live = [pack for pack in self.shop.packs["petrel"] if pack.startswith("pk")]
        shift = day.toordinal() // 7
        chosen = [live[(shift + n) % len(live)] for n in range(len(each))]
        self._charge("petrel", day, (*chosen, "rx-6"))
        for number, (minutes, pack) in enumerate(zip(each, chosen, strict=True)):
            body: dict[str, Plain] = {
                "aircraft": self.pen.ref("petrel"),
                "count": 1,
                "minutes": minutes,
                "uses": [self.pen.ref(pack)],
            }
            clock = f"{10 + number}:{self.pen.rng.randrange(10, 50)}"
            self.shop.count("petrel", (pack,), {"flights": 1, "landings": 1, "gear-cycles": 1})
            id_ = self.pen.add("aircraft/petrel", "flights", day, body, clock=clock, machine=FIELD)
            self.flown.setdefault(("petrel", day), id_)
            self.ended["petrel", day] = id_

    def _charge(self, aircraft: str, day: date, packs: tuple[str, ...]) -> None:
        evening = day - timedelta(days=1)
        for pack in packs:
            self.shop.used[pack]["charges"] += 1
        body: dict[str, Plain] = {"parts": [self.pen.ref(pack) for pack in packs], "count": 1}
        self.pen.add(f"parts/{packs[0]}", "charge", evening, body, clock=self._clock(18, 20))

    def _clock(self, first: int, last: int) -> str:
        hour = self.pen.rng.randrange(first, last)
        return f"{hour:02d}:{5 * self.pen.rng.randrange(12):02d}"
