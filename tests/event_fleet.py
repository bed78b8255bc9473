"""A small fleet with real git, for tests of entry: two jets, a petrol giant, parts, tasks.

Import what you need: `from event_fleet import make_event_fleet, open_clerk, events_of`.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import Any

from fleets import NOW, make_fleet
from register.desk import make_clerk, open_fleet
from register.entry.clerk import Clerk
from register.git.commit import init_repository

FILES: dict[str, str] = {
    "fleet.yaml": """
        schema: 1
        name: "Entry fleet"
        home_zone: "CET"
        season_start: "03-01"
        """,
    "private.yaml": """
        people:
          vera: "Vera Example"
          tom: "Tom Example"
        """,
    "programmes/jet.yaml": """
        id: prgjet0001
        title: "Jet"
        groups:
          - {name: "controls", title: "Controls"}
        tasks:
          - id: "surface-play"
            group: "controls"
            every: [{counter: "flights", amount: 10}]
            grounds: true
            reading: {name: "play-mm", unit: "mm", high: 1.6}
          - id: "hinge-look"
            group: "controls"
            start: {when: "season", valid_days: 60}
          - id: "link-check"
            group: "controls"
            start: {when: "season", valid_days: 60}
            reading: {name: "thread", unit: "diameters", low: 1.5}
          - id: "engine-service"
            on: {position: "engine"}
            every: [{counter: "engine-minutes", amount: 1500}]
            grounds: true
          - id: "servo-gears"
            on: {part_kind: "servo"}
            every: [{counter: "flights", amount: 50}]
            reading: {name: "lash-mm", unit: "mm", high: 0.5}
          - id: "pack-test"
            on: {part_kind: "battery"}
            every: [{months: 6}]
            reading:
              - {name: "capacity", unit: "%", low: 80}
              - {name: "resistance", unit: "mohm", baseline: true, ratio_high: 1.5}
          - id: "preflight"
            start: {when: "day"}
          - id: "gear-mounts"
            list: "hard-landing"
            start: {when: "incident", what: ["hard-landing"]}
            grounds: true
          - id: "spar-look"
            list: "hard-landing"
            start: {when: "incident", what: ["hard-landing"]}
            grounds: true
          - id: "part-swap-look"
            start: {when: "install"}
        """,
    "aircraft/heron/aircraft.yaml": """
        id: hern000001
        title: "Heron"
        programmes: ["jet.prgjet0001"]
        positions:
          engine: {kind: "turbine", required: true}
          aileron-servo-left: {kind: "servo"}
          aileron-servo-right: {kind: "servo"}
          left-wing: {kind: "wing"}
        per_flight:
          engine-minutes: {value: 9, basis: {kind: "owner", reference: "estimate"}}
        """,
    "aircraft/kestrel/aircraft.yaml": """
        id: kest000001
        title: "Kestrel"
        programmes: ["jet"]
        positions:
          engine: {kind: "turbine"}
          aileron-servo-left: {kind: "servo"}
        """,
    "aircraft/bulwark/aircraft.yaml": """
        id: bulw000001
        title: "Bulwark"
        stage: "being-built"
        """,
    "parts/tu-07/part.yaml": 'id: ptu0000001\nkind: "turbine"\n',
    "parts/sv-22/part.yaml": 'id: psv0000022\nkind: "servo"\n',
    "parts/sv-23/part.yaml": 'id: psv0000023\nkind: "servo"\n',
    "parts/sv-31/part.yaml": 'id: psv0000031\nkind: "servo"\n',
    "parts/pk-04/part.yaml": 'id: ppk0000004\nkind: "battery"\nuse: "assigned"\n',
    "parts/pk-05/part.yaml": 'id: ppk0000005\nkind: "battery"\nuse: "assigned"\n',
    "aircraft/heron/events/2026/04/2026-04-04-install-k0tu0aaaaa.yaml": """
        record: "install"
        id: "k0tu0aaaaa"
        when: "2026-04-04"
        part: "tu-07.ptu0000001"
        aircraft: "heron.hern000001"
        position: "engine"
        """,
    "aircraft/heron/events/2026/04/2026-04-04-install-k0sv22aaaa.yaml": """
        record: "install"
        id: "k0sv22aaaa"
        when: "2026-04-04"
        part: "sv-22"
        aircraft: "heron"
        position: "aileron-servo-left"
        """,
    "aircraft/heron/events/2026/04/2026-04-04-install-k0sv23aaaa.yaml": """
        record: "install"
        id: "k0sv23aaaa"
        when: "2026-04-04"
        part: "sv-23"
        aircraft: "heron"
        position: "aileron-servo-right"
        """,
    "aircraft/heron/events/2026/05/2026-05-09-flights-f1rstaaaaa.yaml": """
        record: "flights"
        id: "f1rstaaaaa"
        when: "2026-05-09"
        aircraft: "heron"
        count: 2
        minutes: 16
        uses: ["pk-04"]
        """,
}


def make_event_fleet(folder: Path, files: Mapping[str, str] | None = None) -> Path:
    """The fleet with a repository of its own, everything in history."""
    from register.git.apply import save_paths

    fleet = make_fleet(folder, {**FILES, **(files or {})})
    init_repository(fleet)
    save_paths(fleet, sorted({**FILES, **(files or {})}), "Begin the fleet")
    return fleet


def open_clerk(fleet: Path, now: datetime = NOW, seed: int = 7) -> Clerk:
    """A clerk whose ids repeat from run to run."""
    return make_clerk(open_fleet(fleet), now, random.Random(seed))


def events_of(fleet: Path, kind: str | None = None) -> list[Any]:
    """Bodies of events that count, in order, of one kind or all."""
    ledger = open_fleet(fleet).ledger
    return [event for event in ledger.events if kind is None or event.kind == kind]
