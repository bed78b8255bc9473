"""Edits by hand that the fleet's history does not hold yet."""

from __future__ import annotations

import shlex
from collections.abc import Collection, Iterator, Mapping
from pathlib import Path

from register.storage.gathered import SourceFile
from register.trouble import Place, Problem, RegisterError


def check_history(
    root: Path, sources: Mapping[str, bytes], broken: Collection[str] = ()
) -> Iterator[Problem]:
    """Files whose present text is not in history, and files that are gone from the disk.

    A file in `broken` should rather be taken back than saved.
    Nothing where the folder has no history of its own: git is not asked there.
    """
    from register.git.history import paths_not_in_history

    files = [SourceFile(path, data) for path, data in sources.items()]
    try:
        paths = paths_not_in_history(root, files)
    except RegisterError as error:
        yield Problem(
            Place("fleet.yaml"),
            "history-not-asked",
            f"the history could not be asked: {error.says.partition(': ')[0]}",
            error.mend,
            "warning",
        )
        return
    for path in paths:
        gone = path not in sources
        yield Problem(
            Place(path),
            "not-in-history",
            "this file is in the history and gone from the folder"
            if gone
            else "this file counts as it stands, and the history does not have it yet",
            f"git checkout -- {shlex.quote(path)}   takes it back as the history has it"
            if path in broken
            else f"tailsheaf save {shlex.quote(path)}",
            "warning",
        )
