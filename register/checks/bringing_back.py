"""The line that brings back a file that stands there and cannot be read."""

from __future__ import annotations

import shlex
from collections.abc import Collection, Iterable, Iterator, Mapping
from pathlib import Path

from msgspec.structs import replace

from register.storage.folder import exists as stands
from register.trouble import Problem, RegisterError

#: Nothing of the file is left to mend: it can only be brought back, or written anew.
_NOTHING_LEFT = ("yaml-empty", "file-gone", "file-not-read")


def find_way_back(root: Path, path: str, data: bytes | None, otherwise: str = "") -> str:
    """What to type for a file that cannot be read; `data` is what stands there, if anything.

    `otherwise` is the mend where history has no other version of it.
    """
    from register.git.bringing_back import find_other_version

    try:
        found = find_other_version(root, path, data)
    except RegisterError:
        found = None
    if found is None:
        return otherwise or _what_to_write(path)
    line = f"git checkout {found + ' ' if found else ''}-- {shlex.quote(path)}"
    if data:
        return f"{line}   brings the last version back, and loses what stands in it"
    if data is None and stands(root, path):
        return f"{line}   brings it back, once the folder of that name is empty"
    return f"{line}   brings it back"


def _what_to_write(path: str) -> str:
    top, _, rest = path.partition("/")
    name = rest.partition("/")[0].removesuffix(".yaml")
    key = 'kind: "servo"' if top == "parts" else f'title: "{name}"'
    return f"write  {key}   in {path}, with all else that is known"


def check_ways_back(
    root: Path, sources: Mapping[str, bytes], found: Iterable[Problem]
) -> tuple[Problem, ...]:
    """The same problems, those of files with nothing left in them with the line for it.

    That such a file is not in history as it stands says nothing more.
    """
    listed = tuple(found)
    lost = {p.place.file for p in listed if p.code in _NOTHING_LEFT and p.level == "error"}
    return tuple(_brought_back(root, sources, lost, listed))


def _brought_back(
    root: Path, sources: Mapping[str, bytes], lost: Collection[str], found: Iterable[Problem]
) -> Iterator[Problem]:
    for problem in found:
        path = problem.place.file
        if path not in lost or not path.endswith(".yaml"):
            yield problem
        elif problem.code in _NOTHING_LEFT:
            # Of a link or a folder, and of an event, their own mend says more.
            says_more = problem.code == "file-not-read" or "/events/" in path
            otherwise = problem.mend if says_more else ""
            mend = find_way_back(root, path, sources.get(path), otherwise)
            yield replace(problem, mend=mend)
        elif problem.code != "not-in-history":
            yield problem
