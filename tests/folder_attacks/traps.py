"""A fleet whose git folder is out to run something, and a line for every command.

Import what you need: `from folder_attacks.traps import COMMAND_LINES, set_traps`.
"""

from __future__ import annotations

import subprocess
from pathlib import Path
from textwrap import dedent

from event_fleet import FILES

#: A picture of the example's, and no handover file.
PICTURE = next((Path(__file__).parents[2] / "register/example/as_built").glob("*.png"))
SNAG = "s0nagaaaaa"
SNAG_FILE = f"aircraft/heron/events/2026/05/2026-05-09-snag-{SNAG}.yaml"
HERON = "aircraft/heron/aircraft.yaml"
MORE_FILES = {
    HERON: dedent(FILES[HERON]) + "air: {gear-air: {volume_ml: 300}}\n",
    SNAG_FILE: f"""
        record: "snag"
        id: "{SNAG}"
        when: "2026-05-09"
        aircraft: "heron"
        text: "chip on the left leading edge"
        severity: "limiting"
        """,
}
ALL_FILES = {**FILES, **MORE_FILES}

#: One line for each command, which on a sound fleet is answered.
READING: dict[str, tuple[str, ...]] = {
    "due": ("due", "--all"),
    "flyday": ("flyday", "--card"),
    "history": ("history", "heron"),
    "why": ("why", "heron", "flights"),
    "fleet": ("fleet",),
    "parts": ("parts", "sv-22"),
    "kit": ("kit",),
    "programme": ("programme", "jet"),
    "papers": ("papers",),
    "worklist": ("worklist", "heron"),
    "fasteners": ("fasteners", "heron"),
    "notices": ("notices",),
    "balance": ("balance", "heron"),
    "cure": ("cure",),
    "damage": ("damage", "heron"),
    "throws": ("throws", "heron"),
    "faults": ("faults",),
    "trend": ("trend",),
    "season": ("season",),
    "report": ("report",),
    "stock": ("stock",),
    "sync": ("sync", "--list"),
    "check": ("check",),
}
WRITING: dict[str, tuple[str, ...]] = {
    "fly": ("fly", "heron", "2", "--minutes", "16"),
    "day": ("day",),
    "charge": ("charge", "pk-04"),
    "snag": ("snag", "heron", "screw broke, rear hatch", "--severity", "limiting"),
    "fix": ("fix", SNAG, "filled and painted"),
    "done": ("done", "link-check", "heron", "--reading", "thread=2"),
    "swap": ("swap", "sv-22", "sv-31"),
    "install": ("install", "sv-31", "kestrel", "aileron-servo-left"),
    "remove": ("remove", "sv-22"),
    "condition": ("condition", "sv-31", "quarantined", "--reason", "noisy"),
    "reading": ("reading", "heron", "play-mm=1.1mm"),
    "engine-run": ("engine-run", "tu-07", "5"),
    "incident": ("incident", "heron", "hard-landing"),
    "defer": ("defer", SNAG, "--reason", "cosmetic", "--flights", "3"),
    "layup": ("layup", "heron"),
    "aircraft": ("aircraft", "merlin", "--programme", "jet"),
    "amend": ("amend", "f1rstaaaaa", "count=3"),
    "withdraw": ("withdraw", "f1rstaaaaa", "--reason", "typed twice"),
    "save": ("save",),
    "jobs": ("jobs", "heron", "seal the rear hatch"),
    "modify": ("modify", "heron", "steel dowel for the wooden one"),
    "leak": ("leak", "heron", "gear-air", "7.6@20/10:00", "7.5@20/10:30"),
    "attach": ("attach", "heron", str(PICTURE)),
}
KEEPING: dict[str, tuple[str, ...]] = {
    "handover": ("handover", "heron"),
    "receive": ("receive", str(PICTURE)),
    "init": ("init", "another"),
    "doctor": ("doctor",),
    "adopt": ("adopt", "--yes"),
}
COMMAND_LINES = {**READING, **WRITING, **KEEPING}

HOOKS = (
    "applypatch-msg", "commit-msg", "fsmonitor-watchman", "post-applypatch", "post-checkout",
    "post-commit", "post-index-change", "post-merge", "post-receive", "post-rewrite",
    "post-update", "pre-applypatch", "pre-auto-gc", "pre-commit", "pre-merge-commit", "pre-push",
    "pre-rebase", "pre-receive", "prepare-commit-msg", "proc-receive", "push-to-checkout",
    "reference-transaction", "sendemail-validate", "update",
)  # fmt: skip

PROGRAMS = """
[core]
\tfsmonitor = {run}
\thooksPath = {hooks}
\teditor = {run}
\tpager = {run}
\tsshCommand = {run}
\taskPass = {run}
\tgitProxy = {run}
\talternateRefsCommand = {run}
\tattributesFile = {attributes}
[sequence]
\teditor = {run}
[filter "evil"]
\tclean = {run}
\tsmudge = {run}
\tprocess = {run}
\trequired = true
[diff]
\texternal = {run}
[diff "evil"]
\tcommand = {run}
\ttextconv = {run}
[merge "evil"]
\tdriver = {run}
[commit]
\tgpgSign = true
[tag]
\tgpgSign = true
[log]
\tshowSignature = true
[gpg]
\tprogram = {run}
[gpg "ssh"]
\tprogram = {run}
\tdefaultKeyCommand = {run}
[interactive]
\tdiffFilter = {run}
[credential]
\thelper = !{run}
[remote "origin"]
\turl = ext::{run}
\tpromisor = true
\tuploadpack = {run}
\treceivepack = {run}
[protocol "ext"]
\tallow = always
[uploadpack]
\tpackObjectsHook = {run}
[extensions]
\tpartialClone = origin
"""
GIT_WORDS = (
    "cat-file", "config", "fast-import", "for-each-ref", "fsck", "hash-object", "init", "log",
    "ls-files", "ls-tree", "read-tree", "rev-list", "rev-parse", "status", "symbolic-ref",
    "update-index", "update-ref", "var", "version", "write-tree",
)  # fmt: skip


def write_run(folder: Path) -> tuple[Path, Path]:
    """A program that leaves a sign, and the sign."""
    canary = folder / "it-ran"
    run = folder / "run"
    run.write_text(f"#!/bin/sh\ntouch {canary}\nexit 1\n", "utf-8")
    run.chmod(0o755)
    return run, canary


def set_traps(fleet: Path, run: Path) -> None:
    """Every program of git's that a repository can name, set to `run`."""
    git = fleet / ".git"
    (git / "hooks").mkdir(exist_ok=True)
    for name in HOOKS:
        (git / "hooks" / name).symlink_to(run)
    (git / "info").mkdir(exist_ok=True)
    attributes = run.parent / "attributes"
    for path in (fleet / ".gitattributes", git / "info/attributes", attributes):
        path.write_text("* filter=evil diff=evil merge=evil\n", "utf-8")
    text = PROGRAMS.format(run=run, hooks=git / "hooks", attributes=attributes)
    words = "".join(f"\t{word} = !{run}\n" for word in GIT_WORDS)
    pagers = "".join(f"\t{word} = {run}\n" for word in GIT_WORDS)
    included = run.parent / "included"
    included.write_text(text, "utf-8")
    with (git / "config").open("a", encoding="utf-8") as file:
        file.write(f"{text}[alias]\n{words}[pager]\n{pagers}[include]\n\tpath = {included}\n")


def set_redirects(fleet: Path, run: Path) -> None:
    """Every setting that leads elsewhere: another work tree, other objects, other settings."""
    git = fleet / ".git"
    lender = run.parent / "lender"
    subprocess.run(["git", "init", "-q", "--bare", str(lender)], check=True)
    (git / "objects/info").mkdir(parents=True, exist_ok=True)
    (git / "objects/info/alternates").write_text(f"{lender}/objects\n", "utf-8")
    with (git / "config").open("a", encoding="utf-8") as file:
        file.write("[core]\n\tworktree = /\n[extensions]\n\tworktreeConfig = true\n")
    (git / "config.worktree").write_text(
        PROGRAMS.format(run=run, hooks=git / "hooks", attributes="/dev/null"), "utf-8"
    )
