"""What is measured and what came of it: trials, limits, lines of the table."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from bench.grounds import Ground
from bench.measuring import Times


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table: `ours` and `other` in milliseconds unless `unit` says otherwise."""

    goal: int
    what: str
    size: str
    ours: float
    against: str
    other: float
    ratio: float
    limit: float | None = None
    unit: str = "ms"
    note: str = ""

    @property
    def met(self) -> str:
        """yes or NO; a dash where no limit is set."""
        if self.limit is None:
            return "-"
        figure = self.ours - self.other if self.unit == "MiB" else self.ratio
        return "yes" if figure <= self.limit else "NO"


@dataclass(frozen=True, slots=True)
class Trial:
    """One size to be measured: the untouched fleet and how often."""

    ground: Ground
    fleet: Path
    events: int
    rounds: int
    row: int

    @property
    def cold_rounds(self) -> int:
        """A cold answer takes long, and so is asked for less often."""
        return max(1, self.rounds // 3)

    @property
    def size(self) -> str:
        """As in the table."""
        return f"{self.events // 1000}k" if self.events % 1000 == 0 else str(self.events)


#: goal -> limits by number of events; between two the limit is read off a straight line.
LIMITS: dict[int, dict[int, float]] = {
    1: {10_000: 1.15, 50_000: 1.6, 200_000: 3.2},
    2: {10_000: 0.8, 50_000: 1.2},
    3: {0: 1.1},
    4: {0: 0.45},
    5: {10_000: 2.3, 50_000: 1.0, 200_000: 0.5},
    6: {0: 1.2},
    8: {0: 8.0},
}


def limit_of(goal: int, events: int) -> float | None:
    """The limit for a size; below the smallest size named, that one's."""
    points = sorted(LIMITS.get(goal, {}).items())
    if not points:
        return None
    for (low, first), (high, second) in pairwise(points):
        if low <= events <= high:
            return first + (second - first) * (events - low) / (high - low)
    return points[0][1] if events < points[0][0] else points[-1][1]


def row_of(trial: Trial, goal: int, what: str, times: Times, name: str, other: str) -> Row:
    """One step against another, as a line of the table."""
    limit = limit_of(goal, trial.events)
    middle = times.middle(name), times.middle(other)
    ratio = times.ratio(name, other)
    return Row(goal, what, trial.size, middle[0], other, middle[1], ratio, limit)
