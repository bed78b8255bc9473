"""What the owner of the example keeps doing: the tasks of his programmes, in short."""

from __future__ import annotations

from decimal import Decimal
from random import Random

from msgspec import Struct

from register.text.nodes import Plain


class Gauge(Struct, frozen=True):
    """A reading that creeps: the first value, what each done adds, and the scatter."""

    name: str
    unit: str
    start: str
    step: str = "0"
    scatter: str = "0"

    def draw(self, rng: Random, count: int) -> dict[str, Plain]:
        """The reading of the n-th time, counted from 0, in the digits of `start`."""
        start, scatter = Decimal(self.start), Decimal(self.scatter)
        value = start + Decimal(self.step) * count + scatter * rng.randint(-2, 2) / 2
        return {"name": self.name, "value": value.quantize(start), "unit": self.unit}


class Duty(Struct, frozen=True):
    """One task as the owner has it in his head."""

    task: str
    on: str = "aircraft"
    counter: str | None = None
    amount: int = 0
    days: int | None = None
    season: bool = False
    idle: bool = False
    stored: bool = False
    work: tuple[str, ...] = ()
    recheck: tuple[str, ...] = ()
    gauges: tuple[Gauge, ...] = ()
    baseline: bool = False


SERVO = ("servo",)
MOVED = ("servo", "turbine", "petrol-engine", "electric-motor", "fan", "retract", "tow-release")

THROWS = Duty(
    "surface-throws",
    counter="flights",
    amount=25,
    season=True,
    work=SERVO,
    gauges=(
        Gauge("off-sheet-mm", "mm", "0.2", "0.05", "0.2"),
        Gauge("left-right-mm", "mm", "0.3", "0.02", "0.2"),
    ),
)
HINGES = Duty(
    "hinge-pull", counter="flights", amount=25, season=True, gauges=(Gauge("pull-kg", "kg", "3"),)
)
SERVO_GEARS = Duty(
    "servo-gears",
    counter="flights",
    amount=50,
    season=True,
    baseline=True,
    gauges=(
        Gauge("lash-mm", "mm", "0.15", "0.03", "0.02"),
        Gauge("centre-mm", "mm", "0.1", "0.02", "0.1"),
        Gauge("rest-current", "mA", "64", "3", "4"),
    ),
)
PACKS = Duty(
    "pack-capacity",
    on="battery",
    counter="charges",
    amount=50,
    days=182,
    season=True,
    baseline=True,
    gauges=(
        Gauge("capacity", "%", "98", "-1.6", "1"),
        Gauge("resistance", "mohm", "4.2", "0.35", "0.2"),
    ),
)
RANGE = Duty(
    "range-check",
    days=30,
    season=True,
    baseline=True,
    gauges=(
        Gauge("distance", "m", "42", "0", "4"),
        Gauge("running-share", "%", "97", "0", "2"),
        Gauge("lost-frames", "frames", "4", "0", "4"),
    ),
)
FAILSAFE = Duty("failsafe", season=True, gauges=(Gauge("engine-answer-s", "s", "1.2", "0", "0.2"),))
SKIN = Duty(
    "skin-tap",
    counter="flights",
    amount=50,
    season=True,
    gauges=(Gauge("crack-mm", "mm", "0"),),
)
DIRECTIONS = Duty("swap-direction-throws", work=SERVO)
FASTENERS = Duty("swap-fasteners", recheck=MOVED)
STORE_PACKS = Duty(
    "storage-packs",
    on="battery",
    stored=True,
    gauges=(Gauge("lipo-cell-volts", "V", "3.83", "0", "0.01"),),
)


def play(start: str, step: str, amount: int = 10) -> Duty:
    """Free play at the surfaces, creeping."""
    gauge = Gauge("play-mm", "mm", start, step, "0.05")
    return Duty("surface-free-play", counter="flights", amount=amount, gauges=(gauge,))


JET = (
    THROWS,
    play("0.42", "0.05"),
    HINGES,
    SERVO_GEARS,
    PACKS,
    RANGE,
    FAILSAFE,
    SKIN,
    Duty(
        "leak-down",
        counter="flights",
        amount=25,
        season=True,
        gauges=(
            Gauge("drop-15-min", "psi", "1.2", "0.25", "0.2"),
            Gauge("drop-overnight", "psi", "3.0", "0.5", "0.4"),
        ),
    ),
    Duty("gear-locks", counter="landings", amount=25),
    Duty(
        "turbine-light",
        on="engine",
        counter="flights",
        amount=25,
        gauges=(Gauge("spin-down-s", "s", "38.0", "-0.6", "0.4"),),
    ),
    Duty(
        "tail-pipe",
        counter="flights",
        amount=10,
        gauges=(Gauge("gap-mm", "mm", "4.0", "0", "0.3"),),
    ),
    Duty(
        "extinguisher-weigh",
        on="extinguisher",
        days=365,
        gauges=(Gauge("weight-loss", "%", "0.4", "0.3"),),
    ),
    DIRECTIONS,
    FASTENERS,
    STORE_PACKS,
    Duty("storage-turbine", on="engine", stored=True),
    Duty("return-turbine", on="engine", idle=True),
)
FAN = (
    THROWS,
    play("0.55", "0.04"),
    HINGES,
    PACKS,
    FAILSAFE,
    SKIN,
    Duty("fan-rotor", counter="flights", amount=10),
    Duty(
        "motor-bearings",
        on="engine",
        counter="flights",
        amount=25,
        gauges=(Gauge("radial-play-mm", "mm", "0.03", "0.01"),),
    ),
    Duty(
        "speed-controller",
        counter="flights",
        amount=10,
        gauges=(Gauge("temperature", "degC", "61", "1", "3"),),
    ),
    Duty(
        "static-power",
        season=True,
        work=("battery", "fan", "electric-motor"),
        baseline=True,
        gauges=(Gauge("current", "A", "118", "-1", "2"), Gauge("power", "W", "5150", "-40", "60")),
    ),
    Duty(
        "retract-current",
        counter="gear-cycles",
        amount=50,
        season=True,
        baseline=True,
        gauges=(
            Gauge("free-current", "A", "0.42", "0.02", "0.02"),
            Gauge("stall-current", "A", "1.9", "0.1", "0.1"),
            Gauge("travel-s", "s", "2.6", "0.1", "0.1"),
        ),
    ),
    DIRECTIONS,
    FASTENERS,
    STORE_PACKS,
    Duty("storage-fan", stored=True),
    Duty("return-fan", idle=True),
    Duty("return-retracts", idle=True),
)
TUG = (
    THROWS,
    play("0.60", "0.03"),
    PACKS,
    FAILSAFE,
    SKIN,
    Duty("propeller-bolts-torque", counter="flights", amount=12),
    Duty(
        "spark-plug",
        on="engine",
        season=True,
        gauges=(Gauge("gap-mm", "mm", "0.55", "0", "0.02"),),
    ),
    Duty("carburettor", on="engine", days=730),
    Duty("petrol-tank", season=True),
    Duty("petrol-lines-replace", days=365),
    Duty(
        "static-speed",
        counter="flights",
        amount=12,
        season=True,
        baseline=True,
        gauges=(
            Gauge("speed", "rpm", "6150", "-10", "20"),
            Gauge("cylinder-temperature", "degC", "142", "1", "4"),
        ),
    ),
    Duty(
        "tow-release-pull",
        counter="tows",
        amount=25,
        season=True,
        gauges=(Gauge("releases", "of 3", "3"),),
    ),
    Duty(
        "tow-release-wear",
        counter="tows",
        amount=25,
        gauges=(Gauge("groove-mm", "mm", "0.05", "0.01", "0.01"),),
    ),
    Duty("tow-line-replace", days=365),
    Duty("tug-gear", counter="landings", amount=25, gauges=(Gauge("flat-mm", "mm", "0.2"),)),
    FASTENERS,
    STORE_PACKS,
    Duty("storage-tanks", stored=True),
    Duty("storage-engine", on="engine", stored=True),
    Duty("return-engine", on="engine", idle=True),
)
