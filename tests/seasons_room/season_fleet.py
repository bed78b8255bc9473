"""A fleet of two jets over three seasons: readings, faults, work and days lost."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

from fleets import make_fleet

DAY = "2026-05-16"
HERON, KESTREL = "heron.hern000001", "kestrel.kest000001"
FILES = {
    "fleet.yaml": """
        schema: 1
        name: "Season fleet"
        home_zone: "UTC"
        season_start: "03-01"
        """,
    "private.yaml": """
        people:
          vera: "Vera Example"
        prices:
          sv-1: "35"
          tu-7: "about 1900"
        spending:
          - "2025-04-02 heron engine 240 EUR bearing set"
          - "2026-03-10 heron engine 60 EUR filter"
          - "2026-04-10 fleet fuel 80"
        """,
    "programmes/jet.yaml": """
        id: "prgjet0001"
        title: "Jet"
        tasks:
          - id: "surface-play"
            title: "Play of the surfaces"
            at: ["aileron-servo-left"]
            every: [{counter: "flights", amount: 4}]
            reading:
              {name: "play", unit: "mm", high: 1.6, basis: {kind: "club", reference: "list 3"}}
          - id: "servo-lash"
            title: "Lash of the aileron servo"
            on: {position: "aileron-servo-left"}
            every: [{counter: "flights", amount: 4}]
            reading: {name: "lash", unit: "mm", high: 0.5, basis: {kind: "owner"}}
          - id: "pack-test"
            on: {part_kind: "battery"}
            every: [{months: 2, late_days: 5}]
            reading:
              - {name: "capacity", unit: "%", low: 80}
              - {name: "resistance", unit: "mohm", baseline: true, ratio_high: 1.5}
        """,
    "aircraft/heron/aircraft.yaml": """
        id: "hern000001"
        title: "Heron"
        programmes: ["jet.prgjet0001"]
        positions:
          aileron-servo-left: {kind: "servo", system: "controls"}
          engine: {kind: "turbine"}
        """,
    "aircraft/kestrel/aircraft.yaml": """
        id: "kest000001"
        title: "Kestrel"
        programmes: ["jet.prgjet0001"]
        positions:
          aileron-servo-left: {kind: "servo"}
        """,
    "parts/sv-1/part.yaml": 'id: "psv0000001"\nkind: "servo"\n',
    "parts/sv-2/part.yaml": 'id: "psv0000002"\nkind: "servo"\n',
    "parts/tu-7/part.yaml": 'id: "ptu0000007"\nkind: "turbine"\n',
    "parts/pk-1/part.yaml": 'id: "ppk0000001"\nkind: "battery"\nuse: "assigned"\n',
}


class Diary:
    """Writes events one after the other; ids count up."""

    def __init__(self) -> None:
        self.files: dict[str, str] = {}
        self.count = 0

    def note(self, kind: str, when: str, body: str, home: str = "aircraft/heron") -> str:
        """One event; its id."""
        self.count += 1
        id_ = f"e{self.count:09d}"
        path = f"{home}/events/{when[:4]}/{when[5:7]}/{when[:10]}-{kind}-{id_}.yaml"
        # In the order they are noted, where a day has several.
        order = f'machine: "m-1"\nseq: {self.count}\n'
        self.files[path] = f'record: "{kind}"\nid: "{id_}"\nwhen: "{when}"\n{order}{body}'
        return id_

    def fly(self, when: str, count: int, aircraft: str = HERON, uses: str = "pk-1") -> None:
        """Flights of six minutes each."""
        name = aircraft.partition(".")[0]
        body = f'aircraft: "{aircraft}"\ncount: {count}\nminutes: {6 * count}\nuses: ["{uses}"]\n'
        self.note("flights", when, body, f"aircraft/{name}")

    def done(
        self,
        when: str,
        task: str,
        subject: str,
        readings: str,
        result: str = "pass",
        more: str = "",
    ) -> str:
        """A task done with readings in flow form."""
        about = f'task: "{task}"\nsubject: "{subject}"\nresult: "{result}"\n'
        body = f"{about}{more}readings: [{readings}]\n"
        return self.note("task-done", when, body)

    def install(self, when: str, part: str, aircraft: str, position: str) -> None:
        """A part fitted."""
        body = f'part: "{part}"\naircraft: "{aircraft}"\nposition: "{position}"\n'
        self.note("install", when, body, f"aircraft/{aircraft.partition('.')[0]}")

    def snag(self, when: str, text: str, severity: str, more: str = "", whose: str = HERON) -> str:
        """A snag on an aircraft."""
        body = f'aircraft: "{whose}"\ntext: "{text}"\nseverity: "{severity}"\n{more}'
        return self.note("snag", when, body, f"aircraft/{whose.partition('.')[0]}")

    def fix(self, when: str, snag: str, action: str, more: str = "") -> str:
        """A fix that closes."""
        body = f'snags: ["{snag}"]\naction: "{action}"\ncloses: true\n{more}'
        return self.note("fix", when, body)


def reading(name: str, value: float | str, unit: str) -> str:
    """One reading in flow form."""
    return f'{{name: "{name}", value: {value}, unit: "{unit}"}}'


def write_diary() -> Diary:
    """Three seasons: see the tests for what is hidden in them."""
    diary = Diary()
    diary.install("2024-03-02", "sv-1", HERON, "aileron-servo-left")
    diary.install("2024-03-02", "tu-7", HERON, "engine")
    lash, play = 0.10, 0.50
    for year in (2024, 2025, 2026):
        months = (4, 5, 6, 7, 8, 9) if year < 2026 else (4, 5)
        for month in months:
            diary.fly(f"{year}-{month:02d}-03", 4)
            lash, play = lash + 0.025, play + 0.06
            if (year, month) == (2025, 6):
                # Mended: the play is another one from here on.
                id_ = diary.snag(
                    f"{year}-06-04", "Aileron loose at the horn", "grounding",
                    'position: "aileron-servo-left"\nfound: "after-flight"\n',
                )  # fmt: skip
                diary.fix(f"{year}-06-09", id_, "New horn screws", "minutes: 40\n")
                play = 0.40
            when = f"{year}-{month:02d}-10"
            diary.done(
                when, "servo-lash", HERON, reading("lash", round(lash, 3), "mm"),
                more='position: "aileron-servo-left"\n',
            )  # fmt: skip
            diary.done(when, "surface-play", HERON, reading("play", round(play, 2), "mm"))
    for n, value in enumerate((98, 97, 97, 95, 94)):
        when = (date(2024, 4, 12) + timedelta(days=62 * n)).isoformat()
        diary.done(when, "pack-test", "pk-1", reading("capacity", value, "%"))
    diary.done("2025-04-12", "pack-test", "pk-1", reading("capacity", 3400, "mAh"))
    _more(diary)
    return diary


def _more(diary: Diary) -> None:
    """Days lost, deferrals, a layup, jobs."""
    wheel = diary.snag("2025-07-05", "Wheel drags", "limiting", 'found: "after-flight"\n')
    diary.note(
        "deferral", "2025-07-06",
        f'snag: "{wheel}"\nreason: "spare on order"\nlimit: "grass only"\nuntil: "2025-07-20"\n',
    )  # fmt: skip
    diary.fix("2025-07-25", wheel, "New bearing")
    diary.snag("2025-02-01", "Seam dry at the root", "deferrable", 'found: "build"\n')
    diary.snag("2026-05-05", "Wheel drags again", "limiting", 'found: "after-flight"\n')
    diary.note("layup", "2025-10-20", 'subject: "heron"\nstate: "begin"\n')
    diary.note("layup", "2026-03-15", 'subject: "heron"\nstate: "end"\n')
    tape = f'aircraft: "{HERON}"\ntext: "Renew the hinge tape"\n'
    job = diary.note("job", "2025-11-02", tape)
    diary.note("job", "2025-12-06", f'{tape}job: "{job}"\nstate: "done"\nminutes: 90\n')
    diary.fly("2026-05-09", 2, KESTREL)


def make_season_fleet(folder: Path, more: dict[str, str] | None = None) -> Path:
    """The fleet in a folder."""
    return make_fleet(folder, {**FILES, **write_diary().files, **(more or {})})
