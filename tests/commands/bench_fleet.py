"""An aircraft with covers, a tank, jobs, snags and tasks, for tests of the worklist.

Import what you need: `from commands.bench_fleet import make_bench_fleet`.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from fleets import make_fleet

EVENTS = "aircraft/swift/events/2026/05/2026-05"
FILES: dict[str, str] = {
    "programmes/club.yaml": """
        id: prgclub001
        title: "Club"
        tasks:
          - id: "leak-down"
            title: "Leak-down of the gear air"
            every: [{counter: "flights", amount: 5}]
            grounds: true
            at: "gear-bay"
            minutes: 25
            tools: ["gauge"]
          - id: "range-test"
            title: "Range test"
            every: [{months: 6}]
            at: "aircraft"
          - id: "hinge-pull"
            title: "Pull on each hinge"
            every: [{months: 1}]
          - id: "lamp-look"
            title: "Lamps"
            every: [{months: 12}]
        """,
    "aircraft/swift/aircraft.yaml": """
        id: swif000001
        title: "Swift, silver"
        programmes: ["club.prgclub001"]
        opening:
          as_of: "2026-01-01"
          tasks:
            - {task: "range-test", when: "2025-11-14"}
            - {task: "hinge-pull", when: "2026-04-14"}
            - {task: "lamp-look", when: "2026-03-01"}
        positions:
          receiver: {kind: "receiver"}
          flap-servo-left: {kind: "servo"}
          gear-left: {kind: "retract"}
        zones:
          gear-bay: {title: "Gear bay", holds: [gear-left]}
        joints:
          hatch-screws: {title: "Hatch screws", thread: M2.5, length: 8, head: cap, count: 6}
          bay-screws:
            title: "Bay screws"
            thread: M3
            length: 10
            head: button
            count: 4
            thread_lock: medium
            stock: screw-m3x10-button
            torque: {value: 0.4, unit: "N·m", basis: {kind: maker, reference: "sheet 3"}}
        access:
          canopy: {title: "Canopy", minutes_off: 1, minutes_on: 2}
          hatch:
            title: "Radio hatch"
            opens: [receiver]
            needs: [canopy]
            fasteners: [hatch-screws]
            minutes_off: 4
            minutes_on: 5
            disturbs: [range-test]
            checks: ["no lead under the rim"]
          bay-cover:
            title: "Bay cover"
            opens: [gear-bay]
            fasteners: [bay-screws]
            materials: ["silicone grease"]
        notices:
          lead-trap:
            title: "Leads slip under the rim"
            text: "Tape them down first."
            kind: trap
            touches: [receiver]
        """,
    "stock.yaml": """
        items:
          screw-m3x10-button: {title: "Screw", count: 1, wanted: 10}
        """,
    f"{EVENTS}-02-flights-f1.yaml": """
        record: "flights"
        id: "f1aaaaaaaa"
        when: "2026-05-02"
        aircraft: "swift"
        count: 6
        """,
    f"{EVENTS}-03-job-j1.yaml": """
        record: "job"
        id: "j1aaaaaaaa"
        when: "2026-05-03"
        aircraft: "swift"
        text: "glue the tray rib"
        at: "receiver"
        minutes: 20
        cure: {adhesive: "rib epoxy", handling_minutes: 30, full_minutes: 720,
               basis: {kind: maker, reference: "leaflet"}}
        """,
    f"{EVENTS}-03-job-j2.yaml": """
        record: "job"
        id: "j2aaaaaaaa"
        when: "2026-05-03"
        aircraft: "swift"
        text: "new plug"
        at: "receiver"
        minutes: 10
        waits_for: ["j1aaaaaaaa"]
        """,
    f"{EVENTS}-04-snag-s1.yaml": """
        record: "snag"
        id: "s1aaaaaaaa"
        when: "2026-05-04"
        aircraft: "swift"
        text: "two screws sheared"
        severity: "limiting"
        joint: "bay-screws"
        broken: 2
        """,
    f"{EVENTS}-04-snag-s2.yaml": """
        record: "snag"
        id: "s2aaaaaaaa"
        when: "2026-05-04"
        aircraft: "swift"
        text: "rattle somewhere aft"
        severity: "monitor"
        """,
    f"{EVENTS}-04-snag-s3.yaml": """
        record: "snag"
        id: "s3aaaaaaaa"
        when: "2026-05-04"
        aircraft: "swift"
        text: "left gear is slow"
        severity: "deferrable"
        """,
}


def make_bench_fleet(folder: Path, files: Mapping[str, str] | None = None) -> Path:
    """The fleet, with some files otherwise."""
    return make_fleet(folder, {**FILES, **(files or {})})
