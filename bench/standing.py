"""The standing files of a benchmark fleet: kits, programmes, aircraft, parts. All invented."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from random import Random

from register.entry.fleets import plan_fleet
from register.entry.ids import make_id
from register.text.emitting import render_flow, render_text, render_yaml
from register.text.nodes import Plain

ZONE = "CET"
_WORDS = ("dunlin", "plover", "avocet", "curlew", "knot", "ruff", "snipe", "tern", "whimbrel")


@dataclass(frozen=True, slots=True)
class Duty:
    """One task of a programme, and roughly how often the owner does it.

    `flights` and `days` are the interval; `unit` names the calendar's own key.
    """

    id: str
    on: str = "aircraft"
    flights: int = 0
    minutes: int = 0
    charges: int = 0
    days: int = 0
    unit: str = "months"
    start: str = ""
    reset: str = "from-done"
    reading: tuple[str, str, int] | None = None
    grounds: bool = False

    @property
    def is_chosen(self) -> bool:
        """Whether the owner does it on his own, not only when a day or an incident asks."""
        return bool(self.flights or self.minutes or self.charges or self.days)


_FRAME = (
    Duty("look-round", start="each-flight"),
    Duty("rates-heard", start="each-flight"),
    Duty("first-look", start="day"),
    Duty("throws", flights=120, days=365, reading=("off-mm", "mm", 2)),
    Duty("free-play", flights=60, reading=("play-mm", "mm", 2), grounds=True),
    Duty("hinge-tug", flights=150, reset="from-due-in-window"),
    Duty("linkage-look", flights=150, days=365),
    Duty("range-walk", days=365, unit="calendar_months", grounds=True),
    Duty("loss-of-signal", days=365, start="season", grounds=True),
    Duty("skin-tap", days=365, reset="from-due"),
    Duty("wing-joint", flights=200),
    Duty("switch-wear", days=730),
    Duty("lead-pull", days=730),
    Duty("balance-point", days=730, reading=("nose-mm", "mm", 5)),
    Duty("season-screws", start="season"),
    Duty("struts-after", start="incident", grounds=True),
    Duty("tubes-after", start="incident", grounds=True),
    Duty("formers-after", start="incident", grounds=True),
    Duty("swap-direction", start="install"),
    Duty("pack-volume", "battery", charges=80, days=365, reading=("capacity", "%", 100)),
)
_ENGINE = (
    Duty("mount-bolts", "engine", minutes=900, grounds=True),
    Duty("engine-strip", "engine", minutes=3000, days=1095),
    Duty("line-ends", "engine", flights=180, days=365),
    Duty("first-warmth", "engine", start="day"),
    Duty("after-rest", "engine", start="gap"),
)
#: programme -> its tasks; the kind of the engine at its position "engine".
PROGRAMMES: dict[str, tuple[Duty, ...]] = {
    "jet-care": (*_FRAME, *_ENGINE, Duty("tail-pipe", flights=250)),
    "petrol-care": (*_FRAME, *_ENGINE, Duty("propeller-edge", flights=90)),
    "tug-care": (*_FRAME, *_ENGINE, Duty("release-pull", flights=100, grounds=True)),
}
ENGINES = {"jet-care": "turbine", "petrol-care": "petrol-engine", "tug-care": "petrol-engine"}


@dataclass(frozen=True, slots=True)
class Craft:
    """One aircraft of the fleet and the parts it began with, by reference."""

    name: str
    ref: str
    programme: str
    engine: str
    pack: str
    servo: str | None


def build_crafts(count: int, chance: Random) -> tuple[Craft, ...]:
    """Aircraft with an engine and a pack each; every second one also has a servo of its own.

    Every fourth shares the pack of the one before it.
    """
    crafts: list[Craft] = []
    kinds = tuple(PROGRAMMES)
    for number in range(count):
        name = f"{_WORDS[number % len(_WORDS)]}-{number + 1}"
        shared = number % 4 == 3
        crafts.append(
            Craft(
                name,
                f"{name}.{make_id(chance, ())}",
                # Pairs are of one programme, so that they can swap engines.
                kinds[number // 2 % len(kinds)],
                f"en-{number + 1}.{make_id(chance, ())}",
                crafts[-1].pack if shared else f"pk-{number + 1}.{make_id(chance, ())}",
                f"sv-{number + 1}.{make_id(chance, ())}" if number % 2 else None,
            )
        )
    return tuple(crafts)


def build_standing(crafts: tuple[Craft, ...], as_of: str, chance: Random) -> dict[str, bytes]:
    """Every standing file by its fleet-relative path."""
    files = {
        change.path: change.after
        for change in plan_fleet("Benchmark fleet", ZONE, "03-01", "Bench Owner")
    }
    programmes = {name: f"{name}.{make_id(chance, ())}" for name in PROGRAMMES}
    for name, ref in programmes.items():
        files[f"programmes/{name}.yaml"] = _render_programme(name, ref).encode()
        files[f"kits/{name}-kit.yaml"] = _render_kit(name, make_id(chance, ()))
    for number, craft in enumerate(crafts):
        files[f"aircraft/{craft.name}/aircraft.yaml"] = _render_craft(
            craft, programmes[craft.programme], as_of, number
        )
        for ref, kind in ((craft.engine, ENGINES[craft.programme]), (craft.pack, "battery")):
            files.update(_render_part(ref, kind, as_of))
        if craft.servo:
            files.update(_render_part(craft.servo, "servo", as_of))
    return files


def _render_craft(craft: Craft, programme: str, as_of: str, number: int) -> bytes:
    flown = 20 * (number % 7)
    counters: Plain = {"flights": {"value": flown, "known": "known" if flown else "estimated"}}
    data: dict[str, Plain] = {
        "id": craft.ref.partition(".")[2],
        "title": f"Benchmark model {number + 1}",
        "kit": f"{craft.programme}-kit",
        "programmes": [programme],
        "stage": "in-service",
        "opening": {"as_of": as_of, "counters": counters},
    }
    return render_yaml(data).encode()


def _render_part(ref: str, kind: str, as_of: str) -> dict[str, bytes]:
    name, _, id_ = ref.partition(".")
    basis: Plain = {"kind": "owner", "reference": "invented"}
    life: dict[str, Plain] = {
        "servo": [{"counter": "flights", "limit": 4000, "basis": basis}],
        "battery": [{"counter": "charges", "limit": 2000, "basis": basis}],
    }
    data: dict[str, Plain] = {
        "id": id_,
        "kind": kind,
        "title": f"Benchmark {kind}",
        "use": "assigned" if kind == "battery" else "installed",
        "opening": {"as_of": as_of},
        "life": life.get(kind),
    }
    return {f"parts/{name}/part.yaml": render_yaml(data).encode()}


def _render_kit(programme: str, id_: str) -> bytes:
    """A kit with the positions and what one flight adds."""
    reckoned: Plain = {"value": 9, "basis": {"kind": "owner", "reference": "invented"}}
    data: dict[str, Plain] = {
        "id": id_,
        "title": f"Kit of {programme}",
        "positions": {
            "engine": {"kind": ENGINES[programme], "required": True, "system": "engine"},
            "rudder-servo": {"kind": "servo", "system": "controls"},
        },
        "per_flight": {"landings": 1, "engine-minutes": reckoned},
    }
    return render_yaml(data).encode()


def _render_programme(name: str, ref: str) -> str:
    """A programme as its owner writes one: comments, and lists between brackets."""
    lines = [
        "# Kept by hand: this is not the form the program itself would write.",
        f"id: {render_text(ref.partition('.')[2])}",
        f"title: {render_text(name)}",
        "tasks:",
    ]
    for duty in PROGRAMMES[name]:
        lines.extend(_duty_lines(duty))
    return "\n".join(lines) + "\n"


def _duty_lines(duty: Duty) -> list[str]:
    on: Plain = "aircraft"
    if duty.on != "aircraft":
        on = {"position": "engine"} if duty.on == "engine" else {"part_kind": duty.on}
    lines = [
        f"  - id: {render_text(duty.id)}",
        f"    title: {render_text(duty.id.replace('-', ' ').capitalize())}",
        f"    on: {render_flow(on)}",
    ]
    every = _every(duty)
    if every:
        lines.append("    every:")
        lines.extend(f"      - {render_flow(item)}" for item in every)
        lines.append(f"    reset: {render_text(duty.reset)}   # the owner's own")
    if duty.start:
        lines.append(f"    start: {render_flow(_start(duty.start))}")
    if duty.reading:
        name, unit, high = duty.reading
        wanted: Plain = {"name": name, "unit": unit, "high": high}
        lines.append(f"    reading: {render_flow(wanted)}")
    lines.append(f"    grounds: {'true' if duty.grounds else 'false'}")
    lines.append('    basis: {kind: "owner", reference: "invented"}')
    return [*lines, ""]


def _every(duty: Duty) -> list[Plain]:
    slides = duty.reset == "from-due-in-window"
    found: list[Plain] = []
    for counter, amount in (
        ("flights", duty.flights),
        ("engine-minutes", duty.minutes),
        ("charges", duty.charges),
    ):
        if amount:
            window: dict[str, Plain] = {"early": Decimal(5), "late": Decimal(5)} if slides else {}
            found.append({"counter": counter, "amount": amount, **window})
    if duty.days:
        found.append({duty.unit: duty.days // 365 * 12})
    return found


def _start(when: str) -> Plain:
    more: dict[str, dict[str, Plain]] = {
        "season": {"valid_days": 60},
        "gap": {"days": 60},
        "incident": {"what": ["hard-landing"]},
        "install": {"kinds": ["servo"]},
    }
    return {"when": when, **more.get(when, {})}
