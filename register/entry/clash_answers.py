"""Settling a clash: which of two values holds, or a third one."""

from __future__ import annotations

from register.checks.clashes import tell_side
from register.entry.clerk import Clerk, Plan
from register.entry.naming import match_name
from register.records.clashes import ClashFile
from register.storage.writing import FileChange
from register.text.document import open_document, read_plain
from register.text.editing import edit_append, edit_remove, edit_set
from register.text.items import locate
from register.text.nodes import Plain
from register.trouble import Exit, RegisterError


def plan_settling(clerk: Clerk, typed: str, choice: str) -> Plan:
    """Answer an open clash with 1, 2, or the words of a third value.

    Raises RegisterError: USAGE for an unknown clash, REFUSED for one that is settled, and where
    the answer is to remove a whole file.
    """
    clashes = clerk.ledger.records.clashes
    clash = clashes[match_name(typed, clashes, "clash", add="tailsheaf check   lists them")]
    if clash.settled is not None:
        raise RegisterError(
            f"clash {clash.id} is settled already ({clash.settled})",
            mend=f"edit {clash.file} by hand, then: tailsheaf save {clash.file}",
            exit_code=Exit.REFUSED,
            code="clash-settled",
        )
    side = int(choice) if choice in ("1", "2") else None
    before = clerk.sources.get(clash.file)
    after = _answer(clash, before, side, choice)
    answered = edit_set(
        clash.path, clerk.sources[clash.path], ("settled",), str(side or f"by hand: {choice}")
    )
    said = tell_side(clash, side) if side else choice
    changes = [FileChange(clash.path, clerk.sources[clash.path], answered)]
    if after != before:
        changes.append(FileChange(clash.file, before, after))
    return Plan(
        tuple(changes),
        f"Settle a clash in {clash.file}",
        (f"settled: {clash.what} is {said}",),
    )


def _answer(clash: ClashFile, before: bytes | None, side: int | None, words: str) -> bytes:
    """The file with the value that was chosen."""
    has, value = (clash.has_one, clash.one) if side == 1 else (clash.has_two, clash.two)
    if not clash.key:
        return _answer_whole(clash, before, side, value if has else None)
    if before is None:
        raise _gone(clash)
    data = before
    try:
        path = locate(read_plain(open_document(clash.file, data).root), clash.key)
    except LookupError as error:
        raise _gone(clash) from error
    if side is None:
        return edit_set(clash.file, data, path, words)
    there = not isinstance(path[-1], str) or _has(clash, data, path)
    if has:
        if isinstance(path[-1], str) and _is_list_item(clash, data, path):
            return edit_append(clash.file, data, path[:-1], value)
        return edit_set(clash.file, data, path, value)
    return edit_remove(clash.file, data, path) if there else data


def _answer_whole(clash: ClashFile, before: bytes | None, side: int | None, value: Plain) -> bytes:
    if side is None or before is None:
        raise _gone(clash)
    if value is None:
        raise RegisterError(
            f"side {side} of clash {clash.id} is the file's removal, which is done by hand",
            mend=f"rm {clash.file}   then: tailsheaf save {clash.file}",
            exit_code=Exit.REFUSED,
            code="clash-removal",
        )
    text = str(value)
    if text.startswith("blob "):
        # A picture: git has both, and the folder keeps the one that stands.
        if side == clash.stands:
            return before
        raise RegisterError(
            f"the other {clash.file} is not on the disk",
            mend=f"git cat-file {text} > {clash.file}   then: tailsheaf save {clash.file}",
            exit_code=Exit.REFUSED,
            code="clash-removal",
        )
    return text.encode("utf-8")


def _has(clash: ClashFile, data: bytes, path: tuple[str | int, ...]) -> bool:
    holder = _at(clash, data, path[:-1])
    return isinstance(holder, dict) and path[-1] in holder


def _is_list_item(clash: ClashFile, data: bytes, path: tuple[str | int, ...]) -> bool:
    return isinstance(_at(clash, data, path[:-1]), list)


def _at(clash: ClashFile, data: bytes, path: tuple[str | int, ...]) -> Plain:
    found: Plain = read_plain(open_document(clash.file, data).root)
    for part in path:
        if isinstance(found, list) and isinstance(part, int):
            found = found[part]
        elif isinstance(found, dict) and isinstance(part, str):
            found = found.get(part)
    return found


def _gone(clash: ClashFile) -> RegisterError:
    return RegisterError(
        f"{clash.what} is not there any more",
        mend=f'edit {clash.file} by hand, then set  settled: "by hand"  in {clash.path}',
        exit_code=Exit.REFUSED,
        code="clash-gone",
    )
