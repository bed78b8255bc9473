"""Naming this machine, so that others can tell whom they last heard from."""

from __future__ import annotations

from register.entry.clerk import Clerk, Plan
from register.storage.writing import FileChange
from register.text.editing import edit_set
from register.trouble import Exit, RegisterError

FILE = "fleet.yaml"
LONGEST = 30


def plan_naming(clerk: Clerk, words: str) -> Plan:
    """Put what this machine is called into fleet.yaml.

    Raises RegisterError: USAGE for a name that is empty, too long, or another machine's.
    """
    title = " ".join(words.split())
    if not title or len(title) > LONGEST or not title.isprintable():
        raise RegisterError(
            f"a machine is called by 1 to {LONGEST} letters",
            mend='tailsheaf sync --call-me "workshop laptop"',
            exit_code=Exit.USAGE,
            code="name-bad",
        )
    known = clerk.ledger.records.fleet.machines
    if any(title == other and name != clerk.machine for name, other in known.items()):
        raise RegisterError(
            f"another machine is called {title} already",
            mend=f'tailsheaf sync --call-me "{title} 2"',
            exit_code=Exit.USAGE,
            code="name-taken",
        )
    before = clerk.sources[FILE]
    after = edit_set(FILE, before, ("machines", clerk.machine), title)
    changes = (FileChange(FILE, before, after),) if after != before else ()
    return Plan(changes, f"Call a machine {title}", (f"this machine is called {title}",))
