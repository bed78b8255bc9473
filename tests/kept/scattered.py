"""Small fleets of several aircraft drawn at random, with all that can tie one to another."""

from __future__ import annotations

import random
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from register.fleet import Fleet
from register.records.kept import Kept
from register.records.sheaves import Entries, Sheaves, _read, folder_of
from register.storage.gathered import SourceFile
from register.text.emitting import render_yaml

FIRST = date(2026, 3, 2)
DAYS = 9
AIRCRAFT = ("heron", "swift", "knot", "ruff", "tern")
ENGINES = ("tu-1", "tu-2", "tu-3")
SERVOS = ("sv-1", "sv-2", "sv-3")
PACKS = ("pk-1", "pk-2")
#: Goes into an engine, and nowhere else.
INNER = "pump"
#: Every third aircraft is of this kit.
KIT: dict[str, Any] = {
    "title": "Kit",
    "positions": {"sv-1": {"kind": "servo"}},
    "notices": {
        "horn": {"title": "Horn", "applies": {"part_kind": "servo"}, "grounds": True,
                 "action": "until-repaired", "every": [{"counter": "flights", "amount": 3}]},
        "pipe": {"title": "Pipe", "applies": {"position": "engine"}, "action": "once"},
        "skin": {"title": "Skin", "action": "once"},
    },
}  # fmt: skip
HOMES = tuple(
    [f"aircraft/{name}" for name in AIRCRAFT]
    + [f"parts/{name}" for name in (*ENGINES, *SERVOS, *PACKS, INNER)]
)
PROGRAMME: dict[str, Any] = {
    "title": "Club",
    "tasks": [
        {"id": "look", "title": "Look",
         "every": [{"counter": "flights", "amount": 6}, {"days": 5}]},
        {"id": "hinge", "title": "Hinge", "on": {"part_kind": "servo"}, "grounds": True,
         "reset": "from-due-in-window",
         "every": [{"counter": "flights", "amount": 4, "early": 1, "late": 1}]},
        {"id": "strip", "title": "Strip", "on": {"position": "engine"},
         "every": [{"counter": "engine-minutes", "amount": 30}]},
        {"id": "volume", "title": "Volume", "on": {"part_kind": "battery"},
         "every": [{"counter": "charges", "amount": 3}, {"counter": "flights", "amount": 9}]},
        {"id": "after", "title": "After", "start": [{"when": "work"}, {"when": "incident"}]},
        {"id": "fixed", "title": "Fixed", "start": [{"when": "fix", "after": {"flights": 2}}]},
        {"id": "rest", "title": "Rest", "start": [{"when": "layup", "days": 3}]},
        {"id": "season", "title": "Season", "grounds": True, "start": [{"when": "season"}]},
    ],
}  # fmt: skip


class Diary:
    """Writes random events; `ties` is how readily one aircraft gets to do with another."""

    def __init__(self, chance: random.Random, ties: float):
        self.chance = chance
        self.ties = ties
        self.seq = 0
        self.ids: list[str] = []
        self.own: dict[str, list[str]] = {name: [] for name in AIRCRAFT}

    def event(self) -> tuple[str, bytes]:
        """The path and text of one more event."""
        chance = self.chance
        n = chance.randrange(len(AIRCRAFT))
        craft = AIRCRAFT[n]
        kind, body = self.body(craft, n)
        self.seq += 1
        id_ = chance.choice("abxz") + "".join(chance.choices("0123456789abcdef", k=4))
        if self.ids and chance.random() < self.ties / 5:
            id_ = chance.choice(self.ids)
        day = FIRST + timedelta(days=chance.randrange(DAYS))
        when = day.isoformat()
        if chance.random() < 0.4:
            when += f"T{chance.randint(9, 12):02d}:00+00:00"
        data: dict[str, Any] = {"record": kind, "id": id_, "when": when, **body}
        if chance.random() < 0.2 and (aim := self.aim(craft)):
            data["after"] = aim[: chance.choice((4, 9))] + chance.choice(("", "", ":1", ":2"))
        if chance.random() < 0.8:
            data |= {"machine": chance.choice(("m-1", "m-2")), "seq": self.seq}
            data["typed"] = f"{day.isoformat()}T{chance.randint(10, 20)}:{self.seq % 60:02d}:00Z"
        self.ids.append(id_)
        self.own[craft].append(id_)
        stray = chance.random() < self.ties
        home = chance.choice(HOMES) if stray else f"aircraft/{craft}"
        text = render_yaml(data)
        if chance.random() < 0.02:
            text = text[: len(text) // 2] + '"'
        name = f"{day.isoformat()}-{kind}-{id_}-{self.seq}.yaml"
        return f"{home}/events/2026/03/{name}", text.encode()

    def aim(self, craft: str) -> str:
        """An event written before: of the same aircraft, or now and then of any."""
        stray = self.chance.random() < self.ties
        known = self.ids if stray else self.own[craft][-6:]
        return self.chance.choice(known) if known else ""

    def pick(self, things: tuple[str, ...], n: int) -> str:
        """Most often the one that goes with the n-th aircraft."""
        stray = self.chance.random() < self.ties
        return self.chance.choice(things) if stray else things[n % len(things)]

    def body(self, craft: str, n: int) -> tuple[str, dict[str, Any]]:
        """A kind of event and what it says."""
        chance = self.chance
        engine, servo = self.pick(ENGINES, n), self.pick(SERVOS, n)
        pack = self.pick(PACKS, n)
        kinds = ("flights",) * 7 + ("install", "remove", "done", "charge", "meter", "snag", "more")
        kind = chance.choice(kinds)
        if kind == "flights":
            more = chance.choice(
                ({}, {"minutes": 20}, {"engine_minutes": 12, "minutes": 9}, {"uses": [pack]})
            )
            return kind, {"aircraft": craft, "count": chance.randint(1, 3), **more}
        if kind == "install":
            part = chance.choice((engine, servo, pack))
            if chance.random() < 0.2:
                return kind, {"part": INNER, "into": engine}
            where = "engine" if part == engine else part
            return kind, {"part": part, "aircraft": craft, "position": where}
        if kind == "remove":
            return kind, {"part": chance.choice((engine, servo, pack))}
        if kind == "done":
            task = chance.choice(("look", "hinge", "strip", "volume", "season", "rest"))
            subject = {"hinge": servo, "strip": engine, "volume": pack}.get(task, craft)
            result = chance.choice(("pass", "pass", "fail"))
            return "task-done", {"task": task, "subject": subject, "result": result}
        if kind == "charge":
            return kind, {"parts": [pack], "count": 1}
        if kind == "meter":
            value = chance.randint(0, 90)
            return "meter-reading", {"part": engine, "counter": "engine-minutes", "value": value}
        if kind == "snag":
            return self.decision(craft, servo)
        return self.rest(craft, engine, n)

    def decision(self, craft: str, servo: str) -> tuple[str, dict[str, Any]]:
        """A snag, or what was decided about one."""
        chance = self.chance
        snag = self.aim(craft)[: chance.choice((4, 5))]
        kind = chance.choice(("snag", "snag", "fix", "deferral", "severity"))
        if kind == "fix" and snag:
            return kind, {"snags": [snag], "action": "glued", "closes": chance.random() < 0.7}
        if kind == "deferral" and snag:
            return kind, {"snag": snag, "reason": "later", "flights": 2}
        if kind == "severity" and snag:
            return kind, {"snag": snag, "severity": chance.choice(("grounding", "cosmetic"))}
        about = chance.choice(({"aircraft": craft, "position": servo}, {"part": servo}))
        rated = chance.choice(("grounding", "deferrable", "cosmetic"))
        return "snag", {**about, "text": "loose", "severity": rated}

    def rest(self, craft: str, engine: str, n: int) -> tuple[str, dict[str, Any]]:
        """Amendments, withdrawals, runs, incidents, conditions, stages."""
        chance = self.chance
        aim = self.aim(craft) or "none0"
        other = self.pick(AIRCRAFT, n)
        day = (FIRST + timedelta(days=chance.randrange(DAYS))).isoformat()
        changed = chance.choice(
            ({"count": 2}, {"minutes": 30}, {"aircraft": other}, {"when": day}, {"part": engine},
             {"uses": [self.pick(PACKS, n)]}, {"after": aim}, {"snags": [aim]}, {"result": "fail"})
        )  # fmt: skip
        kinds: list[tuple[str, dict[str, Any]]] = [
            ("amendment", {"amends": aim, "set": changed}),
            ("amendment", {"amends": aim, "set": changed}),
            ("withdrawal", {"withdraws": aim, "reason": "slip"}),
            ("engine-run", {"part": engine, "minutes": 4}),
            ("incident", {"aircraft": craft, "what": "hard-landing"}),
            ("condition", {"part": engine, "condition": "quarantined"}),
            ("layup", {"subject": craft, "state": chance.choice(("begin", "end"))}),
            ("note", {"aircraft": craft, "text": "hello"}),
            *self.workshop(craft, aim, n),
        ]
        return chance.choice(kinds)

    def workshop(self, craft: str, aim: str, n: int) -> list[tuple[str, dict[str, Any]]]:
        """What is cured, departed from, planned, and answered to a notice."""
        chance = self.chance
        servo = self.pick(SERVOS, n)
        notice, subject = chance.choice((("horn", servo), ("pipe", craft), ("skin", craft)))
        result = chance.choice(("clear", "found", "repaired"))
        return [
            ("notice-answer", {"notice": notice, "subject": subject, "result": result}),
            ("cure", {"aircraft": craft, "text": "glue", "adhesive": "epoxy", "holds": [aim]}),
            ("job", {"aircraft": craft, "text": "sand", "waits_for": [aim]}),
            ("modification", {"part": servo, "text": "longer arm", "state": "trial"}),
        ]


def draw_files(chance: random.Random, events: int) -> dict[str, bytes]:
    """All files of a fleet: the same standing ones, and some events."""
    sheets: dict[str, dict[str, Any]] = {
        "fleet.yaml": {"schema": 1, "name": "Small", "home_zone": "UTC", "season_gap_days": 4},
        "programmes/club.yaml": PROGRAMME,
        "kits/kit.yaml": KIT,
    }
    for n, name in enumerate(AIRCRAFT):
        sheets[f"aircraft/{name}/aircraft.yaml"] = {
            "id": f"ac{n}kq7m2xa"[:10],
            "title": name,
            "programmes": ["club"],
            "positions": {"engine": {"kind": "turbine", "required": n % 2 == 0}},
            **({"kit": "kit"} if n % 3 == 0 else {}),
        }
    kinds = {**dict.fromkeys(ENGINES, "turbine"), **dict.fromkeys(SERVOS, "servo")}
    for name in (*ENGINES, *SERVOS, INNER):
        life = [{"counter": "engine-minutes", "limit": 60}]
        sheets[f"parts/{name}/part.yaml"] = {"kind": kinds.get(name, "other"), "life": life}
    for name in PACKS:
        sheets[f"parts/{name}/part.yaml"] = {"kind": "battery", "use": "assigned"}
    files = {path: render_yaml(data).encode() for path, data in sheets.items()}
    diary = Diary(chance, chance.choice((0.0, 0.0, 0.05, 0.3)))
    files.update(diary.event() for _ in range(events))
    return files


def open_in_memory(files: dict[str, bytes], *, cut: bool) -> Fleet:
    """A fleet of these files that never lay on a disk; with `cut` it is answered by circles."""
    nowhere = Path("/nonexistent")
    sheaves = Sheaves(nowhere, Kept(nowhere, bytes(32) if cut else None, b""), ZoneInfo("UTC"), {})
    sheaves.on_disk = False
    groups: dict[str, Entries] = {"": {}}
    for path in sorted(files):
        file = SourceFile(path, files[path])
        groups.setdefault(folder_of(path), {})[path] = (file, _read(file, sheaves.zone))
    for folder, entries in groups.items():
        sheaves.put(folder, entries, ())
    return Fleet(sheaves)
