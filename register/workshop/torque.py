"""A torque for a screw from what is published, or the reason why there is none.

T = K·F·d with F = 0.75 of the proof load for a joint that is opened again (Shigley, Mechanical
Engineering Design). K stands for all friction and is not a constant: it is always given with
its source. Wood, plastic and self-tapping screws have no standard: measure, then write it down.
"""

from __future__ import annotations

import math

from msgspec import Struct

from register.records.joints import Joint
from register.records.threads import Thread
from register.workshop.fastener_sizes import AIRCRAFT_NUTS, CAP_HEAD, CLEARANCE, Figure
from register.workshop.threads import build_geometry

#: Of the proof load, for a joint that is taken apart again. Shigley.
REOPENED = 0.75
CAUTION = (
    "A figure to start from, not a permission: the maker's own torque, your national body's "
    "rules and a trial on scrap come first. Too tight strips or breaks as surely as too loose "
    "comes off."
)
OWNER_MEASURED = "owner-measured only"
#: Low and flat heads hold less than the thread (ISO 7380-1 and ISO 10642 give them less load;
#: both from memory), so a torque from the thread's proof load is too much for them.
WEAK_HEADS = ("button", "countersunk", "countersunk-cross", "countersunk-torx")
ASK_MAKER = (
    "ask the maker: a flat or button head holds less than the thread, so the torque computed "
    "from the thread does not hold for it"
)

_SHIGLEY = "Shigley, Mechanical Engineering Design, table of torque factors"


class Factor(Struct, frozen=True):
    """A torque factor K, what it holds for, and where it is printed."""

    k: float
    says: str
    source: str


#: K by how thread and head rub; read in a copy of the table.
FACTORS: dict[str, Factor] = {
    "black": Factor(0.30, "black finish, not plated", _SHIGLEY),
    "zinc": Factor(0.20, "zinc plated", _SHIGLEY),
    "cadmium": Factor(0.16, "cadmium plated", _SHIGLEY),
    "lubricated": Factor(0.18, "lubricated", _SHIGLEY),
    "anti-seize": Factor(0.12, "anti-seize compound", _SHIGLEY),
}
NOT_STATED = Factor(0.20, "friction not stated", _SHIGLEY)
DISAGREE = "another handbook (Handbook of Bolts and Bolted Joints) has 0.295 for dry zinc"


class Strength(Struct, frozen=True):
    """The stress up to which a screw does not stretch for good, in MPa."""

    mpa: float
    source: str


def find_strength(material: str | None, diameter: float) -> Strength | None:
    """Proof stress of a material, or its 0.2 % limit; None where nothing was found."""
    if material == "steel-8.8":
        return Strength(580 if diameter <= 16 else 600, "ISO 898-1, proof stress of class 8.8")
    if material in ("stainless-a2-70", "stainless-a4-70"):
        return Strength(450, "ISO 3506-1, 0.2 % limit of class 70 (from memory)")
    steels = {"steel-4.8": 310, "steel-10.9": 830, "steel-12.9": 970}
    if material in steels:
        name = material.removeprefix("steel-") if material else ""
        return Strength(steels[material], f"ISO 898-1, proof stress of class {name}")
    return None


class Torque(Struct, frozen=True):
    """A computed torque in N·m with everything it rests on.

    `ask_maker`: its head holds less than the thread, so the figure does not hold for it.
    """

    newton_metres: float
    preload: float
    proof_load: float
    area: float
    strength: Strength
    factor: Factor
    assumes: tuple[str, ...]
    ask_maker: bool = False


class NoTorque(Struct, frozen=True):
    """No torque is computed, and why."""

    says: str


#: What gives way before the screw does, by what it is turned into.
_WEAKER = {
    "plywood": "wood has no standard",
    "hardwood": "wood has no standard",
    "balsa": "wood has no standard",
    "plastic": "plastic has no standard",
    "composite": "composite has no standard",
    "insert": "the insert's seat gives way first, and has no standard",
    "captive-nut": "what the nut sits in is crushed first, and has no standard",
}


class Screw(Struct, frozen=True):
    """What a torque is asked for: a screw and what it is turned into."""

    thread: Thread | None
    head: str | None
    material: str | None
    into: str | None
    factor: Factor


def factor_of(joint: Joint) -> Factor:
    """The K of a joint: its own, else that of the stated friction, else of none stated."""
    if joint.k is not None:
        return Factor(float(joint.k), "as stated for the joint", joint.k_basis.text)
    return FACTORS[joint.friction] if joint.friction is not None else NOT_STATED


def compute_torque(screw: Screw) -> Torque | NoTorque:
    """T = K·F·d, or why it cannot be had."""
    why = _why_not(screw)
    if why is not None:
        return NoTorque(why)
    thread = screw.thread
    geometry = build_geometry(thread) if thread is not None else None
    if thread is None or geometry is None:
        return NoTorque("the thread is not stated")
    diameter = float(thread.diameter)
    strength = find_strength(screw.material, diameter)
    if strength is None:
        return NoTorque(_no_strength(screw))
    proof = proof_load(geometry.stress_area, strength.mpa)
    preload = REOPENED * proof
    return Torque(
        tighten(screw.factor.k, preload, diameter),
        preload,
        proof,
        geometry.stress_area,
        strength,
        screw.factor,
        tuple(_assume(screw)),
        screw.head in WEAK_HEADS,
    )


def _why_not(screw: Screw) -> str | None:
    thread = screw.thread
    if screw.head == "self-tapping" or (thread is not None and thread.system == "tapping"):
        return f"{OWNER_MEASURED}: self-tapping screws have no standard torque"
    if screw.into in _WEAKER:
        return f"{OWNER_MEASURED}: {_WEAKER[screw.into]}"
    if screw.head in ("set", "thumb"):
        what = "set screws have no proof load" if screw.head == "set" else "it is turned by hand"
        return f"{OWNER_MEASURED}: {what}"
    if thread is None:
        return "not computed: the thread is not stated"
    if thread.system == "inch":
        return "not computed: the proof stresses in the table are those of metric screws"
    if screw.into is None:
        return "not computed: what it is turned into is not stated"
    return None


def _no_strength(screw: Screw) -> str:
    if screw.material is None:
        return "not computed: the material is not stated"
    return f"not computed: no proof stress is in the table for {screw.material}"


def _assume(screw: Screw) -> list[str]:
    words = ["the screw stretches, not what it holds; threads clean and whole"]
    if screw.head in WEAK_HEADS:
        words.append("the head holds as much as the thread, which flat and button heads do not")
    if screw.into == "aluminium":
        words.append("the thread in aluminium holds at least as much, which short ones do not")
    if screw.factor is NOT_STATED or screw.factor is FACTORS["zinc"]:
        words.append(f"K is no constant: {DISAGREE}")
    return words


def proof_load(area: float, stress: float) -> float:
    """Newtons of an area in mm² and a stress in MPa."""
    return area * stress


def tighten(k: float, preload: float, diameter: float) -> float:
    """T = K·F·d: N·m of a preload in N and a diameter in mm."""
    return k * preload * diameter / 1000


def preload_of(torque: float, k: float, diameter: float) -> float:
    """F = T/(K·d): newtons of a torque in N·m and a diameter in mm."""
    return torque * 1000 / (k * diameter)


def rescale(torque: float, k_before: float, k_after: float) -> float:
    """The torque for the same preload with another K."""
    return torque * k_after / k_before


class Rubbing(Struct, frozen=True):
    """Diameters in mm and the friction for the full torque equation."""

    diameter: float
    pitch: float
    head: float
    hole: float
    friction: float


def friction_torque(rubbing: Rubbing, limit: float, used: float) -> float:
    """N·m by T = F (0.159 P + 0.577 mu d2 + mu Dkm/2) with F from the combined stress.

    `limit` is the 0.2 % limit in MPa, `used` the part of it that stretch and twist together
    may reach (von Mises). The form is that of VDI 2230, here with one mu for thread and head.
    """
    pitch_diameter = rubbing.diameter - 0.649519 * rubbing.pitch
    stressed = rubbing.diameter - 0.938194 * rubbing.pitch
    in_thread = 0.159155 * rubbing.pitch + 0.577 * rubbing.friction * pitch_diameter
    twist = 3 * (4 / stressed * in_thread) ** 2
    area = math.pi / 4 * stressed**2
    preload = used * limit * area / math.sqrt(1 + twist)
    under_head = rubbing.friction * (rubbing.head + rubbing.hole) / 4
    return preload * (in_thread + under_head) / 1000


def rubbing_of(thread: Thread, head: str | None, friction: float) -> Rubbing | None:
    """What the full equation needs, for a cap head on a medium hole; None where not known."""
    size, hole = CAP_HEAD.find(thread.size), CLEARANCE["medium"].find(thread.size)
    if head != "cap" or size is None or hole is None or thread.pitch is None:
        return None
    return Rubbing(
        float(thread.diameter),
        float(thread.pitch),
        float(size.value),
        float(hole.value),
        friction,
    )


def published_torque(thread: Thread) -> Figure | None:
    """A printed range for inch threads, with what it holds for."""
    return AIRCRAFT_NUTS.find(thread.name)


def wrench_setting(torque: float, lever: float, extension: float) -> float:
    """What a wrench must read for a torque at the fastener, with an extension in line.

    Setting = torque x lever / (lever + extension), lengths in one unit (US Army TM 9-254).
    """
    return torque * lever / (lever + extension)


def at_fastener(reading: float, lever: float, extension: float) -> float:
    """The torque at the fastener when the wrench reads so much, with an extension in line."""
    return reading * (lever + extension) / lever
