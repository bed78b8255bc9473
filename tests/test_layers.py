"""The laws of the house, read from the source of register/ and cli/.

Each law has a sample that breaks it, so that none can hold by finding nothing.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

ROOMS = (
    "trouble", "storage", "git", "text", "records", "ledger", "tasks", "findings", "standing",
    "faults", "workshop", "checks", "views", "entry", "merge", "transfer", "pages",
    "starters", "example", "fleet", "circlewise", "desk", "answers", "copying",
    "posting", "syncing", "settling_clashes", "joining", "handing", "receiving",
)  # fmt: skip
"""The rooms of register/. Each may import those to its left."""

ONLY_IN = {
    "ruamel": ("register/text/", "register/example/"),
    "git": ("register/git/",),
    "gitdb": ("register/git/",),
    "subprocess": ("register/git/",),
    # The git room looks for its program; what shutil does to files is held below.
    "shutil": ("register/storage/", "register/git/"),
    "tempfile": ("register/storage/",),
    "PIL": ("register/storage/pictures.py",),
    "fcntl": ("register/storage/",),
    # An extra, missing from a light install: loaded where its absence is explained.
    "scipy": ("register/faults/extra.py",),
    # The same extra: a page without it has its tables, and says which line adds the plots.
    "matplotlib": ("register/pages/report_plots.py",),
    "typer": ("cli/",),
    "rich": ("cli/",),
    "click": (),
    "cli": ("cli/",),
}
"""Packages that only some places may import."""

STORAGE = ("register/storage/",)
LOOKS = (*STORAGE, "register/git/", "register/starters/", "register/example/")
READS = (*STORAGE, "register/starters/", "register/example/")
DISK_METHODS = {
    **dict.fromkeys(
        (
            "write_text", "write_bytes", "mkdir", "rmdir", "unlink", "symlink_to",
            "hardlink_to", "chmod",
        ),
        STORAGE,
    ),
    # Files that are part of the program are read through importlib.resources.
    **dict.fromkeys(("read_text", "read_bytes", "iterdir", "glob", "rglob"), READS),
    **dict.fromkeys(("exists", "is_file", "is_dir", "is_symlink", "stat", "lstat"), LOOKS),
}  # fmt: skip
"""Methods of a path that touch the disk, and where they may be called."""

DISK_FUNCTIONS = frozenset(
    [
        f"os.{name}"
        for name in (
            "open", "fdopen", "read", "write", "fsync", "remove", "unlink", "rename", "replace",
            "mkdir", "makedirs", "rmdir", "removedirs", "link", "symlink", "truncate", "listdir",
            "scandir", "walk", "stat", "lstat", "chmod", "utime", "path.isfile", "path.isdir",
        )
    ]
    + [f"shutil.{name}" for name in ("rmtree", "move", "copy", "copy2", "copyfile", "copytree")]
)  # fmt: skip
"""Functions that touch the disk, for the storage room alone."""

PROCESSES = frozenset(("os.system", "os.popen", "os.execv", "os.execvp", "os.spawnv", "os.fork"))

EDGES = ("cli/session.py", "cli/main.py", "cli/replay.py")
TIMED = (*EDGES, "register/storage/", "register/git/")
SURROUNDINGS = {
    **dict.fromkeys(
        (
            "datetime.datetime.now", "datetime.datetime.utcnow", "datetime.datetime.today",
            "datetime.date.today", "os.environb", "os.getenv", "os.getcwd", "os.getlogin",
            "os.path.expanduser", "pathlib.Path.cwd", "pathlib.Path.home",
            "time.localtime", "time.gmtime", "time.strftime",
        ),
        EDGES,
    ),
    # A process of git gets the owner's environment, cleaned of what would redirect it.
    "os.environ": (*EDGES, "register/git/"),
    # Waiting for a lock needs a clock; the answer does not depend on it.
    **dict.fromkeys(
        ("time.time", "time.time_ns", "time.monotonic", "time.perf_counter", "time.sleep"),
        TIMED,
    ),
}  # fmt: skip
"""The clock, the environment and the current folder, and where they may be asked for."""

COMPUTED = "<a computed name>"
NAMES_TOO_WIDE = frozenset(
    ("util", "utils", "helper", "helpers", "common", "manager", "managers", "model", "models")
)
MODULE_LINES = 400
FUNCTION_LINES = 60


@dataclass(frozen=True, slots=True)
class Module:
    """One source file: its path from the root and its tree."""

    path: str
    lines: int
    tree: ast.Module

    @property
    def room(self) -> str | None:
        """The room of register/ it stands in; None outside and for register itself."""
        parts = self.path.removesuffix(".py").split("/")
        inside = parts[0] == "register" and parts[1] != "__init__"
        return parts[1] if inside else None


def build_module(path: str, source: str) -> Module:
    """A module from its text."""
    return Module(path, source.count("\n"), ast.parse(source, path))


def read_modules() -> list[Module]:
    """Every module of register/ and cli/."""
    return [
        build_module(path.relative_to(ROOT).as_posix(), path.read_text("utf-8"))
        for top in ("register", "cli")
        for path in sorted((ROOT / top).rglob("*.py"))
    ]


def is_within(module: Module, places: tuple[str, ...]) -> bool:
    """Whether the module is one of the places, or below one that ends in a stroke."""
    return any(
        module.path.startswith(place) if place.endswith("/") else module.path == place
        for place in places
    )


def find_imports(module: Module) -> Iterator[tuple[int, str]]:
    """Line and full dotted name of everything imported, lazily and for types too."""
    package = module.path.split("/")[:-1]
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = package[: len(package) - node.level + 1] if node.level else []
            base = ".".join([*above, *([node.module] if node.module else [])])
            yield from ((node.lineno, f"{base}.{alias.name}") for alias in node.names)
        elif isinstance(node, ast.Call) and node.args:
            called = getattr(node.func, "attr", getattr(node.func, "id", ""))
            if called in ("import_module", "__import__"):
                yield node.lineno, read_constant(node.args[0])


def read_constant(node: ast.expr) -> str:
    """The text of a literal; `COMPUTED` for anything that only running would tell."""
    literal = isinstance(node, ast.Constant) and isinstance(node.value, str)
    return ast.literal_eval(node) if literal else COMPUTED


def find_names(module: Module) -> dict[str, str]:
    """What each imported name of the module stands for, dotted."""
    names: dict[str, str] = {}
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                names[alias.asname or alias.name.split(".")[0]] = (
                    alias.name if alias.asname else alias.name.split(".")[0]
                )
        elif isinstance(node, ast.ImportFrom):
            base = node.module or "register"
            names |= {alias.asname or alias.name: f"{base}.{alias.name}" for alias in node.names}
    return names


def find_dotted(module: Module) -> Iterator[tuple[int, str]]:
    """Line and full name of every use of something imported, such as `datetime.date.today`."""
    names = find_names(module)
    for node in ast.walk(module.tree):
        attributes: list[str] = []
        inner: ast.AST = node
        while isinstance(inner, ast.Attribute):
            attributes.insert(0, inner.attr)
            inner = inner.value
        if isinstance(inner, ast.Name) and inner.id in names and hasattr(node, "lineno"):
            yield node.lineno, ".".join([names[inner.id], *attributes])


Law = Callable[[Module], Iterator[str]]


def check_order_of_rooms(module: Module) -> Iterator[str]:
    """Rooms import only leftwards."""
    if not module.path.startswith("register/"):
        return
    if module.room is not None and module.room not in ROOMS:
        yield f"{module.path}: {module.room} is not a room of the house"
        return
    allowed = () if module.room is None else ROOMS[: ROOMS.index(module.room) + 1]
    for line, name in find_imports(module):
        parts = name.split(".")
        if parts[0] == "register" and (len(parts) < 2 or parts[1] not in allowed):
            yield f"{module.path}:{line}: {module.room} may not import {name}"


def check_packages(module: Module) -> Iterator[str]:
    """Some packages belong to one room; register knows nothing of the terminal."""
    for line, name in find_imports(module):
        places = ONLY_IN.get(name.split(".")[0])
        if places is not None and not is_within(module, places):
            yield f"{module.path}:{line}: {name} may be imported only in {places or 'no place'}"
        # The table of commands imports the one command that is asked for.
        if name == COMPUTED and module.path != "cli/commands/table.py":
            yield f"{module.path}:{line}: imports {name}, which no law can follow"


def check_commands_apart(module: Module) -> Iterator[str]:
    """No command imports another, and no renderer a command."""
    if not module.path.startswith(("cli/commands/", "cli/render/")):
        return
    for line, name in find_imports(module):
        if name.startswith("cli.commands"):
            yield f"{module.path}:{line}: may not import {name}"


def check_disk(module: Module) -> Iterator[str]:
    """Only the storage room touches the disk."""
    names = find_names(module)
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Call):
            called, places = find_disk_call(node, names)
            if places and not is_within(module, places):
                yield f"{module.path}:{node.lineno}: {called}() outside {places}"
    for line, name in find_dotted(module):
        if name in DISK_FUNCTIONS and not is_within(module, STORAGE):
            yield f"{module.path}:{line}: {name} outside storage"
        if name in PROCESSES:
            yield f"{module.path}:{line}: {name} is not used anywhere"


def find_disk_call(node: ast.Call, names: dict[str, str]) -> tuple[str, tuple[str, ...]]:
    """What a call is called, and the only places for it; no places when it may stand anywhere."""
    match node.func:
        case ast.Name(called):
            return called, STORAGE if called == "open" and called not in names else ()
        case ast.Attribute(receiver, "open"):
            ours = is_of_register(receiver, names) or is_session(receiver)
            return "open", () if ours else STORAGE
        case ast.Attribute(_, called):
            return called, DISK_METHODS.get(called, ())
        case _:
            return "", ()


def is_of_register(receiver: ast.expr, names: dict[str, str]) -> bool:
    """Whether a call goes to a module of ours, as in `desk.open(...)`."""
    return isinstance(receiver, ast.Name) and names.get(receiver.id, "").startswith("register.")


def is_session(receiver: ast.expr) -> bool:
    """Whether a call opens the fleet of a session, as in `session.open()`."""
    match receiver:
        case ast.Name("session" | "self"):
            return True
        case ast.Call(ast.Name("make_session" | "current_session")):
            return True
        case _:
            return False


def check_surroundings(module: Module) -> Iterator[str]:
    """The clock, the environment and the current folder are asked for at the edge only."""
    for line, name in find_dotted(module):
        places = SURROUNDINGS.get(name)
        if places is not None and not is_within(module, places):
            yield f"{module.path}:{line}: {name} may be used only in {places}"
    for node in ast.walk(module.tree):
        if isinstance(node, ast.Attribute) and node.attr == "expanduser":
            yield f"{module.path}:{node.lineno}: expanduser asks for the environment"


def check_sizes(module: Module) -> Iterator[str]:
    """Modules and functions stay short enough to be read at once."""
    if module.lines > MODULE_LINES:
        yield f"{module.path}: {module.lines} lines; split it by noun before {MODULE_LINES}"
    for node in ast.walk(module.tree):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            if length > FUNCTION_LINES:
                yield f"{module.path}:{node.lineno}: {node.name} has {length} lines"


def check_names(module: Module) -> Iterator[str]:
    """A module is named after a thing of the trade, not after a drawer for leftovers."""
    for part in module.path.removesuffix(".py").split("/"):
        if part.strip("_") in NAMES_TOO_WIDE:
            yield f"{module.path}: {part} says nothing"


LAWS: tuple[Law, ...] = (
    check_order_of_rooms,
    check_packages,
    check_commands_apart,
    check_disk,
    check_surroundings,
    check_sizes,
    check_names,
)


@pytest.mark.parametrize("law", LAWS, ids=lambda law: law.__name__)
def test_the_house_keeps(law: Law) -> None:
    modules = read_modules()
    assert {"register/trouble.py", "cli/__init__.py"} <= {module.path for module in modules}
    broken = [line for module in modules for line in law(module)]
    assert not broken, "\n".join(broken)


@pytest.mark.parametrize(
    ("law", "path", "source"),
    [
        (check_order_of_rooms, "register/text/a.py", "from register.records import kinds"),
        (check_order_of_rooms, "register/text/a.py", "def f():\n    from register import ledger"),
        (check_order_of_rooms, "register/text/a.py", "from ..ledger import order"),
        (check_order_of_rooms, "register/text/a.py", "import register"),
        (check_order_of_rooms, "register/__init__.py", "from register import trouble"),
        (check_order_of_rooms, "register/drawer/a.py", "x = 1"),
        (check_packages, "register/views/a.py", "import rich.text"),
        (check_packages, "register/views/a.py", "from cli import main"),
        (
            check_packages,
            "register/views/a.py",
            "import importlib as i\ni.import_module('typer')",
        ),
        (check_packages, "register/views/a.py", "import importlib\nimportlib.import_module(name)"),
        (check_packages, "register/records/a.py", "from ruamel.yaml import YAML"),
        (check_packages, "register/storage/a.py", "import subprocess"),
        (check_packages, "cli/main.py", "import git"),
        (check_packages, "cli/main.py", "import click"),
        (check_commands_apart, "cli/commands/fly.py", "from cli.commands import due"),
        (check_commands_apart, "cli/commands/fly.py", "from .due import render"),
        (check_commands_apart, "cli/render/a.py", "import cli.commands.due"),
        (check_disk, "register/ledger/a.py", "open('a')"),
        (check_disk, "register/ledger/a.py", "path.open('w')"),
        (check_disk, "register/git/a.py", "path.write_text('a')"),
        (check_disk, "cli/main.py", "path.read_text()"),
        (check_disk, "register/views/a.py", "path.exists()"),
        (check_disk, "register/git/a.py", "import os\nos.open('a', 0)"),
        (check_disk, "register/git/a.py", "from os import replace\nreplace('a', 'b')"),
        (check_disk, "register/git/a.py", "import shutil\nshutil.rmtree('a')"),
        (check_disk, "register/storage/a.py", "import os\nos.system('a')"),
        (check_surroundings, "register/tasks/a.py", "import datetime as d\nd.date.today()"),
        (check_surroundings, "register/git/a.py", "from datetime import datetime\ndatetime.now()"),
        (check_surroundings, "register/tasks/a.py", "import os\nos.environ['A']"),
        (check_surroundings, "register/tasks/a.py", "from time import time\ntime()"),
        (check_surroundings, "cli/commands/a.py", "from pathlib import Path\nPath.cwd()"),
        (check_surroundings, "cli/commands/a.py", "path.expanduser()"),
        (check_sizes, "cli/main.py", "x = 1\n" * 401),
        (check_sizes, "cli/main.py", "def f():\n" + "    x = 1\n" * 60),
        (check_names, "register/utils.py", ""),
        (check_names, "register/records/_helpers.py", ""),
    ],
)
def test_a_broken_law_is_found(law: Law, path: str, source: str) -> None:
    assert len(list(law(build_module(path, source)))) >= 1


@pytest.mark.parametrize(
    ("path", "source"),
    [
        ("register/views/a.py", "from register.ledger import order\nfrom register.views import b"),
        ("register/text/a.py", "from .nodes import Node\nfrom ruamel.yaml import YAML"),
        ("register/git/a.py", "import git\nimport subprocess\nimport time\ntime.monotonic()"),
        (
            "register/starters/a.py",
            "from importlib import resources as r\nr.files('x').read_text()",
        ),
        ("cli/commands/a.py", "from register import desk\nimport rich\ndesk.open(root)"),
        ("cli/session.py", "from datetime import UTC, datetime\ndatetime.now(UTC)"),
        ("register/tasks/a.py", "from datetime import date\ndate(2026, 5, 16).replace(day=1)"),
        ("cli/main.py", "x = 1\n" * 400),
        ("cli/main.py", "def f():\n" + "    x = 1\n" * 59),
    ],
)
def test_what_is_allowed_passes_every_law(path: str, source: str) -> None:
    module = build_module(path, source)
    assert [line for law in LAWS for line in law(module)] == []
