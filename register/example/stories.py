"""What happened besides flying: snags, decisions, moves of parts, a hard landing or two."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date

from register.example.fault_words import HOW
from register.example.parts import PARTS
from register.example.season import Diary
from register.example.snags import SNAGS, Found
from register.example.upkeep import Workshop
from register.example.writing import DESK, read_day
from register.text.nodes import Plain

Act = Callable[[], object]
#: Day, whether before (0) or after (2) that day's flights, and what to do.
Dated = tuple[date, int, Act]

LAID_UP = (
    ("heron", "2024-10-26", "2025-03-15"),
    ("kestrel", "2024-10-19", "2025-03-15"),
    ("petrel", "2024-10-19", "2025-03-22"),
    ("drover", "2024-11-02", "2025-03-22"),
    ("heron", "2025-10-25", "2026-03-14"),
    ("kestrel", "2025-11-01", "2026-03-14"),
    ("petrel", "2025-10-25", "2026-03-21"),
    ("drover", "2025-10-25", "2026-03-28"),
)
NOTES = (
    ("heron", "2024-04-13", "Trim found: two clicks of down, the rest neutral."),
    ("drover", "2024-03-09", "Bought with a box of papers; nobody counted the tows."),
    ("kestrel", "2024-05-12", "Flap mix reduced, it ballooned on the first notch."),
    ("petrel", "2024-06-15", "Timer set to four minutes and a half."),
    ("heron", "2024-10-05", "Fuel lines look good; leave them another year."),
    ("drover", "2025-04-20", "Two gliders of 14 kg, climbs fine with the new propeller."),
    ("kestrel", "2025-06-29", "First flight with the borrowed engine, a little less thrust."),
    ("bulwark", "2025-11-08", "Box opened with photographs, list complete but for one hinge pin."),
    ("bulwark", "2025-12-13", "Manual shows the horn before the hinge; do it the other way."),
    ("bulwark", "2026-01-31", "Wing panels weighed: left 2.84 kg, right 2.79 kg."),
    ("bulwark", "2026-05-02", "Engine fits; silencer needs 4 mm more room."),
    ("heron", "2026-04-18", "Nose gear door rattles at idle, nothing loose found."),
)


class Stories:
    """Writes the happenings, each on its day."""

    def __init__(self, shop: Workshop, diary: Diary):
        self.shop = shop
        self.diary = diary
        self.pen = shop.pen
        self.ids: dict[str, str] = {}

    def dated(self) -> Iterator[Dated]:
        """Everything that happens, with its day."""
        for aircraft, begins, ends in LAID_UP:
            yield read_day(begins), 2, self._bound(self.shop.lay_up, aircraft, begins)
            yield read_day(ends), 0, self._bound(self.shop.bring_back, aircraft, ends)
        for snag in SNAGS:
            yield read_day(snag.day), 2, self._snag(snag)
            if snag.fixed:
                yield read_day(snag.fixed), 2, self._fix(snag)
        for aircraft, day, text in NOTES:
            yield read_day(day), 2, self._note(aircraft, read_day(day), text)

    def at(self, text: str, act: Callable[[date], object], rank: int = 2) -> Dated:
        """A happening on a day."""
        day = read_day(text)
        return day, rank, lambda: act(day)

    def _bound(self, act: Callable[[str, date], object], aircraft: str, text: str) -> Act:
        return lambda: act(aircraft, read_day(text))

    def _note(self, aircraft: str, day: date, text: str) -> Act:
        body: dict[str, Plain] = {"aircraft": self.pen.ref(aircraft), "text": text}
        return lambda: self.pen.add(f"aircraft/{aircraft}", "note", day, body)

    # --- snags ------------------------------------------------------------------

    def _snag(self, snag: Found) -> Act:
        return lambda: self._write_snag(snag)

    def _write_snag(self, snag: Found) -> None:
        day = read_day(snag.day)
        body: dict[str, Plain] = {
            "aircraft": self.pen.ref(snag.aircraft),
            "part": self.pen.ref(snag.part) if snag.part else None,
            "position": snag.position,
            "text": snag.text,
            "severity": snag.severity,
            "found": snag.found,
            **snag.more,
            **(HOW[snag.key].body if snag.key in HOW else {}),
        }
        clock = f"{self.pen.rng.randrange(16, 19)}:{self.pen.rng.randrange(10, 60)}"
        self.ids[snag.key] = self.pen.add(
            f"aircraft/{snag.aircraft}", "snag", day, body, clock=clock
        )

    def _fix(self, snag: Found) -> Act:
        return lambda: self._mend(snag)

    def _mend(self, snag: Found) -> None:
        if snag.part:
            # Work on a part is looked at again like a new one.
            self.shop.touched[snag.aircraft].add(PARTS[snag.part].kind)
        self.write_fix(snag.key, snag.aircraft, read_day(snag.fixed), snag.action)

    def write_fix(
        self, key: str, aircraft: str, day: date, action: str, *, after: str | None = None
    ) -> str:
        """A snag is mended."""
        seen = [self.ids[name] for name in (key, f"{key}-deferral") if name in self.ids]
        body: dict[str, Plain] = {
            "snags": [self.ids[key]],
            "action": action,
            "closes": True,
            "seen": [*seen],
            "minutes": HOW[key].minutes if key in HOW else None,
        }
        return self.pen.add(f"aircraft/{aircraft}", "fix", day, body, after=after)

    def defer(
        self,
        key: str,
        aircraft: str,
        day: date,
        *,
        reason: str,
        until: str,
        limit: str | None = None,
        flights: int | None = None,
        extends: str | None = None,
    ) -> None:
        """The decision to fly on with a snag."""
        seen = [
            self.ids[name] for name in (key, f"{key}-severity", extends or "") if name in self.ids
        ]
        body: dict[str, Plain] = {
            "snag": self.ids[key],
            "reason": reason,
            "limit": limit,
            "until": until,
            "flights": flights,
            "extends": self.ids[extends] if extends else None,
            "seen": [*seen],
        }
        self.ids[f"{key}-deferral"] = self.pen.add(f"aircraft/{aircraft}", "deferral", day, body)

    def rate(self, key: str, aircraft: str, day: date, severity: str) -> None:
        """A decision how bad a snag is."""
        body: dict[str, Plain] = {
            "snag": self.ids[key],
            "severity": severity,
            "seen": [self.ids[key]],
        }
        self.ids[f"{key}-severity"] = self.pen.add(f"aircraft/{aircraft}", "severity", day, body)

    # --- other kinds ------------------------------------------------------------

    def condition(self, part: str, day: date, condition: str, reason: str) -> None:
        """A part's condition from now on."""
        body: dict[str, Plain] = {
            "part": self.pen.ref(part),
            "condition": condition,
            "reason": reason,
        }
        self.pen.add(f"parts/{part}", "condition", day, body)

    def incident(self, aircraft: str, day: date, what: str, note: str) -> None:
        """Something that opens a list of inspections, after the day's last flight."""
        body: dict[str, Plain] = {"aircraft": self.pen.ref(aircraft), "what": what}
        self.pen.add(
            f"aircraft/{aircraft}",
            "incident",
            day,
            body,
            after=self.diary.ended[aircraft, day],
            note=note,
        )

    def answer(self, aircraft: str, day: date, tasks: tuple[str, ...]) -> None:
        """Items of an incident's list, each with its own answer."""
        for task in tasks:
            self.shop.do_named(task, aircraft, day)

    def meter(self, part: str, day: date, value: int) -> None:
        """What the engine computer shows."""
        body: dict[str, Plain] = {
            "part": self.pen.ref(part),
            "counter": "engine-minutes",
            "value": value,
        }
        self.pen.add(self.shop.folder(part), "meter-reading", day, body)

    def run(self, part: str, day: date, minutes: int, starts: int, note: str) -> None:
        """A run on the ground or the bench."""
        self.shop.used[part]["engine-minutes"] += minutes
        body: dict[str, Plain] = {
            "part": self.pen.ref(part),
            "minutes": minutes,
            "starts": starts,
        }
        self.pen.add(self.shop.folder(part), "engine-run", day, body, clock="15:30", note=note)

    def read(self, subject: str, day: date, name: str, value: Plain, unit: str) -> None:
        """A measurement outside any task."""
        body: dict[str, Plain] = {
            "subject": self.pen.ref(subject),
            "name": name,
            "value": value,
            "unit": unit,
        }
        self.pen.add(self.shop.folder(subject), "reading", day, body)

    def stage(self, aircraft: str, day: date, stage: str) -> None:
        """The stage of an aircraft from now on."""
        body: dict[str, Plain] = {"aircraft": self.pen.ref(aircraft), "stage": stage}
        self.pen.add(f"aircraft/{aircraft}", "stage", day, body)

    def fit_all(self) -> None:
        """Where everything stood when the register began."""
        for name, part in PARTS.items():
            for aircraft in part.aircraft:
                self.shop.install(name, aircraft, part.position, read_day(part.since))
        for pack in ("pk-11", "pk-12", "pk-13"):
            self.shop.install(pack, "petrel", None, read_day("2024-02-24"))

    def rewrite(self, aircraft: str, day: date, changes: dict[str, Plain], why: str) -> None:
        """Mend fields of that day's flights."""
        flown = self.diary.flown[aircraft, day]
        body: dict[str, Plain] = {"amends": flown, "set": changes, "seen": []}
        self.pen.add(f"aircraft/{aircraft}", "amendment", day, body, note=why, machine=DESK)
