"""Programmes and their tasks: what is to be done, when, and where the figure comes from."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from register.records.fields import Fields
from register.records.scalars import NAME_PATTERN
from register.records.values import UNSTATED, Basis, counter_name
from register.text.nodes import Mapping, Scalar
from register.trouble import Place, Problem

RESETS = ("from-done", "from-due", "from-due-in-window")
STARTS = (
    "each-flight",
    "charge",
    "fuel-mix",
    "day",
    "season",
    "gap",
    "layup",
    "install",
    "fix",
    "work",
    "incident",
    "paper",
)
#: Starts that are only printed on the card and never fall due by themselves.
CARD_STARTS = frozenset({"each-flight", "charge", "fuel-mix"})


class CounterInterval(Struct, frozen=True):
    """Every `amount` of a counter; `early`/`late` is by how much it may slide."""

    counter: str
    amount: Decimal | None
    early: Decimal | None
    late: Decimal | None
    place: Place

    @property
    def side(self) -> str:
        """Which side of the task this is; each keeps its own last-done."""
        return self.counter


class CalendarInterval(Struct, frozen=True):
    """Every `amount` of months, calendar months or days; the window is in days."""

    unit: str
    amount: int | None
    early_days: int | None
    late_days: int | None
    place: Place

    @property
    def side(self) -> str:
        """Which side of the task this is."""
        return "calendar"


Interval = CounterInterval | CalendarInterval


class Start(Struct, frozen=True):
    """Something other than an interval that opens a task."""

    when: str
    days: int | None
    valid_days: int | None
    warn_days: int | None
    what: tuple[str, ...]
    positions: tuple[str, ...]
    kinds: tuple[str, ...]
    after_counter: str | None
    after_amount: Decimal | None
    place: Place


class ReadingWanted(Struct, frozen=True):
    """A reading a task asks for, with its bounds; or bounds relative to the baseline."""

    name: str
    unit: str
    low: Decimal | None
    high: Decimal | None
    baseline: bool
    ratio_low: Decimal | None
    ratio_high: Decimal | None
    within: Decimal | None
    basis: Basis


class Terms(Struct, frozen=True):
    """Intervals in force from a day on."""

    since: date | None
    every: tuple[Interval, ...]
    first: tuple[Interval, ...]
    reset: str


class Task(Struct, frozen=True):
    """One thing to do. `on` is aircraft, position or part_kind with its name."""

    id: str
    title: str
    group: str | None
    on: str
    on_name: str
    terms: tuple[Terms, ...]
    starts: tuple[Start, ...]
    grounds: bool
    readings: tuple[ReadingWanted, ...]
    basis: Basis
    list_name: str | None
    if_out: str | None
    caution: str | None
    place: Place
    programme: str = ""
    overhaul: bool = False
    #: Something of it could not be read: it cannot be told when it is due.
    is_damaged: bool = False
    #: For the workshop: where it is done, labour in minutes, and what it takes.
    at: tuple[str, ...] = ()
    minutes: Decimal | None = None
    tools: tuple[str, ...] = ()

    def in_force(self, day: date) -> Terms:
        """The revision in force on a day."""
        chosen = self.terms[0]
        for terms in self.terms[1:]:
            if terms.since is not None and terms.since <= day:
                chosen = terms
        return chosen

    @property
    def is_card_only(self) -> bool:
        """Printed on the card; never due by itself."""
        return (
            bool(self.starts)
            and all(start.when in CARD_STARTS for start in self.starts)
            and not any(terms.every for terms in self.terms)
        )


class ProgrammeFile(Struct, frozen=True):
    """programmes/<name>.yaml."""

    name: str
    id: str | None
    title: str
    groups: tuple[tuple[str, str], ...]
    tasks: tuple[Task, ...]
    starter: str | None
    path: str


def build_programme(
    path: str, name: str, node: Mapping
) -> tuple[ProgrammeFile, tuple[Problem, ...]]:
    """Node to programme; a task with an error stays, and cannot be told."""
    problems: list[Problem] = []
    fields = Fields(node, problems)
    tasks: dict[str, Task] = {}
    for item in fields.mappings("tasks"):
        task = _read_task(item, name)
        if task is None:
            continue
        if task.id in tasks:
            item.report(
                item.place("id"),
                "task-twice",
                f"id: the task {task.id} stands twice in this programme",
                f'give one of them another id, for example  id: "{task.id}-2"',
            )
            continue
        tasks[task.id] = task
    groups = tuple(
        (group.text("name") or "", group.text("title") or "") for group in fields.mappings("groups")
    )
    programme = ProgrammeFile(
        name,
        fields.text("id"),
        fields.text("title") or name,
        groups,
        tuple(tasks.values()),
        fields.text("starter"),
        path,
    )
    fields.odd_keys(("version", "about", "schema", "aliases"))
    return programme, tuple(problems)


def _read_task(fields: Fields, programme: str) -> Task | None:
    before = sum(problem.level == "error" for problem in fields.problems)
    id_ = (fields.text("id", required='"task-name"') or "").strip().lower()
    if id_ and not NAME_PATTERN.fullmatch(id_):
        fields.report(
            fields.place("id"),
            "name-wrong",
            f"id: {id_[:40]!r} is not a name (a-z, 0-9 and -)",
            'write, for example  id: "surface-free-play"',
        )
    on, on_name = _read_on(fields)
    reset = fields.choice("reset", RESETS, "from-done") or "from-done"
    base = Terms(None, read_intervals(fields, "every"), read_intervals(fields, "first"), reset)
    basis = fields.basis()
    task = Task(
        id_,
        fields.text("title") or id_,
        fields.text("group"),
        on,
        on_name,
        (base, *_read_revisions(fields, base)),
        tuple(_read_start(item) for item in fields.mappings("start")),
        fields.flag("grounds"),
        tuple(_read_reading(item, basis, n) for n, item in enumerate(fields.mappings("reading"))),
        basis,
        fields.text("list"),
        fields.text("if_out"),
        fields.text("caution"),
        fields.node.place,
        programme,
        fields.flag("overhaul"),
        at=tuple(word.strip().lower() for word in fields.texts("at")),
        minutes=fields.amount("minutes" if fields.has("minutes") else "labour_minutes"),
        tools=fields.texts("tools"),
    )
    fields.odd_keys(("labour_minutes", "who", "life"))
    if fields.flag("life"):
        _refuse_windows(fields, task)
    wrong = sum(problem.level == "error" for problem in fields.problems) > before
    if not NAME_PATTERN.fullmatch(id_):
        return None
    # A task read in part stays, and cannot be told: left out, it would never be missed.
    return replace(task, is_damaged=True) if wrong else task


def _refuse_windows(fields: Fields, task: Task) -> None:
    for terms in task.terms:
        for side in terms.every:
            slides = (
                (side.early, side.late)
                if isinstance(side, CounterInterval)
                else (side.early_days, side.late_days)
            )
            if any(value is not None for value in slides):
                fields.report(
                    side.place,
                    "life-with-window",
                    "every: a life limit takes no window",
                    "take early and late out; the limit is the last permitted point",
                )


def _read_on(fields: Fields) -> tuple[str, str]:
    node = fields.raw("on")
    if node is None:
        return "aircraft", ""
    if isinstance(node, Scalar):
        if node.text == "aircraft":
            return "aircraft", ""
    else:
        inner = fields.mapping("on")
        if inner is not None:
            for key in ("position", "part_kind"):
                name = inner.text(key)
                if name is not None:
                    return key, name.strip().lower()
    fields.report(
        node.place,
        "on-wrong",
        "on: a task is on the aircraft, a position or a part kind",
        'write  on: "aircraft"  or  on: {position: "engine"}  or  on: {part_kind: "battery"}',
    )
    return "aircraft", ""


def _read_revisions(fields: Fields, base: Terms) -> tuple[Terms, ...]:
    found: list[Terms] = []
    latest = base
    for item in fields.mappings("revisions"):
        since = item.day("from")
        if since is None:
            item.missing("from", '"2026-05-16"')
            continue
        latest = Terms(
            since,
            read_intervals(item, "every") if item.has("every") else latest.every,
            read_intervals(item, "first") if item.has("first") else latest.first,
            item.choice("reset", RESETS, latest.reset) or latest.reset,
        )
        item.odd_keys(("note", "reason", "basis"))
        found.append(latest)
    return tuple(sorted(found, key=lambda terms: terms.since or date.min))


def read_intervals(fields: Fields, key: str) -> tuple[Interval, ...]:
    """The intervals of a list; each counter, and the calendar, stands once."""
    found: list[Interval] = []
    for item in fields.mappings(key):
        interval = _read_interval(item)
        if interval is None:
            continue
        if any(other.side == interval.side for other in found):
            item.report(
                item.node.place,
                "side-twice",
                f"{key}: {interval.side} stands twice in one task",
                "keep the shorter one, or write a second task",
            )
            continue
        found.append(interval)
    return tuple(found)


def _read_interval(fields: Fields) -> Interval | None:
    place = fields.node.place
    counter = fields.text("counter")
    if counter is not None:
        amount = fields.amount("amount")
        if amount is not None and amount <= 0:
            fields.report(
                fields.place("amount"),
                "number-wrong",
                "amount: an interval is more than nothing",
                "write  amount: 25",
            )
            return None
        side = CounterInterval(
            counter_name(counter), amount, fields.amount("early"), fields.amount("late"), place
        )
        fields.odd_keys(())
        return side
    for unit in ("months", "calendar_months", "days"):
        if unit in {entry.key for entry in fields.node.entries}:
            calendar = CalendarInterval(
                unit.replace("_", "-"),
                fields.count(unit, least=1),
                fields.count("early_days"),
                fields.count("late_days"),
                place,
            )
            fields.odd_keys(())
            return calendar
    fields.report(
        place,
        "interval-wrong",
        "an interval needs a counter and an amount, or months, calendar_months or days",
        'write  - {counter: "flights", amount: 25}  or  - {months: 6}',
    )
    return None


def _read_start(fields: Fields) -> Start:
    after = fields.mapping("after")
    counter, amount = None, None
    if after is not None:
        for entry in after.node.entries:
            value = after.amount(entry.key)
            if value is not None:
                counter, amount = counter_name(entry.key), value
    start = Start(
        fields.choice("when", STARTS, "day") or "day",
        fields.count("days", least=1),
        fields.count("valid_days"),
        fields.count("warn_days"),
        tuple(word.lower().replace(" ", "-") for word in fields.texts("what")),
        tuple(word.lower() for word in fields.texts("positions")),
        tuple(word.lower() for word in fields.texts("kinds")),
        counter,
        amount,
        fields.node.place,
    )
    if not fields.has("when"):
        fields.missing("when", '"season"')
    fields.odd_keys(("position", "paper", "papers", "systems"))
    return start


def _read_reading(fields: Fields, basis: Basis, number: int) -> ReadingWanted:
    own = fields.basis()
    wanted = ReadingWanted(
        (fields.text("name") or ("value" if number == 0 else f"value-{number + 1}")).lower(),
        fields.text("unit") or "",
        fields.amount("low", negative=True),
        fields.amount("high", negative=True),
        fields.flag("baseline"),
        fields.amount("ratio_low"),
        fields.amount("ratio_high"),
        fields.amount("within"),
        own if own != UNSTATED else basis,
    )
    fields.odd_keys(())
    return wanted
