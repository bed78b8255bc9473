"""Build the counting library and run one command line under it, one fault at one call."""

from __future__ import annotations

import atexit
import ctypes
import errno
import functools
import mmap
import os
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

SOURCE = Path(__file__).with_name("counting.c")
SCRIPT = Path(sys.executable).with_name("tailsheaf")
FORKS = "FAULT_FORKS"
LIBRARY = "FAULT_LIBRARY"
"""In a worker: that its runs are forks, and the library its parent built."""

LONGEST = 120.0
"""Seconds after which a command under a fault is taken to hang."""

# The words of counting.c's shared memory.
_CALLS, _FIRED, _PIDS, _UNSAFE = 0, 1, 2, 3
_PID, _OP, _INODE, _WORDS = 16, 1024, 8192, 32768
_MOST_OPS = 4096


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of fault: its name, its number in counting.c, the error it gives.

    `ops` are the calls it makes sense at (empty: all), `cut` whether what was
    not flushed is lost as well.
    """

    name: str
    number: int
    error: int = 0
    ops: str = ""
    cut: bool = False


COUNT = Kind("none", 0)
KINDS = (
    Kind("kill before", 1),
    Kind("kill after", 2),
    Kind("torn write, kill", 3, ops="w"),
    Kind("short write", 6, ops="w"),
    Kind("ENOSPC once", 4, errno.ENOSPC),
    Kind("ENOSPC from then on", 5, errno.ENOSPC),
    Kind("EIO once", 4, errno.EIO),
    Kind("EROFS from then on", 5, errno.EROFS),
    Kind("no hard links, kill", 7),
    Kind("power cut", 1, cut=True),
    Kind("power cut in a torn write", 3, ops="w", cut=True),
)


@dataclass(frozen=True, slots=True)
class Ran:
    """What a command under a fault did. `code` is negative where it was killed."""

    code: int
    out: str
    err: str
    ops: str
    fired: bool

    @property
    def killed(self) -> bool:
        """Whether it had no chance to say anything."""
        return self.code < 0


def quick_folder() -> str | None:
    """Return a folder in memory, or None for the usual one: each run copies a fleet."""
    memory = Path("/dev") / "shm"
    return str(memory) if os.access(memory, os.W_OK) else None


@functools.cache
def build_library() -> Path:
    """Compile counting.c, once per session; without a compiler that is a failure."""
    if LIBRARY in os.environ:
        return Path(os.environ[LIBRARY])
    compiler = shutil.which("gcc") or shutil.which("cc")
    if compiler is None or not sys.platform.startswith("linux"):
        raise AssertionError(
            "the fault tests need Linux and a C compiler: install gcc "
            "(Debian: apt-get install gcc libc6-dev); they are never skipped"
        )
    folder = tempfile.mkdtemp(prefix="tailsheaf-counting-")
    atexit.register(shutil.rmtree, folder)
    made = Path(folder) / "counting.so"
    command = [compiler, "-std=gnu11", "-O1", "-Wall", "-shared", "-fPIC", str(SOURCE), "-ldl"]
    done = subprocess.run([*command, "-o", str(made)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"counting.c does not compile:\n{done.stderr}"
    return made


def run_faulted(
    root: Path,
    words: Sequence[str],
    kind: Kind,
    at: int,
    surroundings: Mapping[str, str],
    inside: str = "",
) -> Ran:
    """Run a command line in `root`, in a process group of its own, with one fault.

    Calls below `root` are counted; the line is typed in its folder `inside`. It is the
    console script; in a process that was itself started under the library (FAULT_FORKS)
    it is a fork that calls the script's entry point.
    """
    with tempfile.TemporaryDirectory(dir=quick_folder()) as beside:
        shared = Path(beside) / "shared"
        shared.write_bytes(bytes(_WORDS * 8))
        env = {
            **surroundings,
            "LD_PRELOAD": str(build_library()),
            "FAULT_SHARED": str(shared),
            "FAULT_ROOT": str(root.resolve()),
            "FAULT_KIND": str(kind.number),
            "FAULT_AT": str(at),
            "FAULT_ERRNO": str(kind.error),
        }
        start = _fork if FORKS in os.environ else _start
        with shared.open("r+b") as file, mmap.mmap(file.fileno(), 0) as memory:
            code, out, err = _run(start, root / inside, words, env, Path(beside))
            view = memoryview(memory).cast("q")
            try:
                _wait_for_dead([view[_PID + n] for n in range(min(view[_PIDS], 512))])
                if kind.cut and view[_FIRED]:
                    _lose(root, _unsafe(view))
                calls = min(view[_CALLS], _MOST_OPS)
                ops = "".join(chr(view[_OP + n]) for n in range(calls))
                return Ran(code, out, err, ops, bool(view[_FIRED]))
            finally:
                view.release()


def _run(
    start: Callable[[Path, Sequence[str], Mapping[str, str], Path], int],
    folder: Path,
    words: Sequence[str],
    env: Mapping[str, str],
    beside: Path,
) -> tuple[int, str, str]:
    """Files take the output: a git child that lives on must not keep a pipe open."""
    pid = start(folder, words, env, beside)
    until = time.monotonic() + LONGEST
    while not (ended := os.waitpid(pid, os.WNOHANG))[0]:
        if time.monotonic() > until:
            os.killpg(pid, signal.SIGKILL)
            os.waitpid(pid, 0)
            raise AssertionError(f"{words} did not end within {LONGEST} s")
        time.sleep(0.002)
    code = os.waitstatus_to_exitcode(ended[1])
    return code, (beside / "out").read_text("utf-8"), (beside / "err").read_text("utf-8")


def _start(folder: Path, words: Sequence[str], env: Mapping[str, str], beside: Path) -> int:
    """Start the console script as its owner does."""
    assert SCRIPT.is_file(), f"{SCRIPT} is not there: pip install -e ."
    flags = os.O_WRONLY | os.O_CREAT
    return os.posix_spawn(
        "/usr/bin/env",
        ["env", "-C", str(folder), str(SCRIPT), *words],
        dict(env),
        file_actions=[
            (os.POSIX_SPAWN_OPEN, 0, os.devnull, os.O_RDONLY, 0),
            (os.POSIX_SPAWN_OPEN, 1, str(beside / "out"), flags, 0o600),
            (os.POSIX_SPAWN_OPEN, 2, str(beside / "err"), flags, 0o600),
        ],
        setsid=True,
    )


def _fork(folder: Path, words: Sequence[str], env: Mapping[str, str], beside: Path) -> int:
    """Call the entry point in a fork: a third of the time, for thousands of runs."""
    pid = os.fork()
    if pid:
        return pid
    code = 99
    try:
        os.setsid()
        os.chdir(folder)
        for number, name in ((1, "out"), (2, "err")):
            os.dup2(os.open(beside / name, os.O_WRONLY | os.O_CREAT, 0o600), number)
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        sys.stdin = os.fdopen(0, encoding="utf-8", closefd=False)
        sys.stdout = os.fdopen(1, "w", encoding="utf-8", closefd=False)
        sys.stderr = os.fdopen(2, "w", encoding="utf-8", closefd=False)
        os.environ.clear()
        os.environ.update(env)
        tempfile.tempdir = None
        sys.argv = [str(SCRIPT), *words]
        ctypes.CDLL(env["LD_PRELOAD"]).begin_counting()
        code = _call_entry_point()
        sys.stdout.flush()
        sys.stderr.flush()
    finally:
        os._exit(code)


def _call_entry_point() -> int:
    from cli.main import run

    try:
        run()
    except SystemExit as ended:
        return int(ended.code or 0)
    return 0


def _unsafe(view: memoryview) -> set[int]:
    """Inodes that hold bytes never flushed."""
    pairs = [(view[_INODE + 2 * n], view[_INODE + 2 * n + 1]) for n in range(view[_UNSAFE])]
    return {inode for inode, unsafe in pairs if unsafe}


def _wait_for_dead(pids: Sequence[int]) -> None:
    """A killed group's members die one after another; none may write any more."""
    for pid in pids:
        until = time.monotonic() + 10
        while _lives(pid):
            assert time.monotonic() < until, f"process {pid} does not die"
            time.sleep(0.002)


def _lives(pid: int) -> bool:
    try:
        status = Path(f"/proc/{pid}/stat").read_text("utf-8", "replace")
    except (FileNotFoundError, ProcessLookupError):
        return False
    return status.rpartition(")")[2].split()[0] not in "ZX"


def _lose(root: Path, inodes: set[int]) -> None:
    """Empty every file written since its last flush, as a power cut may."""
    for folder, _, names in os.walk(root):
        for name in names:
            path = Path(folder, name)
            status = path.lstat()
            if status.st_ino in inodes and stat.S_ISREG(status.st_mode):
                os.truncate(path, 0)
