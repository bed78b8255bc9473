"""The table of commands: name, group and module. A command's module is imported when it is used."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Sequence
from typing import Annotated, NamedTuple

import typer

EVERY_DAY = "Every day"
WORKSHOP = "Workshop"
LOOKING_BACK = "Looking back"
KEEPING = "Keeping the register"


class Command(NamedTuple):
    """One command: its module holds a function `command`."""

    name: str
    group: str
    module: str


COMMANDS: tuple[Command, ...] = (
    Command("fly", EVERY_DAY, "fly"),
    Command("day", EVERY_DAY, "day"),
    Command("charge", EVERY_DAY, "charge"),
    Command("snag", EVERY_DAY, "snag"),
    Command("fix", EVERY_DAY, "fix"),
    Command("done", EVERY_DAY, "done"),
    Command("swap", EVERY_DAY, "swap"),
    Command("due", EVERY_DAY, "due"),
    Command("flyday", EVERY_DAY, "flyday"),
    Command("history", EVERY_DAY, "history"),
    Command("why", EVERY_DAY, "why"),
    Command("worklist", WORKSHOP, "worklist"),
    Command("install", WORKSHOP, "install"),
    Command("remove", WORKSHOP, "remove"),
    Command("condition", WORKSHOP, "condition"),
    Command("reading", WORKSHOP, "reading"),
    Command("engine-run", WORKSHOP, "engine_run"),
    Command("incident", WORKSHOP, "incident"),
    Command("defer", WORKSHOP, "defer"),
    Command("fasteners", WORKSHOP, "fasteners"),
    Command("jobs", WORKSHOP, "jobs"),
    Command("modify", WORKSHOP, "modify"),
    Command("notices", WORKSHOP, "notices"),
    Command("layup", WORKSHOP, "layup"),
    Command("balance", WORKSHOP, "balance"),
    Command("leak", WORKSHOP, "leak"),
    Command("cure", WORKSHOP, "cure"),
    Command("damage", WORKSHOP, "damage"),
    Command("throws", WORKSHOP, "throws"),
    Command("fleet", LOOKING_BACK, "fleet"),
    Command("parts", LOOKING_BACK, "parts"),
    Command("faults", LOOKING_BACK, "faults"),
    Command("trend", LOOKING_BACK, "trend"),
    Command("season", LOOKING_BACK, "season"),
    Command("report", LOOKING_BACK, "report"),
    Command("init", KEEPING, "init"),
    Command("aircraft", KEEPING, "aircraft"),
    Command("kit", KEEPING, "kit"),
    Command("programme", KEEPING, "programme"),
    Command("papers", KEEPING, "papers"),
    Command("stock", KEEPING, "stock"),
    Command("attach", KEEPING, "attach"),
    Command("amend", KEEPING, "amend"),
    Command("withdraw", KEEPING, "withdraw"),
    Command("save", KEEPING, "save"),
    Command("check", KEEPING, "check"),
    Command("doctor", KEEPING, "doctor"),
    Command("adopt", KEEPING, "adopt"),
    Command("sync", KEEPING, "sync"),
    Command("handover", KEEPING, "handover"),
    Command("receive", KEEPING, "receive"),
)
#: Old words for the same thing.
ALIASES = {"snags": "snag"}

EPILOG = (
    "Common options, before or after the command: --fleet DIR, --on DATE (what was known that "
    "day), --json, --plain, --strict. This is a notebook, not an inspection: you decide, after "
    "looking."
)


def make_app(arguments: Sequence[str]) -> typer.Typer:
    """The application: only the command asked for, or all of them for help and completion."""
    app = typer.Typer(
        name="tailsheaf",
        help="A register for large radio-controlled aircraft, and what it computes from it.",
        epilog=EPILOG,
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        rich_markup_mode="rich",
        context_settings={"help_option_names": ["--help", "-h"]},
    )
    app.callback()(_root)
    word = next((word for word in arguments if not word.startswith("-")), "")
    word = ALIASES.get(word, word)
    chosen = [item for item in COMMANDS if item.name == word] or list(COMMANDS)
    for item in chosen:
        _add(app, item.name, item)
    if len(chosen) == 1:
        for alias, name in ALIASES.items():
            if name == word:
                _add(app, alias, chosen[0])
    return app


def _show_version(asked: bool) -> None:
    """The version, and nothing else is done."""
    if not asked:
        return
    from cli.handing import program_version
    from cli.session import current_session

    current_session().out.write(f"tailsheaf {program_version()}\n")
    raise typer.Exit


def _root(
    _version: Annotated[
        bool,
        typer.Option(
            "--version",
            callback=_show_version,
            is_eager=True,
            help="The version, and nothing else.",
        ),
    ] = False,
) -> None:
    """A register for large radio-controlled aircraft, and what it computes from it."""


def _add(app: typer.Typer, name: str, item: Command) -> None:
    module = importlib.import_module(f"cli.commands.{item.module}")
    function: Callable[..., None] = module.command
    app.command(name, rich_help_panel=item.group, epilog=getattr(module, "EXAMPLE", ""))(function)
