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

    A file in `broken` is not to be saved as it is: its own error comes first.
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
            _mend(path, is_broken=path in broken, is_gone=gone),
            "warning",
        )


def _mend(path: str, *, is_broken: bool, is_gone: bool) -> str:
    quoted = shlex.quote(path)
    save, back = f"tailsheaf save {quoted}", f"git checkout -- {quoted}"
    if is_gone:
        return f"{back}   brings it back;  {save}   lets it go"
    if is_broken:
        # What stands in it may be an evening's typing: going back is said with its price.
        return f"first what is wrong in it, then  {save}   ({back}   loses your edits)"
    return save
