"""Which of two values stands while a clash is open: the cautious one, where there is one.

One table for every kind of key. The first row that fits decides; where none fits, no value is
the more cautious, and that is said.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal, InvalidOperation

from msgspec import Struct

from register.merge.missing import MISSING, Missing, Value

Path = tuple[str, ...]
#: Of two values the one to stand: -1 the first, 1 the second, 0 neither is more cautious.
Compare = Callable[[Value, Value], int]


class Caution(Struct, frozen=True):
    """One row: which keys, how two of their values compare, and why.

    `keys` are names of the value itself (none: any name), `inside` a key above it that there
    must be, `file` how the file's path begins.
    """

    keys: tuple[str, ...]
    prefer: Compare
    why: str
    inside: str = ""
    file: str = ""

    def fits(self, file: str, path: Path) -> bool:
        """Whether the row is about this key."""
        if not path or not file.startswith(self.file):
            return False
        named = not self.keys or path[-1] in self.keys
        return named and (not self.inside or self.inside in path[:-1])


def _smaller(one: Value, two: Value) -> int:
    first, second = _amount(one), _amount(two)
    return 0 if first is None or second is None else _order(first, second)


def _larger(one: Value, two: Value) -> int:
    """More, or not known: what is not known counts as open."""
    unknown = _is_unknown(one), _is_unknown(two)
    if any(unknown):
        return unknown[1] - unknown[0]
    return -_smaller(one, two)


def _narrower(one: Value, two: Value) -> int:
    """The smaller window; one that is not written is none at all."""
    zero = [0 if isinstance(value, Missing) else value for value in (one, two)]
    return _smaller(zero[0], zero[1])


def _earlier(one: Value, two: Value) -> int:
    days = [_day(value) for value in (one, two)]
    return 0 if days[0] is None or days[1] is None else _order(days[0], days[1])


def _first_of(*words: str) -> Compare:
    """The word that stands earlier in a row; what is in none says nothing."""

    def compare(one: Value, two: Value) -> int:
        both = [str(value).lower() for value in (one, two)]
        if both[0] not in words or both[1] not in words:
            return 0
        return _order(words.index(both[0]), words.index(both[1]))

    return compare


def _order(one: Decimal | date | int, two: Decimal | date | int) -> int:
    return (one > two) - (one < two)  # type: ignore[operator]


def _is_unknown(value: Value) -> bool:
    if isinstance(value, dict):
        return value.get("known") == "unknown" or _amount(value) is None
    return value in ("?", "unknown")


def _amount(value: Value) -> Decimal | None:
    """A number as written, or the highest that a mapping gives."""
    if isinstance(value, dict):
        return _amount(value.get("high", value.get("value", value.get("amount"))))
    if isinstance(value, bool) or not isinstance(value, (int, Decimal, str)):
        return None
    try:
        number = Decimal(value)
    except InvalidOperation:
        return None
    return number if number.is_finite() else None


def _day(value: Value) -> date | None:
    try:
        return date.fromisoformat(str(value)[:10])
    except ValueError:
        return None


_SEVERITY = _first_of("grounding", "not-yet-rated", "limiting", "deferrable", "monitor", "cosmetic")
_STAGE = _first_of(
    "written-off", "sold", "laid-up", "on-order", "being-built", "ready-for-first-flight",
    "in-service",
)  # fmt: skip
_CONDITION = _first_of("scrapped", "rejected", "quarantined", "serviceable")
_KNOWN = _first_of("unknown", "estimated", "known")

CAUTION: tuple[Caution, ...] = (
    Caution((), _larger, "the warning comes earlier", inside="soon", file="fleet.yaml"),
    Caution(("warn_days",), _larger, "the warning comes earlier"),
    Caution(("known",), _KNOWN, "less is taken as known"),
    # Opening figures: what a thing had behind it, and when what was done was done.
    Caution(("as_of", "when"), _earlier, "it comes due earlier", inside="opening"),
    Caution((), _smaller, "last done longer ago, it comes due earlier", inside="at"),
    Caution((), _larger, "more is used up", inside="counters", file="aircraft/"),
    Caution((), _larger, "more is used up", inside="counters", file="parts/"),
    Caution((), _larger, "more is used up", inside="since_overhaul"),
    Caution((), _larger, "each flight uses up more", inside="per_flight"),
    # Windows and tolerances, then intervals, lives and what a decision permits.
    Caution(("early", "late", "early_days", "late_days"), _narrower, "the window is narrower"),
    Caution(("within", "tolerance"), _smaller, "the bounds are narrower"),
    Caution(("low", "ratio_low"), _larger, "the bounds are narrower"),
    Caution(("high", "ratio_high"), _smaller, "the bounds are narrower"),
    Caution(("amount", "months", "calendar_months"), _smaller, "it comes due earlier"),
    Caution(("days", "valid_days", "season_gap_days"), _smaller, "it comes due earlier"),
    Caution(("limit",), _smaller, "the limit is reached earlier"),
    Caution(("from",), _earlier, "the limit is reached earlier", inside="life"),
    Caution(("date", "until", "expires", "made"), _earlier, "the limit is reached earlier"),
    Caution(("repeat_reports",), _smaller, "a fault counts as repeated sooner"),
    Caution(
        ("repeat_flights", "refix_flights", "refix_days"),
        _larger,
        "a fault counts as repeated sooner",
        inside="thresholds",
    ),
    # Grave before light.
    Caution(("condition",), _CONDITION, "the graver condition"),
    Caution(("severity",), _SEVERITY, "the graver"),
    Caution(("stage",), _STAGE, "it is not flown meanwhile"),
    Caution(("result",), _first_of("fail", "recorded", "pass"), "the graver"),
    Caution(("grounds", "required"), _first_of("true", "false"), "more is asked"),
    Caution(("closes", "overhaul"), _first_of("false", "true"), "more stays open"),
    # Records and the shelf, edited by hand on both sides.
    Caution(("flights",), _smaller, "the deferral ends earlier"),
    Caution(
        ("count", "minutes", "landings", "engine_minutes", "starts"),
        _larger,
        "more is used up",
        file="aircraft/",
    ),
    Caution(("count", "minutes", "starts"), _larger, "more is used up", file="parts/"),
    Caution(("count",), _smaller, "less is on the shelf", file="stock.yaml"),
    Caution(("least_holding",), _larger, "more is asked"),
)
#: Said where no row decides.
NO_SIDE = "kept: neither is the more cautious"
KEPT = "kept rather than taken out"


def choose_cautious(file: str, path: Path, first: Value, second: Value) -> tuple[int, str]:
    """Which of two stands meanwhile, 1 or 2, and why."""
    row = next((row for row in CAUTION if row.fits(file, path)), None)
    order = 0 if row is None else row.prefer(first, second)
    if row is not None and order != 0:
        return (1 if order < 0 else 2), row.why
    if isinstance(first, Missing) or isinstance(second, Missing):
        # Something stands before nothing: it hides no fact.
        return (2 if first == MISSING else 1), KEPT
    return 1, NO_SIDE
