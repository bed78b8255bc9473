"""What is kept between commands: disposable, and never needed for an answer.

Values under names in `.git/tailsheaf/answers`, each sealed with a key that lies outside
the fleet. All of it is thrown away with another program, a broken seal or no key.
"""

from __future__ import annotations

import gc
import pickle
import sys
from dataclasses import dataclass
from hashlib import blake2b
from pathlib import Path

from register.storage import answers


@dataclass(frozen=True)
class Kept:
    """The kept values of one fleet, and the program under which they hold."""

    root: Path
    key: bytes | None
    program: bytes

    def load(self, name: str) -> object:
        """The value kept under a name, or None where there is none that holds."""
        if self.key is None:
            return None
        body = answers.read_sealed(str(self.root), name, self.key)
        if body is None or not body.startswith(self.program):
            return None
        collecting = gc.isenabled()
        gc.disable()
        try:
            return unpack(body[len(self.program) :])
        finally:
            if collecting:
                gc.enable()

    def store(self, name: str, value: object) -> None:
        """Keep a value, or with None take away what was kept. Failing to is no harm."""
        if self.key is None:
            return
        body = None
        if value is not None:
            body = self.program + pack(value)
        answers.write_sealed(str(self.root), name, self.key, body)


def open_kept(root: Path, key_path: str | None, packages: tuple[str, ...]) -> Kept:
    """What is kept for a fleet; nothing is, without a key or in a folder that is not ours."""
    if key_path is None or not answers.is_ours(str(root)):
        return Kept(root, None, b"")
    key = answers.read_key(key_path) or answers.make_key(key_path)
    program = answers.stamp_program(packages) + sys.version.encode()
    return Kept(root, key, program)


def name_of(kind: str, what: str) -> str:
    """A name to keep something under that a file can have."""
    return f"{kind}-{blake2b(what.encode('utf-8', 'surrogatepass'), digest_size=8).hexdigest()}"


def pack(value: object) -> bytes:
    """A value as bytes."""
    return pickle.dumps(value, pickle.HIGHEST_PROTOCOL)


def unpack(data: bytes) -> object:
    """What was packed, or None. Only for what came from under a seal: else it may do anything."""
    try:
        found: object = pickle.loads(data)
    except Exception:
        # Whatever is wrong with it, it can be made again.
        return None
    return found
