"""Two surfaces that move one way on one servo: both flush closed, both equal open?

Setting a rod decides one place of the travel. With each rod set so that its surface is flush
when closed, how far it opens follows from arm, horn and the arm's angle alone; if that is not
equal, no rod length gives both, and an arm's angle, a hole or a horn must change.
"""

from __future__ import annotations

from collections.abc import Callable

from msgspec import Struct
from msgspec.structs import replace

from register.workshop.drive import Drive
from register.workshop.four_bar import FourBar, make_pose, rod_between
from register.workshop.travel import deflection_at

_ROWS = 8
_SCAN = 240
_HALVINGS = 50
#: Arm angle is looked for within so many degrees, an arm's radius within these shares.
_MOST_ANGLE = 60.0
_ARMS = (0.4, 2.5)


class Step(Struct, frozen=True):
    """One place of the travel: the pulse, and both deflections there (None: binds)."""

    pulse: float
    one: float | None
    other: float | None

    @property
    def apart(self) -> float | None:
        """How far the two differ, in degrees; both counted as opening."""
        if self.one is None or self.other is None:
            return None
        return abs(self.one) - abs(self.other)


class Cure(Struct, frozen=True):
    """A change that gives both: of what linkage, what ("arm angle" or "arm"), from and to, and
    the rod that goes with it. Degrees or millimetres.
    """

    linkage: str
    what: str
    now: float
    wanted: float
    rod: float
    worst: float


class OneWayPair(Struct, frozen=True):
    """Two linkages on one servo. Degrees; pulses in µs.

    `as_built` is with the rods as they are, `flush` with each rod set so that its surface is
    flush when closed (`rods` are those). `both` is true when rod length alone gives both
    within the tolerance.
    """

    names: tuple[str, str]
    closed: float
    open: float
    as_built: tuple[Step, ...]
    flush: tuple[Step, ...]
    rods: tuple[float, float]
    tolerance: float
    both: bool
    cures: tuple[Cure, ...]

    def worst(self, steps: tuple[Step, ...]) -> Step | None:
        """The place where the two differ most."""
        told = [step for step in steps if step.apart is not None]
        return max(told, key=lambda step: abs(step.apart or 0.0), default=None)


def compare_pair(
    one: Drive, other: Drive, opened: tuple[float, float], tolerance: float
) -> OneWayPair:
    """Hold two linkages together from the closed pulse to the open one.

    `opened` is (closed, open) in µs. Both drives have a rate. `tolerance` in degrees.
    """
    closed, end = opened
    flush = (set_flush(one, closed), set_flush(other, closed))
    steps = _steps(*flush, closed, end)
    last = steps[-1].apart
    both = last is not None and abs(last) <= tolerance
    cures = () if both else tuple(_find_cures(flush, closed, end))
    return OneWayPair(
        (one.name, other.name),
        closed,
        end,
        _steps(one, other, closed, end),
        steps,
        (flush[0].bar.rod, flush[1].bar.rod),
        tolerance,
        both,
        cures,
    )


def set_flush(drive: Drive, pulse: float) -> Drive:
    """The same linkage with its rod set so that the surface is flush at a pulse."""
    arm = drive.arm_at(pulse)
    bar = drive.bar
    rod = rod_between(
        bar.arm, drive.neutral.arm_angle if arm is None else arm, bar.horn, drive.flush, bar.pivots
    )
    new = FourBar(bar.arm, rod, bar.horn, bar.pivots)
    pose = make_pose(new, drive.neutral.arm_angle if arm is None else arm, drive.flush)
    return replace(drive, bar=new, neutral=pose, neutral_pulse=pulse, rod_stated=True)


def _steps(one: Drive, other: Drive, closed: float, end: float) -> tuple[Step, ...]:
    pulses = [closed + (end - closed) * row / _ROWS for row in range(_ROWS + 1)]
    return tuple(
        Step(pulse, deflection_at(one, pulse), deflection_at(other, pulse)) for pulse in pulses
    )


def _find_cures(flush: tuple[Drive, Drive], closed: float, end: float) -> list[Cure]:
    """Each of the two brought to the other, by its arm's angle or its hole alone."""
    found = []
    for mine, model in (flush, flush[::-1]):
        target = deflection_at(model, end)
        if target is None:
            continue
        for what, now, bounds, change in (
            ("arm angle", mine.neutral.arm_angle, _angles(mine), _with_angle),
            ("arm", mine.bar.arm, tuple(mine.bar.arm * share for share in _ARMS), _with_arm),
        ):
            wanted = _solve(mine, change, closed, end, abs(target), now, bounds)
            if wanted is not None:
                made = set_flush(change(mine, wanted), closed)
                steps = _steps(made, model, closed, end)
                worst = max(abs(step.apart or 0.0) for step in steps)
                found.append(Cure(mine.name, what, now, wanted, made.bar.rod, worst))
    return found


def _angles(drive: Drive) -> tuple[float, float]:
    angle = drive.neutral.arm_angle
    return angle - _MOST_ANGLE, angle + _MOST_ANGLE


def _with_angle(drive: Drive, angle: float) -> Drive:
    return replace(drive, neutral=replace(drive.neutral, arm_angle=angle))


def _with_arm(drive: Drive, radius: float) -> Drive:
    return replace(drive, bar=replace(drive.bar, arm=radius))


def _solve(
    drive: Drive,
    change: Callable[[Drive, float], Drive],
    closed: float,
    end: float,
    target: float,
    now: float,
    bounds: tuple[float, ...],
) -> float | None:
    """The change nearest to what is built that opens the surface to `target` degrees."""

    def miss(value: float) -> float | None:
        made = set_flush(change(drive, value), closed)
        opened = deflection_at(made, end)
        return None if opened is None else abs(opened) - target

    best: float | None = None
    low, high = bounds
    width = (high - low) / _SCAN
    before: float | None = None
    for step in range(_SCAN + 1):
        value = low + width * step
        here = miss(value)
        if before is not None and here is not None and (before <= 0) != (here <= 0):
            root = _halve(miss, value - width, value)
            if root is not None and (best is None or abs(root - now) < abs(best - now)):
                best = root
        before = here
    return best


def _halve(miss: Callable[[float], float | None], low: float, high: float) -> float | None:
    rising = (miss(low) or 0.0) <= 0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        found = miss(middle)
        if found is None:
            return None
        if (found <= 0) == rising:
            low = middle
        else:
            high = middle
    return (low + high) / 2
