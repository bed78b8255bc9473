"""Entry of programmes: copying a starter into the fleet, and following a programme."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct

from register.entry.clerk import Clerk, Plan, Written
from register.entry.naming import check_new_name, match_name
from register.records.programmes import ProgrammeFile, Task, build_programme
from register.records.values import Ref
from register.storage.writing import FileChange
from register.text.emitting import render_text
from register.text.parsing import parse_text
from register.trouble import Exit, Place, RegisterError

_TITLE = b"\ntitle:"


class Copied(Struct, frozen=True):
    """A starter programme as it will stand in the fleet."""

    name: str
    starter: str
    id: str
    change: FileChange


def copy_starter(clerk: Clerk, starter: str, data: bytes, name: str) -> Copied:
    """The starter's bytes with an id of their own before the title; comments and all."""
    id_ = clerk.new_id()
    head, found, rest = data.partition(_TITLE)
    line = f"\nid: {render_text(id_)}".encode()
    after = head + line + found + rest if found else line.lstrip() + b"\n" + data
    return Copied(name, starter, id_, FileChange(f"programmes/{name}.yaml", None, after))


def plan_copy(clerk: Clerk, typed: str, starters: Mapping[str, bytes], as_name: str | None) -> Plan:
    """A starter copied into the fleet. Raises RegisterError: usage, or REFUSED if it is there."""
    starter = match_name(typed, starters, "starter programme")
    programmes = clerk.ledger.records.programmes
    wanted = (as_name or starter).strip().lower()
    clerk.check_file_read(f"programmes/{wanted}.yaml", wanted)
    if as_name is None and starter in programmes:
        raise RegisterError(
            f"this fleet has a programme called {starter} already; it was left as it is",
            mend=f"tailsheaf programme {starter} --copy --as {starter}-2",
            exit_code=Exit.REFUSED,
            code="name-taken",
        )
    name = check_new_name(as_name or starter, programmes, "programme")
    copied = copy_starter(clerk, starter, starters[starter], name)
    return Plan(
        (copied.change,),
        f"Copy the starter programme {starter}" + ("" if name == starter else f" as {name}"),
        (say_copied(copied),),
        (Written(copied.id, copied.change.path, "programme"),),
    )


def say_copied(copied: Copied) -> str:
    """What is said after a starter was copied."""
    return (
        f"starter {copied.starter} copied to {copied.change.path}; it is yours to change, "
        f"its common-practice figures yours to confirm"
    )


class Followed(Struct, frozen=True):
    """A programme, or one group of it, that an aircraft is to follow."""

    name: str
    id: str | None
    group: str | None
    copied: Copied | None

    @property
    def text(self) -> str:
        """As written in aircraft.yaml."""
        ref = f"{self.name}.{self.id}" if self.id else self.name
        return f"{ref}/{self.group}" if self.group else ref

    @property
    def shown(self) -> str:
        """As a person types it."""
        return f"{self.name}/{self.group}" if self.group else self.name


class Programmes:
    """The fleet's programmes, and starters that a command copies while it plans."""

    def __init__(self, clerk: Clerk, starters: Mapping[str, bytes]):
        self.clerk = clerk
        self.starters = starters
        self.copied: dict[str, Copied] = {}
        self._built: dict[str, ProgrammeFile] = dict(clerk.ledger.records.programmes)

    def follow(self, typed: Iterable[str]) -> tuple[Followed, ...]:
        """`turbine-jet`, `turbine-jet/controls`, or several with commas between."""
        words = [word for text in typed for word in text.lower().split(",") if word.strip()]
        return tuple(self._follow(word.strip()) for word in words)

    def _follow(self, word: str) -> Followed:
        typed, slash, group = word.partition("/")
        own = self.clerk.ledger.records.programmes
        exact = typed if typed in own else None
        names = {*own, *self.starters}
        name = exact or match_name(
            typed, names, "programme", add="tailsheaf programme   lists them"
        )
        copied = None if name in own else self._copy(name)
        if slash:
            group = match_name(group, self._groups(name), "group of tasks")
        id_ = copied.id if copied else own[name].id
        return Followed(name, id_, group or None, copied)

    def _copy(self, name: str) -> Copied:
        if name not in self.copied:
            self.copied[name] = copy_starter(self.clerk, name, self.starters[name], name)
        return self.copied[name]

    def file(self, ref: Ref) -> ProgrammeFile | None:
        """A programme by id, else by name, one that was just copied included."""
        name = ref.name
        for file in self.clerk.ledger.records.programmes.values():
            if ref.id and file.id == ref.id:
                name = file.name
        return self._file(name)

    def _file(self, name: str) -> ProgrammeFile | None:
        if name not in self._built and name in self.copied:
            change = self.copied[name].change
            node = parse_text(change.path, change.after).node
            if node is not None:
                self._built[name] = build_programme(change.path, name, node)[0]
        return self._built.get(name)

    def _groups(self, name: str) -> tuple[str, ...]:
        file = self._file(name)
        if file is None:
            return ()
        return tuple(dict.fromkeys(task.group for task in file.tasks if task.group))

    def tasks(self, uses: Iterable[tuple[Ref, str | None]]) -> tuple[Task, ...]:
        """The tasks of several programmes or groups; the first of two with one id counts."""
        found: dict[str, Task] = {}
        for ref, group in uses:
            file = self.file(ref)
            for task in file.tasks if file else ():
                if group is None or task.group == group:
                    found.setdefault(task.id, task)
        return tuple(found.values())

    def count(self, followed: Followed) -> int:
        """How many tasks come with it."""
        return len(self.tasks([(Ref(followed.name, followed.id, Place("")), followed.group)]))
