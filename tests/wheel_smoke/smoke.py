"""Use the installed command as an owner would: `smoke.py TAILSHEAF`, from an empty folder.

Runs in an environment without the development tools, so it uses the standard
library only. The git identity comes from GIT_CONFIG_GLOBAL alone, and the locale is C.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

FLYING_DAY = "2026-05-16"
OWNER = "Smoke Owner"


class SmokeError(Exception):
    """A command did not do what an owner would expect."""


def build_environment(home: Path) -> dict[str, str]:
    """A bare environment: the path, an empty home and a git identity."""
    config = home / "gitconfig"
    config.write_text(f"[user]\n\tname = {OWNER}\n\temail = owner@example.invalid\n", "utf-8")
    return {
        "PATH": os.environ["PATH"],
        "HOME": str(home),
        "GIT_CONFIG_GLOBAL": str(config),
        "LC_ALL": "C",
    }


def run(env: dict[str, str], *argv: str) -> str:
    """Standard output of a command that must exit 0 without a traceback."""
    done = subprocess.run(argv, env=env, capture_output=True, encoding="utf-8", check=False)
    if done.returncode != 0 or "Traceback" in done.stderr:
        raise SmokeError(f"{' '.join(argv)}: exit {done.returncode}\n{done.stdout}{done.stderr}")
    print(f"ok: {Path(argv[0]).name} {' '.join(argv[1:])}")
    return done.stdout


def expect(true: bool, says: str) -> None:
    """Stop with a sentence when something is not so."""
    if not true:
        raise SmokeError(says)


def use(tailsheaf: str, env: dict[str, str], fleet: Path) -> None:
    """Make the example fleet, read it, write one event and read it back."""

    def ask(*argv: str) -> str:
        return run(env, tailsheaf, "--fleet", str(fleet), *argv)

    def ask_git(*argv: str) -> str:
        return run(env, "git", "-C", str(fleet), *argv)

    expect("flyday" in run(env, tailsheaf, "--help"), "--help does not name flyday")
    run(env, tailsheaf, "init", "--example", str(fleet))
    names = sorted(path.name for path in (fleet / "aircraft").iterdir())
    expect(bool(names), "the example fleet has no aircraft")

    screen = ask("flyday", FLYING_DAY)
    expect(any(name in screen for name in names), f"flyday names none of {names}")
    ask("check")

    before = ask_git("rev-list", "--count", "HEAD")
    ask("fly", names[0], "1", "--minutes", "8")
    after = ask_git("rev-list", "--count", "HEAD")
    expect(int(after) == int(before) + 1, "fly did not make exactly one commit")
    author = ask_git("log", "-1", "--format=%an").strip()
    expect(author == OWNER, f"the commit is by {author!r}, not by {OWNER!r}")
    expect(ask_git("status", "--porcelain") == "", "fly left something uncommitted")

    answer = json.loads(ask("due", "--json"))
    expect(answer.get("version") == 1, "due --json does not say version 1")


def main() -> int:
    """Run it all in a temporary folder; exit 1 at the first thing that is wrong."""
    with tempfile.TemporaryDirectory() as scratch:
        home = Path(scratch) / "home"
        home.mkdir()
        try:
            use(sys.argv[1], build_environment(home), Path(scratch) / "fleet")
        except SmokeError as error:
            print(f"smoke: {error}", file=sys.stderr)
            return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
