"""A small fleet for scales, air and cures: a jet with limits and classes, and one being built.

Import what you need: `from workshop_room.scale_fleet import make_scale_fleet`.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from fleets import make_fleet
from register.git.apply import save_paths
from register.git.repository import init_repository

FILES: dict[str, str] = {
    "fleet.yaml": 'schema: 1\nname: "Scale fleet"\nhome_zone: "CET"\n',
    "kits/dart.yaml": """
        id: kdart00001
        title: "Dart jet"
        balance:
          datum: "leading edge at the wing root"
          arms: {nose: -612, main-left: 238, main-right: 238}
          tracks: {main-left: -287, main-right: 287}
          mean_chord: {leading_edge: -28, length: 386}
          limits:
            forward: 84
            aft: 116
            tanks: any
            basis: {kind: "maker", reference: "manual page 22"}
        """,
    "aircraft/swift/aircraft.yaml": """
        id: swft000001
        title: "Swift"
        kit: "dart.kdart00001"
        stage: "in-service"
        positions:
          left-wing: {kind: "wing"}
        balance:
          lateral_limit: {limit: 3, basis: {kind: "owner", reference: "own rule"}}
          tank: {arm: 131, side: 0, full: 2.4, taxi: 0.2, density: 0.8, basis: {kind: "owner"}}
          heaviest: 24
          masses:
            - limit: 14
              kind: "dry"
              what: "own class"
              basis: {kind: "club", reference: "field rules"}
            - limit: 16
              kind: "take-off"
              what: "class of the national body"
              basis: {kind: "rule"}
          items:
            smoke-pump: {mass: 0.4, arm: 205, side: 0, to_come: true}
            pack-front: {mass: 0.66, arm: -455, side: 0}
          ballast:
            nose-box: {arm: -640}
            tail-post: {arm: 1105}
        air:
          gear:
            volume_ml: 280
            full: 7
            minimum: 4.5
            basis: {kind: "maker", reference: "leaflet"}
            loss:
              - {bar: 0.3, minutes: 20, basis: {kind: "common-practice"}}
              - {bar: 0.8, minutes: 600, basis: {kind: "owner"}}
        """,
    "aircraft/hull/aircraft.yaml": """
        id: hull000001
        title: "Hull"
        stage: "being-built"
        balance:
          datum: "nose ring"
          items_whole: true
          items:
            airframe: {mass: 6.1, arm: 710}
            engine: {mass: 2.05, arm: 96}
            radio: {mass: 0.9, arm: 480}
          limits: {forward: 520, aft: 560, basis: {kind: "unknown"}}
        """,
    "parts/wing-3/part.yaml": 'id: pwing00003\nkind: "wing"\n',
}
WEIGHED = ("--weigh", "nose=2.02", "--weigh", "main-left=5.71", "--weigh", "main-right=5.64")


def make_scale_fleet(folder: Path, files: Mapping[str, str] | None = None) -> Path:
    """The fleet with a repository of its own, everything in history."""
    fleet = make_fleet(folder, {**FILES, **(files or {})})
    init_repository(fleet)
    save_paths(fleet, sorted({**FILES, **(files or {})}), "Begin the fleet")
    return fleet
