"""Every revision of every record that goes, rewritten, in the order it was put into history."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from msgspec import Struct, field

from register.text.document import read_plain
from register.text.nodes import Plain
from register.text.parsing import parse_text
from register.transfer import allowed
from register.transfer.fields import Rule
from register.transfer.rewriting import Rewriter

_EVENT_FILE = re.compile(r"\d{4}-\d{2}-\d{2}(?:-\d{4})?-[a-z-]+-([0-9a-z]{3,32})\.yaml")
_THING_PATH = re.compile(
    r"aircraft/[^/]+/aircraft\.yaml|parts/[^/]+/part\.yaml|(?:kits|programmes)/[^/]+\.yaml"
)
_EVENT_PATH = re.compile(r"(?:aircraft|parts)/[^/]+/events/(?:.*/)?([^/]+)")
Revision = tuple[str, bytes | None]


class PastChange(Struct, frozen=True):
    """One commit of the fleet's own: when, by whom (a pseudonym comes later), what changed."""

    date: bytes
    files: tuple[Revision, ...]


class Step(Struct, frozen=True):
    """One commit as it goes: when, in which words, and path -> bytes."""

    date: bytes
    words: str
    files: tuple[tuple[str, bytes], ...]


class Withheld(Struct):
    """Revisions that could not be read: counted, never passed on.

    `elsewhere` are those of things under names that do not go, by path: whose they are is known
    only once a revision that can be read has shown what lay there (`former`).
    """

    sure: int = 0
    elsewhere: dict[str, int] = field(default_factory=dict)
    former: set[str] = field(default_factory=set)

    @property
    def count(self) -> int:
        """How many there are, with those under names that what goes once had."""
        return self.sure + sum(self.elsewhere.get(path, 0) for path in self.former)


class Retelling:
    """Turns changes of the fleet's history into those that go."""

    def __init__(self, rewriter: Rewriter, kinds: Mapping[str, str]):
        self.rewriter = rewriter
        self.withheld = Withheld()
        #: Kind of each record that goes, by id: an amendment's fields depend on it.
        self.kinds = kinds
        self._files = standing_rules(rewriter)
        self._by_id = {item.id: item for item in self._files.values() if item.id}
        self._known: dict[tuple[str, bytes], tuple[str, bytes, str] | None] = {}

    def retell(self, changes: Iterable[PastChange]) -> Iterator[Step]:
        """Each change as far as it concerns what goes; those that do not are not there."""
        for change in changes:
            files: dict[str, bytes] = {}
            kinds: list[str] = []
            for path, data in change.files:
                if data is None:
                    continue
                found = self.rewrite(path, data)
                if found is not None:
                    files[found[0]] = found[1]
                    kinds.append(found[2])
            if files:
                yield Step(change.date, tell_words(kinds), tuple(sorted(files.items())))

    def concerns(self, path: str) -> bool:
        """Whether a file may be one that goes, by its path alone."""
        event = _EVENT_PATH.fullmatch(path)
        if event is None:
            return path in self._files or _THING_PATH.fullmatch(path) is not None
        name = _EVENT_FILE.fullmatch(event[1])
        return name is None or name[1] in self.rewriter.scope.homes

    def rewrite(self, path: str, data: bytes) -> tuple[str, bytes, str] | None:
        """New path, bytes and kind of one revision; None where it does not go."""
        if not self.concerns(path):
            return None
        key = (path, data)
        if key not in self._known:
            self._known[key] = self._rewrite(path, data)
        return self._known[key]

    def _rewrite(self, path: str, data: bytes) -> tuple[str, bytes, str] | None:
        rules = self._files.get(path)
        event = _EVENT_PATH.fullmatch(path)
        plain = read_revision(path, data)
        if plain is None:
            if rules is not None or (event is not None and _EVENT_FILE.fullmatch(event[1])):
                self.withheld.sure += 1
            elif event is None:
                there = self.withheld.elsewhere
                there[path] = there.get(path, 0) + 1
            return None
        if event is not None:
            return self._rewrite_event(plain)
        if rules is None:
            # The same thing under a name it once had.
            rules = self._by_id.get(str(plain.get("id", "")))
            if rules is None or path.partition("/")[0] != rules.path.partition("/")[0]:
                return None
            self.withheld.former.add(path)
        return (
            rules.path,
            self.rewriter.rewrite_file(rules.rules, plain, rules.path, rules.id),
            "file",
        )

    def _rewrite_event(self, plain: dict[str, Plain]) -> tuple[str, bytes, str] | None:
        id_ = str(plain.get("id", "")).lower()
        home = self.rewriter.scope.homes.get(id_)
        if home is None:
            return None
        kind = str(plain.get("record", "")).strip().lower().replace("_", "-").replace(" ", "-")
        amended = self.kinds.get(str(plain.get("amends", "")).lower())
        data = self.rewriter.rewrite_event(plain, amended)
        if data is None:
            self.withheld.sure += 1
            return None
        return event_path(home, str(plain.get("when", "")), kind, id_), data, kind


def event_path(home: str, when: str, kind: str, id_: str) -> str:
    """Where a record of this day lies, as the program names files."""
    day = when[:10] if re.fullmatch(r"\d{4}-\d{2}-\d{2}", when[:10]) else "1970-01-01"
    time = f"-{when[11:13]}{when[14:16]}" if re.match(r"T\d\d:\d\d", when[10:]) else ""
    return f"{home}/events/{day[:4]}/{day[5:7]}/{day}{time}-{kind}-{id_}.yaml"


def read_revision(path: str, data: bytes) -> dict[str, Plain] | None:
    """A revision as plain data, or None where it cannot be read."""
    parsed = parse_text(path, data)
    if parsed.node is None or any(problem.level == "error" for problem in parsed.problems):
        return None
    plain = read_plain(parsed.node)
    return plain if isinstance(plain, dict) else None


class Standing(Struct, frozen=True):
    """A standing file that goes: where it lies, what of it goes, and its id (fleet.yaml: none)."""

    path: str
    rules: dict[str, Rule]
    id: str | None


def standing_rules(rewriter: Rewriter) -> dict[str, Standing]:
    """The standing files that go, by path."""
    scope = rewriter.scope
    found = [Standing("fleet.yaml", allowed.FLEET, None)]

    def add(kind: str, name: str, path: str, rules: dict[str, Rule]) -> None:
        found.append(Standing(path, rules, rewriter.id_of(kind, name)))

    add("aircraft", scope.aircraft, f"aircraft/{scope.aircraft}/aircraft.yaml", allowed.AIRCRAFT)
    for name in scope.parts:
        add("part", name, f"parts/{name}/part.yaml", allowed.PART)
    for name in scope.stubs:
        add("part", name, f"parts/{name}/part.yaml", allowed.STUB)
    if scope.kit is not None:
        add("kit", scope.kit, f"kits/{scope.kit}.yaml", allowed.KIT)
    for name in scope.programmes:
        add("programme", name, f"programmes/{name}.yaml", allowed.PROGRAMME_FILE)
    return {item.path: item for item in found}


def tell_words(kinds: Sequence[str]) -> str:
    """The words of a commit, made anew: the old ones may hold anything."""
    counted: dict[str, int] = {}
    for kind in kinds:
        counted[kind] = counted.get(kind, 0) + 1
    parts = [
        f"{kind.replace('-', ' ')}" + (f" x {count}" if count > 1 else "")
        for kind, count in sorted(counted.items())
    ]
    return f"Record {', '.join(parts)}"


def collect_tokens(
    revisions: Iterable[Revision],
    take: Callable[[str, dict[str, Plain]], None],
    take_unread: Callable[[str, bytes], None],
) -> None:
    """Give every revision to `take`, for the words that must not go, or to `take_unread`."""
    for path, data in revisions:
        if data is None:
            continue
        plain = read_revision(path, data)
        if plain is not None:
            take(path, plain)
        else:
            take_unread(path, data)
