"""Three seasons of a fleet: one fault grows, one was ended, one is chance, one is the kit's.

Import what you need: `from faults_views.faulty_fleet import make_faulty_fleet`.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from pathlib import Path

from fleets import make_fleet

FIRST = date(2024, 4, 6)
#: Flying days a season, two flights each; seasons begin 1 March.
DAYS = 20
FLIGHTS = 2
#: (season, flying day) on which gear-left of heron leaked: more and more.
GROWING = (
    (0, 12), (1, 4), (1, 11), (1, 17), (2, 1), (2, 3), (2, 6), (2, 8), (2, 10), (2, 12), (2, 14),
    (2, 15), (2, 17), (2, 18), (2, 19),
)  # fmt: skip
#: kestrel's canopy latch was loose until another was fitted.
ENDED = ((0, 3), (0, 9), (0, 15), (1, 2), (1, 6), (1, 9))
#: petrel's receiver link: one, two, three by season, and nothing behind it.
CHANCE = ((0, 8), (1, 5), (1, 14), (2, 3), (2, 9), (2, 16))
#: A horn came loose on each aircraft of the kit.
SHARED = (("heron", 0, 5), ("kestrel", 1, 7), ("petrel", 2, 4))


def flying_day(season: int, number: int) -> date:
    """The n-th flying day of a season, a week apart."""
    return FIRST.replace(year=FIRST.year + season) + timedelta(days=7 * number)


class Diary:
    """Writes events with ids of its own."""

    def __init__(self) -> None:
        self.files: dict[str, str] = {}
        self.count = 0

    def add(self, folder: str, record: str, day: date, lines: str, time: str = "") -> str:
        """One event; its id back."""
        self.count += 1
        id_ = f"f{self.count:09d}"
        when = f"{day.isoformat()}T{time}+00:00" if time else day.isoformat()
        path = f"{folder}/events/{day:%Y}/{day:%m}/{day.isoformat()}-{record}-{id_}.yaml"
        self.files[path] = f'record: "{record}"\nid: "{id_}"\nwhen: "{when}"\n{lines}'
        return id_

    def fly(self, aircraft: str, day: date, count: int = FLIGHTS) -> None:
        """Flights at ten in the morning."""
        lines = f'aircraft: "{aircraft}"\ncount: {count}\nminutes: {8 * count}\n'
        self.add(f"aircraft/{aircraft}", "flights", day, f"{lines}landings: {count}\n", "10:00")

    def snag(self, aircraft: str, day: date, text: str, more: str = "") -> str:
        """A snag at noon, after the flights."""
        lines = f'aircraft: "{aircraft}"\ntext: "{text}"\nseverity: "deferrable"\n{more}'
        return self.add(f"aircraft/{aircraft}", "snag", day, lines, "12:00")

    def fix(self, aircraft: str, day: date, snag: str, action: str) -> str:
        """A fix in the evening."""
        lines = f'snags: ["{snag}"]\naction: "{action}"\ncloses: true\n'
        return self.add(f"aircraft/{aircraft}", "fix", day, lines, "18:00")


def write_faulty_fleet() -> dict[str, str]:
    """The files of the fleet."""
    diary = Diary()
    files = {
        "fleet.yaml": 'schema: 1\nname: "Faulty"\nhome_zone: "UTC"\nseason_start: "03-01"\n',
        "kits/reed.yaml": _kit(),
    }
    for name in ("heron", "kestrel", "petrel"):
        files[f"aircraft/{name}/aircraft.yaml"] = f'title: "{name.title()}"\nkit: "reed"\n'
        for season in range(3):
            for number in range(DAYS):
                diary.fly(name, flying_day(season, number))
    for season, number in GROWING:
        day = flying_day(season, number)
        leak = 'position: "gear-left"\nmode: "leaks-outward"\n'
        diary.fix("heron", day, diary.snag("heron", day, "left leg sinks", leak), "new ring")
    for season, number in ENDED:
        day = flying_day(season, number)
        soft = 'system: "canopy"\nmode: "loose"\n'
        action = "other latch" if (season, number) == ENDED[-1] else "spring bent"
        diary.fix("kestrel", day, diary.snag("kestrel", day, "latch soft", soft), action)
    for season, number in CHANCE:
        day = flying_day(season, number)
        frames = 'system: "radio"\nmode: "intermittent"\n'
        diary.fix("petrel", day, diary.snag("petrel", day, "frames lost", frames), "aerial moved")
    for name, season, number in SHARED:
        slack = 'position: "servo-left"\nmode: "play"\n'
        diary.snag(name, flying_day(season, number), "horn slack", slack)
    diary.snag("heron", date(2024, 3, 10), "frame loose", 'found: "build"\nsystem: "fuselage"\n')
    diary.snag("heron", flying_day(2, 18), "odd noise")
    return {**files, **diary.files}


def _kit() -> str:
    return (
        'title: "Reed"\npositions:\n'
        '  gear-left: {kind: "retract", system: "gear"}\n'
        '  servo-left: {kind: "servo", system: "controls"}\n'
    )


def make_faulty_fleet(folder: Path, more: Mapping[str, str] | None = None) -> Path:
    """The fleet below a folder, with further files."""
    return make_fleet(folder, {**write_faulty_fleet(), **(more or {})})
