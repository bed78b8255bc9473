"""A stretch of time or use under observation, and the events in it.

How a watch ended decides the formulas. By *time*: somebody looked until a moment that had nothing
to do with the faults (today, a sale, the end of a season). By *failure*: the watch was ended by
its last event (an engine overhauled because of it), which then tells nothing of its own place.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from msgspec import Struct

Ended = Literal["time", "failure"]


class Watch(Struct, frozen=True):
    """Events of one aircraft or part between two places on one scale (flights, hours, days).

    Events lie above `start` and not above `end`, in order. An event found on the k-th flight is
    best placed at k - 1/2, for a flight is a stretch and not a point.
    """

    start: float
    end: float
    times: tuple[float, ...]
    ended_by: Ended = "time"

    @property
    def length(self) -> float:
        """How much was watched."""
        return self.end - self.start

    @property
    def ages(self) -> tuple[float, ...]:
        """The places of the events, from the start of the watch."""
        return tuple(time - self.start for time in self.times)

    @property
    def free_ages(self) -> tuple[float, ...]:
        """The same without the event that ended the watch: its place was not left to chance."""
        return self.ages[:-1] if self.ended_by == "failure" else self.ages


def make_watch(
    times: Iterable[float], end: float, start: float = 0.0, ended_by: Ended = "time"
) -> Watch:
    """A watch with its events in order.

    Raises:
        ValueError: the watch has no length, an event lies outside it, or a watch that an event
            ended does not end at its last one.
    """
    ordered = tuple(sorted(float(time) for time in times))
    if not end > start:
        raise ValueError(f"a watch from {start} to {end} has no length")
    if ordered and not (start < ordered[0] and ordered[-1] <= end):
        raise ValueError(f"events lie above {start} and not above {end}")
    if ended_by == "failure" and (not ordered or ordered[-1] != end):
        raise ValueError("a watch that an event ended ends at its last event")
    return Watch(float(start), float(end), ordered, ended_by)


def make_gapped_watch(gaps: Sequence[float]) -> Watch:
    """A watch given as the gaps between events, which began at 0 and ended with the last event."""
    total = 0.0
    times = []
    for gap in gaps:
        total += gap
        times.append(total)
    return make_watch(times, total, ended_by="failure")
