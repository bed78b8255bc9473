"""Steps laid out over workshop evenings, cures going on meanwhile.

One pair of hands: labour is one step after another, within the evening's hours; what cures
does so by the clock, night and day. A step that does not fit into what is left of an evening
is begun on the next one; one longer than a whole evening goes on over several.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, time, timedelta

from msgspec import Struct

from register.workshop.precedence import Arrow

#: Further ahead than so many days nothing is laid out.
MOST_DAYS = 800


class Evening(Struct, frozen=True):
    """The hours of a session, in home time; an end not after the beginning is past midnight."""

    begins: time
    ends: time

    @property
    def minutes(self) -> int:
        """How long one is by the clock on the wall."""
        first = self.begins.hour * 60 + self.begins.minute
        last = self.ends.hour * 60 + self.ends.minute
        return last - first if last > first else last - first + 24 * 60

    @property
    def text(self) -> str:
        """19:00-22:00."""
        return f"{self.begins:%H:%M}-{self.ends:%H:%M}"

    def on(self, day: date, like: datetime) -> tuple[datetime, datetime]:
        """Beginning and end of the session of a day, in the zone of `like`."""
        start = datetime.combine(day, self.begins, like.tzinfo)
        last = day if self.ends > self.begins else day + timedelta(days=1)
        return start, datetime.combine(last, self.ends, like.tzinfo)


class Task(Struct, frozen=True):
    """One step to lay out: labour in minutes, and from when on it may begin at all."""

    id: str
    minutes: int
    ready_at: datetime | None = None


class Slot(Struct, frozen=True):
    """One step laid out. `because` is what it began right after: a step's id, or None."""

    id: str
    begins: datetime
    ends: datetime
    because: str | None
    waited: bool


class Bench:
    """The clock of a session: what time it is, and how much of the evening is left."""

    def __init__(self, evening: Evening, start: datetime):
        self.evening = evening
        self.now = start
        self._open()

    def _open(self) -> None:
        """If no evening is on, go to where the next one begins; one may run past midnight."""
        day = self.now.date() - timedelta(days=1)
        while True:
            begins, ends = self.evening.on(day, self.now)
            if self.now < ends:
                self.now = max(self.now, begins)
                self.ends = ends
                return
            day += timedelta(days=1)

    @property
    def left(self) -> int:
        """Minutes left of this evening."""
        return minutes_between(self.now, self.ends)

    @property
    def is_fresh(self) -> bool:
        """At the very beginning of an evening."""
        return self.left >= self.evening.minutes

    def fits(self, minutes: int) -> bool:
        """Can it be begun now?"""
        return minutes <= self.left or (minutes > self.evening.minutes and self.is_fresh)

    def work(self, minutes: int) -> tuple[datetime, datetime]:
        """Do a step from now on; over several evenings if it is longer than one."""
        begins = self.now
        while minutes > self.left:
            minutes -= self.left
            self.now = self.ends
            self._open()
        self.now = later(self.now, minutes)
        ends = self.now
        if not self.left:
            self._open()
        return begins, ends

    def next_evening(self) -> None:
        """Go home."""
        self.now = self.ends
        self._open()

    def wait_until(self, moment: datetime) -> None:
        """Wait, at the bench or at home."""
        if moment > self.now:
            self.now = moment
            self._open()


def later(moment: datetime, minutes: int) -> datetime:
    """So many minutes on by the clock, across changes of summer time."""
    return (moment.astimezone(UTC) + timedelta(minutes=minutes)).astimezone(moment.tzinfo)


def minutes_between(first: datetime, last: datetime) -> int:
    """Whole minutes from one moment to another."""
    return int((last.astimezone(UTC) - first.astimezone(UTC)).total_seconds() // 60)


class Releases:
    """When a step may begin: what it waits for is over, and has cured."""

    def __init__(self, arrows: Sequence[Arrow], tasks: Mapping[str, Task]):
        self.tasks = tasks
        self.before: dict[str, list[Arrow]] = {id_: [] for id_ in tasks}
        for arrow in arrows:
            self.before[arrow.after].append(arrow)
        self.ends: dict[str, datetime] = {}

    def is_free(self, id_: str) -> bool:
        """Is all that comes before it over, but for what cures?"""
        return all(arrow.before in self.ends for arrow in self.before[id_])

    def release(self, id_: str) -> tuple[datetime | None, str | None]:
        """From when on, and what decides that."""
        moment, by = self.tasks[id_].ready_at, None
        for arrow in self.before[id_]:
            free = later(self.ends[arrow.before], arrow.lag)
            if moment is None or free > moment:
                moment, by = free, arrow.before
        return moment, by


def lay_out(
    order: Sequence[str],
    tasks: Mapping[str, Task],
    arrows: Sequence[Arrow],
    evening: Evening,
    start: datetime,
) -> Iterator[Slot]:
    """The steps in a given order, each as early as the evenings and the cures allow."""
    bench, releases = Bench(evening, start), Releases(arrows, tasks)
    last: str | None = None
    for id_ in order:
        moment, by = releases.release(id_)
        waited = moment is not None and moment > bench.now
        if moment is not None:
            bench.wait_until(moment)
        minutes = tasks[id_].minutes
        if not bench.fits(minutes):
            bench.next_evening()
        begins, ends = bench.work(minutes)
        releases.ends[id_] = ends
        yield Slot(id_, begins, ends, by if waited else last, waited)
        last = id_


def find_latest(
    order: Sequence[str],
    tasks: Mapping[str, Task],
    arrows: Sequence[Arrow],
    evening: Evening,
    span: tuple[datetime, datetime],
    tails: Mapping[str, int],
) -> date | None:
    """The last day on whose evening one can begin and be ready in time; None: too late by now.

    `span` is the earliest start and the moment at which all is wanted ready; `tails` are
    minutes of curing after a step's end until flying.
    """
    first, wanted = span
    day, tried = wanted.date(), 0
    while day >= first.date() and tried < MOST_DAYS:
        begins, ends = evening.on(day, first)
        start = max(begins, first)
        if start < ends and start <= wanted:
            slots = lay_out(order, tasks, arrows, evening, start)
            if find_ready(slots, tails, start) <= wanted:
                return day
        day -= timedelta(days=1)
        tried += 1
    return None


def find_ready(slots: Iterator[Slot], tails: Mapping[str, int], start: datetime) -> datetime:
    """When the last step is over and the last cure complete."""
    return max((later(slot.ends, tails.get(slot.id, 0)) for slot in slots), default=start)
