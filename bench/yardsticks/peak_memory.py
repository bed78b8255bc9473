"""Run a command and say the most memory it or a process it started had, in KiB.

A process starts with its parent's peak, so this one must stay smaller than what it measures:
run it with `python -I -S`.
"""

from __future__ import annotations

import os
import sys

quiet = os.open(os.devnull, os.O_WRONLY)
child = os.posix_spawn(
    sys.argv[1],
    sys.argv[1:],
    os.environ,
    file_actions=[(os.POSIX_SPAWN_DUP2, quiet, 1), (os.POSIX_SPAWN_DUP2, quiet, 2)],
)
_, status, usage = os.wait4(child, 0)
sys.stdout.write(f"{usage.ru_maxrss}\n")
sys.exit(os.waitstatus_to_exitcode(status))
