"""Which version of a file history can bring back."""

from __future__ import annotations

from pathlib import Path

from register.git.blobs import hash_blob
from register.git.wrapper import read_marker, run_git
from register.storage.writing import check_inside

#: So many versions of a file are looked at, newest first.
_MOST = 20


def find_other_version(root: Path, path: str, data: bytes | None) -> str | None:
    """The newest version of a file that is not what stands there now.

    "" where it is that of the branch's tip, else the commit that holds it; None where
    history has none. `data` is what stands there, None where that is no file at all.
    """
    check_inside(path)
    marker = read_marker(root)
    if marker is None:
        return None
    ref = f"refs/heads/{marker.branch}"
    if not run_git(root, ["for-each-ref", "--format=%(objectname)", ref]).strip():
        return None
    said = run_git(root, ["log", f"--max-count={_MOST}", "--format=%H", ref, "--", path])
    for number, commit in enumerate(said.decode("ascii").split()):
        held = run_git(root, ["ls-tree", "-z", "--full-tree", commit, "--", path]).split()
        if len(held) < 3 or held[1] != b"blob":
            continue
        id_ = held[2].decode("ascii")
        if data is None or hash_blob(data, id_) != id_:
            return commit[:12] if number else ""
    return None
