"""Entry of aircraft: a new one, or a change of one."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from msgspec import Struct

from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, count_words
from register.entry.jobs import ACCEPTED, refuse_open_jobs
from register.entry.kits import check_title, enter_per_flight, enter_positions, finish_plan
from register.entry.naming import check_new_name, match_name
from register.entry.openings import (
    DoneEntry,
    GivenCounter,
    GivenDone,
    enter_counters,
    enter_dones,
    find_unstated,
    parse_counter,
    parse_done,
    parse_past_day,
)
from register.entry.programme_files import Followed, Programmes, say_copied
from register.entry.sheets import Sheet
from register.entry.subjects import check_thing_read, find_part
from register.ledger.amounts import DEFAULT_PER_FLIGHT
from register.records.bodies import STAGES
from register.records.opening import UNFLOWN
from register.records.programmes import CounterInterval, Task
from register.records.standing_files import AircraftFile
from register.records.values import Ref
from register.tasks.items import find_subjects
from register.trouble import Place, RegisterError

NEW_STAGE = "in-service"


class AircraftWish(Struct, frozen=True):
    """What is typed of an aircraft; nothing of it is required."""

    title: str | None = None
    kit: str | None = None
    programmes: tuple[str, ...] = ()
    stage: str | None = None
    opening: tuple[str, ...] = ()
    as_of: str | None = None
    positions: tuple[str, ...] = ()
    per_flight: tuple[str, ...] = ()
    basis: str | None = None
    last_done: tuple[str, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether nothing was typed."""
        return self == AircraftWish()


def plan_aircraft(
    clerk: Clerk,
    name: str,
    wish: AircraftWish,
    stamp: Stamp,
    starters: Mapping[str, bytes],
    *,
    is_new: bool,
) -> Plan:
    """One aircraft entered or changed, with the starters it follows copied in the same change.

    Raises RegisterError (usage) on wrong words, before anything is planned.
    """
    return _Entry(clerk, name, wish, starters, is_new=is_new).plan(stamp)


class _Entry:
    """One aircraft being entered."""

    def __init__(
        self,
        clerk: Clerk,
        name: str,
        wish: AircraftWish,
        starters: Mapping[str, bytes],
        *,
        is_new: bool,
    ):
        records = clerk.ledger.records
        check_thing_read(clerk, name)
        if is_new:
            name = check_new_name(name, records.aircraft, "aircraft")
            check_new_name(name, records.parts, "part")
        path = f"aircraft/{name}/aircraft.yaml"
        self.clerk, self.name, self.wish = clerk, name, wish
        self.old: AircraftFile | None = None if is_new else records.aircraft[name]
        self.programmes = Programmes(clerk, starters)
        self.sheet = Sheet(path, None if is_new else clerk.sources[path], f"# {name}\n")
        self.stage = self._read_stage()
        self.followed: tuple[Followed, ...] = ()
        self.warnings: list[str] = []
        self.notes: list[str] = []

    def _read_stage(self) -> str | None:
        if self.wish.stage is None:
            return None
        return match_name(self.wish.stage.replace(" ", "-"), STAGES, "stage")

    def plan(self, stamp: Stamp) -> Plan:
        """The finished plan."""
        self._identity()
        self._programmes()
        if self.old is None:
            self.sheet.set(("stage",), self.stage or NEW_STAGE)
        self._opening()
        known = self.old.positions if self.old else {}
        enter_positions(self.clerk, self.sheet, self.wish.positions, known, self.warnings)
        enter_per_flight(self.clerk, self.sheet, self.wish.per_flight, self.wish.basis)
        return self._finish(stamp)

    def _identity(self) -> None:
        wish, sheet = self.wish, self.sheet
        if self.old is None:
            sheet.set(("id",), self.clerk.new_id())
        if wish.title or self.old is None:
            title = wish.title or self.name.replace("-", " ").capitalize()
            sheet.set(("title",), check_title(title), "title")
        if wish.kit:
            kits = self.clerk.ledger.records.kits
            add = f"tailsheaf kit {wish.kit.strip().lower()} --add"
            kit = kits[match_name(wish.kit, kits, "kit", add=add)]
            sheet.set(("kit",), f"{kit.name}.{kit.id}" if kit.id else kit.name, "kit")

    def _programmes(self) -> None:
        self.followed = self.programmes.follow(self.wish.programmes)
        there = {(use.ref.name, use.group) for use in self.old.programmes} if self.old else set()
        for item in self.followed:
            if (item.name, item.group) in there:
                continue
            there.add((item.name, item.group))
            self.sheet.append(("programmes",), item.text, f"follows {item.shown}")
        for item in self.followed:
            self.notes.append(
                f"{self.name} follows {item.shown}: "
                + count_words(self.programmes.count(item), "task")
            )

    def _opening(self) -> None:
        clerk, wish = self.clerk, self.wish
        counters = clerk.ledger.records.fleet.counters
        zone = clerk.ledger.records.zone
        given = [parse_counter(text, counters) for text in wish.opening]
        for item in given:
            if item.counter == "charges":
                raise RegisterError(
                    "--opening: charges are counted for packs, not for an aircraft",
                    mend="tailsheaf parts PACK --add --kind battery --opening charges=40",
                    code="counter-not-here",
                )
        as_of = parse_past_day(wish.as_of, clerk.now, zone, "--as-of") if wish.as_of else None
        dones = [parse_done(text, counters, clerk.now, zone) for text in wish.last_done]
        known = self.old.opening if self.old else None
        if as_of is None and (given or dones) and (known is None or known.as_of is None):
            as_of = clerk.today
        enter_counters(self.sheet, [*given, *self._unstated(given, bool(dones))], as_of)
        entries = self._find_dones(dones) if dones else []
        enter_dones(self.sheet, entries, known)
        if entries:
            count = count_words(len(entries), "task")
            self.notes.append(f"last done before the register: {count}")
            self.notes.extend(
                f"{done.word}: {done.month} is taken as {done.when.isoformat()}, about"
                for done in dones
                if done.month and done.when
            )
            self._ask_counts(entries)
        self._doubt_dones(entries, {item.counter: item.value for item in given})

    def _unstated(self, given: list[GivenCounter], has_dones: bool) -> tuple[GivenCounter, ...]:
        """The counters that matter of an aircraft with a past, where they were not given.

        Those of its engine and of whatever else hangs on it too: a task counts them.
        """
        if self.old is not None and self.old.opening.counters:
            return ()
        if not given and not (has_dones and self.old is None):
            return ()
        counted = {
            interval.counter
            for task in self._tasks()
            for interval in task.terms[0].every
            if isinstance(interval, CounterInterval)
        }
        listed = self.clerk.ledger.records.fleet.counters
        wanted = [name for name in listed if name in counted | {"flights", "minutes"}]
        others = [name for name in listed if name not in wanted and name != "charges"]
        found = find_unstated(given, wanted, DEFAULT_PER_FLIGHT, others)
        if found is None:
            return ()
        self.notes.append(found.says)
        return found.counters

    def _find_dones(self, dones: list[GivenDone]) -> list[DoneEntry]:
        tasks = {task.id: task for task in self._tasks()}
        if not tasks:
            raise RegisterError(
                f"--last-done: {self.name} follows no programme, so it has no tasks",
                mend=f"tailsheaf aircraft {self.name} --programme turbine-jet --last-done …",
                code="task-unknown",
            )
        found: dict[tuple[str, str | None], DoneEntry] = {}
        for done in dones:
            subject = None
            if done.subject:
                subject = self.clerk.ref(("part", find_part(self.clerk, done.subject)))
            for task in self._meant(done, tasks):
                found[(task, subject)] = DoneEntry(task, subject, done)
        return list(found.values())

    def _meant(self, done: GivenDone, tasks: dict[str, Task]) -> list[str]:
        if not done.is_group:
            return [match_name(done.word, tasks, "task")]
        groups = {task.group for task in tasks.values() if task.group}
        group = match_name(done.word, groups, "group of tasks")
        # What is printed on the card, or waits for an event, has no last time to give.
        return [
            task.id
            for task in tasks.values()
            if task.group == group and (task.terms[0].every or _is_seasonal(task))
        ]

    def _tasks(self) -> tuple[Task, ...]:
        uses = [(use.ref, use.group) for use in self.old.programmes] if self.old else []
        uses.extend((Ref(f.name, f.id, Place("")), f.group) for f in self.followed)
        return self.programmes.tasks(uses)

    def _ask_counts(self, entries: list[DoneEntry]) -> None:
        """A date alone leaves a task that counts flights anywhere between new and now."""
        tasks = {task.id: task for task in self._tasks()}
        vague = [
            entry
            for entry in entries
            if entry.done.when is not None
            and any(
                isinstance(side, CounterInterval) and side.counter not in dict(entry.done.at)
                for side in tasks[entry.task].terms[0].every
            )
        ]
        if vague:
            self.warnings.append(
                f"{len(vague)} of them count flights or the like: behind the date, @flights=N "
                "says at how many"
            )

    def _doubt_dones(self, entries: list[DoneEntry], given: dict[str, Decimal | None]) -> None:
        """A task done at more than there was when the register began: of its part, if on one."""
        for entry in entries:
            for counter, value in entry.done.at:
                opening = self._opening_of(entry, counter, given)
                if opening is not None and value > opening:
                    self.warnings.append(
                        f"{entry.task} at {value} {counter} is more than the opening {opening}"
                    )

    def _opening_of(
        self, entry: DoneEntry, counter: str, given: dict[str, Decimal | None]
    ) -> Decimal | None:
        """What had been counted before the register; None: not known, or not of one thing."""
        ledger = self.clerk.ledger
        part = entry.subject.partition(".")[0] if entry.subject else None
        task = {task.id: task for task in self._tasks()}[entry.task]
        if part is None and task.on != "aircraft":
            if self.old is None:
                return None
            on_parts = [name for (_, name), _ in find_subjects(ledger, self.name, task)]
            part = on_parts[0] if len(on_parts) == 1 else None
            if part is None:
                return None
        if part is not None:
            return ledger.records.parts[part].opening.value(counter).high
        if counter in given:
            return given[counter]
        return self.old.opening.value(counter).high if self.old is not None else None

    def _finish(self, stamp: Stamp) -> Plan:
        draft = self._stage_event(stamp)
        if draft is not None and not self.sheet.touched:
            return draft.plan(draft.says[0][0].upper() + draft.says[0][1:])
        plan = finish_plan(self.clerk, self.sheet, "aircraft", self.name, self.warnings)
        says = list(plan.says)
        if self.old is None:
            stage = (self.stage or NEW_STAGE).replace("-", " ")
            taken = "" if self.stage else " (--stage if it is not)"
            says = [f"aircraft {self.name}, new, {stage}{taken}: {self.sheet.path}"]
        copies = tuple(self.programmes.copied.values())
        plan = Plan(
            tuple(copied.change for copied in copies) + plan.changes,
            plan.message,
            (*says, *(say_copied(copied) for copied in copies), *self.notes),
            plan.written,
            () if self.old is None else (("aircraft", self.name),),
            tuple(dict.fromkeys(self.warnings)),
        )
        return plan if draft is None else plan.plus(draft.plan(plan.message))

    def _stage_event(self, stamp: Stamp) -> Draft | None:
        """Another stage of an aircraft that is there already is an event."""
        if self.old is None or self.stage is None:
            return None
        subject = ("aircraft", self.name)
        now, _ = self.clerk.ledger.stage(self.name)
        if now == self.stage:
            self.warnings.append(f"{self.name} was {now.replace('-', ' ')} already")
        elif now in UNFLOWN and self.stage in ACCEPTED:
            refuse_open_jobs(self.clerk, self.name, self.stage)
        draft = Draft(self.clerk, stamp)
        draft.write(
            f"aircraft/{self.name}",
            "stage",
            {"aircraft": self.clerk.ref(subject), "stage": self.stage},
        )
        draft.say(f"{self.name} is {self.stage.replace('-', ' ')}{draft.day}")
        draft.touch(subject)
        if not self.sheet.touched:
            draft.warnings.extend(self.warnings)
        return draft


def _is_seasonal(task: Task) -> bool:
    return any(start.when in ("season", "gap") for start in task.starts)
