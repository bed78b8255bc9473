"""Joints: what is screwed to what, with which fasteners. Lengths in mm, torques in N·m."""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from register.records.fields import Fields
from register.records.scalars import nearest
from register.records.threads import Thread, ThreadError, parse_thread
from register.records.values import UNSTATED, Basis
from register.text.nodes import Mapping, Scalar
from register.trouble import Place

#: The form of a head says its drive: the socket-head ones take a hexagon key, `pan` and
#: `countersunk-cross` a cross point, `-torx` a hexalobular one, `hexagon` and `nut` a spanner.
HEADS = (
    "cap",
    "button",
    "countersunk",
    "set",
    "pan",
    "countersunk-cross",
    "pan-torx",
    "countersunk-torx",
    "hexagon",
    "nut",
    "self-tapping",
    "thumb",
)
MATERIALS = (
    "steel-4.8",
    "steel-8.8",
    "steel-10.9",
    "steel-12.9",
    "stainless-a2-70",
    "stainless-a4-70",
    "titanium",
    "aluminium",
    "brass",
    "nylon",
)
#: `dry` says that there is none; "none" would take away what the kit says.
LOCKS = ("dry", "none", "low", "medium", "high", "nylon-insert", "lock-washer", "wire", "other")
#: What the thread is cut or turned into. In the last eight it gives way before the screw does.
INTO = (
    "steel",
    "nut",
    "aluminium",
    "insert",
    "captive-nut",
    "plywood",
    "hardwood",
    "balsa",
    "plastic",
    "composite",
)
#: How the thread and the face under the head rub: decides the K of T = K·F·d.
FRICTIONS = ("black", "zinc", "cadmium", "lubricated", "anti-seize")
#: Newton metres in one of each unit.
TORQUE_UNITS: dict[str, Decimal] = {
    "N·m": Decimal(1),
    "N·cm": Decimal("0.01"),
    "in·lbf": Decimal("0.1129848"),
    "kgf·cm": Decimal("0.0980665"),
}


class StatedTorque(Struct, frozen=True):
    """A torque somebody gave, in N·m, and who."""

    value: Decimal
    basis: Basis


class Joint(Struct, frozen=True):
    """One joint. What is not stated is None; `friction_basis` belongs to an own `k`."""

    name: str
    title: str
    zone: str | None
    thread: Thread | None
    length: Decimal | None
    head: str | None
    drive: str | None
    count: int | None
    material: str | None
    thread_lock: str | None
    into: str | None
    friction: str | None
    k: Decimal | None
    k_basis: Basis
    torque: StatedTorque | None
    holds: tuple[str, ...]
    least_holding: int | None
    stock: str | None
    left_hand: bool
    basis: Basis
    place: Place


def read_joints(fields: Fields) -> dict[str, Joint]:
    """`joints:` by name, in written order."""
    inner = fields.mapping("joints")
    if inner is None:
        return {}
    found = {}
    for entry in inner.node.entries:
        name = entry.key.strip().lower()
        if not isinstance(entry.value, Mapping):
            fields.report(
                entry.value.place,
                "value-shape",
                f"{entry.key}: keys and values are wanted here",
                f"write  {entry.key}: {{thread: M3, length: 10, head: cap, count: 4}}",
            )
            continue
        item = Fields(entry.value, fields.problems)
        found[name] = _read_joint(item, name, entry.key_place)
    return found


def _read_joint(fields: Fields, name: str, place: Place) -> Joint:
    count, least = fields.count("count", least=1), fields.count("least_holding")
    if count is not None and least is not None and least > count:
        fields.report(
            fields.place("least_holding"),
            "number-wrong",
            f"least_holding: {least} of the {count} of {name} cannot be asked for",
            f"write  least_holding: {count}",
        )
        least = None
    k, k_basis, friction = _read_friction(fields)
    joint = Joint(
        name,
        fields.text("title") or name.replace("-", " "),
        fields.text("zone"),
        read_thread(fields, "thread"),
        read_length(fields, "length"),
        fields.choice("head", HEADS, None),
        fields.text("drive"),
        count,
        fields.choice("material", MATERIALS, None),
        fields.choice("thread_lock", LOCKS, None),
        fields.choice("into", INTO, None),
        friction,
        k,
        k_basis,
        _read_torque(fields),
        tuple(word.strip().lower() for word in fields.texts("holds")),
        least,
        (fields.text("stock") or "").strip().lower() or None,
        fields.flag("left_hand"),
        fields.basis(),
        place,
    )
    fields.odd_keys(("note",))
    return joint


def read_thread(fields: Fields, key: str) -> Thread | None:
    """A thread by name; one that no table has is a problem."""
    text = fields.text(key)
    if text is None:
        return None
    try:
        return parse_thread(text)
    except ThreadError as error:
        fields.report(
            fields.place(key),
            "thread-unknown",
            f"{key}: {error.says}",
            f"write  {key}: {error.for_file}",
        )
        return None


def read_length(fields: Fields, key: str) -> Decimal | None:
    """A length in mm, above zero."""
    value = fields.amount(key)
    if value is not None and value <= 0:
        fields.report(
            fields.place(key),
            "number-wrong",
            f"{key}: {value} mm is no length",
            f"write the length in millimetres, for example  {key}: 10",
        )
        return None
    return value


def _read_friction(fields: Fields) -> tuple[Decimal | None, Basis, str | None]:
    """`friction: zinc`, or the owner's own `friction: {k: 0.18, basis: …}`."""
    node = fields.raw("friction")
    if not isinstance(node, Mapping):
        return None, UNSTATED, fields.choice("friction", FRICTIONS, None)
    inner = Fields(node, fields.problems)
    k = inner.amount("k")
    if k is not None and not Decimal("0.05") <= k <= 1:
        inner.report(
            inner.place("k"),
            "number-wrong",
            f"k: {k} is not a torque factor; they lie between 0.05 and 1",
            "write  k: 0.2",
        )
        k = None
    basis = inner.basis()
    inner.odd_keys(())
    return k, basis, None


def _read_torque(fields: Fields) -> StatedTorque | None:
    """`torque: 1.2` in N·m, or `torque: {value: 12, unit: in·lbf, basis: …}`."""
    node = fields.raw("torque")
    if node is None or isinstance(node, Scalar):
        value = fields.amount("torque") if node is not None else None
        return None if value is None else StatedTorque(value, UNSTATED)
    inner = fields.mapping("torque")
    if inner is None:
        return None
    value, factor, basis = inner.amount("value"), _read_unit(inner), inner.basis()
    inner.odd_keys(())
    if value is None or factor is None:
        return None
    return StatedTorque(value * factor, basis)


def _read_unit(fields: Fields) -> Decimal | None:
    text = fields.text("unit")
    if text is None:
        return Decimal(1)
    words = {_plain(unit): factor for unit, factor in TORQUE_UNITS.items()}
    word = _plain(text).removesuffix("f") if _plain(text) == "inlbf" else _plain(text)
    words["inlb"] = words.pop("inlbf")
    if word in words:
        return words[word]
    guess = nearest(text, TORQUE_UNITS) or "N·m"
    fields.report(
        fields.place("unit"),
        "word-unknown",
        f"unit: {text!r} is not one of {', '.join(TORQUE_UNITS)}",
        f'write  unit: "{guess}"',
    )
    return None


def _plain(unit: str) -> str:
    return "".join(sign for sign in unit.casefold() if sign.isalpha())
