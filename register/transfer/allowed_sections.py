"""What goes of kits and of aircraft as they were built: geometry, controls, lines, notices."""

from __future__ import annotations

from register.transfer.fields import CODE, TEXT, Deep, Either, Keys, Named, Rule

BASIS = Either(TEXT, Keys({"kind": CODE, "reference": TEXT}))


def _deep(*keys: str, named: tuple[str, ...] = ()) -> Deep:
    return Deep(frozenset(keys), frozenset(named))


_BASIS_KEYS = ("basis", "kind", "reference", "value", "unit")
#: Sections of kits and aircraft as built: names of the owner's choice, below them these keys.
SECTIONS: dict[str, Rule] = {
    "outline": _deep(
        "length", "span", "nose_at", "plan", "side", "mirrors", "measured_from", "title",
        *_BASIS_KEYS,
        named=("plan", "side"),
    ),
    "zones": Named(
        _deep(
            "title", "number", "hand", "plan", "side", "holds", "mirrors", "measured_from",
            "paint", "finish", "colour", *_BASIS_KEYS,
        )
    ),
    "colours": Named(Either(TEXT, _deep("title", "paint", "code", "colour", "zones", "finish"))),
    "surfaces": Named(
        _deep(
            "zone", "hand", "pair", "kind", "moves", "on", "chord", "whole_chord", "span",
            "hinge_at", "stops", "up", "down", "left", "right", "open", "closed", "throws", "rate",
            "tolerance", "measure", "degrees", "title", "area", *_BASIS_KEYS,
        )
    ),
    "linkages": Named(
        _deep(
            "surface", "servo", "arm", "horn", "radius", "hole", "holes", "side", "angle",
            "at_pulse", "offset", "pivots", "rod", "pin_to_pin", "cut", "thread", "threaded",
            "hands", "engagement", "fittings", "ends", "forked", "turn_steps", "least_engagement",
            "blank", "length",
            "manual_rod", "means", "travel", "degrees_per_us", "low", "mid", "high", "torque",
            "at_volts", "servo_on", "servo_sits", "open", "closed", "title", *_BASIS_KEYS,
            named=("holes",),
        )
    ),
    "lines": Named(
        _deep(
            "medium", "colour", "function", "from", "to", "route", "bundle", "protection",
            "clear_of", "title",
        )
    ),
    "joints": Named(
        _deep(
            "zone", "position", "title", "thread", "length", "head", "drive", "count", "material",
            "stock", "thread_lock", "into", "torque", "friction", "k", "left_hand", "holds",
            "least_holding", *_BASIS_KEYS,
        )
    ),
    "access": Named(
        _deep(
            "title", "opens", "needs", "fasteners", "minutes_off", "minutes_on", "disturbs",
            "order", "before", "what", "checks", "zone", "tools", "materials", *_BASIS_KEYS,
        )
    ),
    "notices": Named(
        _deep(
            "title", "text", "kind", "applies", "lots", "part_kind", "position", "side", "action",
            "every", "counter", "amount", "months", "days", "calendar_months", "grounds",
            "touches", "reference", "basis",
        )
    ),
    "balance": _deep(
        "datum", "arms", "tracks", "mean_chord", "leading_edge", "length", "limits", "forward",
        "aft", "lateral_limit", "tank", "tanks", "arm", "full", "density", "masses", "limit",
        "kind", "what", "items", "items_whole", "mass", "side", "attitude", "level", "tolerance",
        "to_come", "ballast", "heaviest", "taxi", "title", *_BASIS_KEYS,
        named=("arms", "tracks", "items", "to_come", "ballast"),
    ),
    "air": Named(
        _deep(
            "volume_ml", "minimum", "full", "title", "loss", "bar", "minutes", "ambient",
            *_BASIS_KEYS,
        )
    ),
}  # fmt: skip
