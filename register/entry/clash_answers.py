"""Settling a clash: which of two values holds, or a third one."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import Decimal, InvalidOperation

from msgspec import Struct

from register.checks.clashes import tell_side
from register.entry.clerk import Clerk, Plan
from register.entry.naming import match_name
from register.records.clashes import ClashFile
from register.storage.writing import FileChange
from register.text.editing import edit_set
from register.text.nodes import Plain
from register.text.placing import put_value, take_value
from register.trouble import Exit, RegisterError

_BLOB = re.compile(r"blob ([0-9a-f]{40}(?:[0-9a-f]{24})?)")


class Answer(Struct, frozen=True):
    """What was typed, held to an open clash. `side` is None for a third value, in `words`."""

    clash: ClashFile
    side: int | None
    words: str

    @property
    def has(self) -> bool:
        """Whether the side chosen has a value at all."""
        return self.side is None or (self.clash.has_one if self.side == 1 else self.clash.has_two)

    @property
    def value(self) -> Plain:
        """The value chosen."""
        if self.side is None:
            return _read_value(self.clash, self.words)
        return self.clash.one if self.side == 1 else self.clash.two

    @property
    def removes(self) -> bool:
        """Whether the answer is that the file goes."""
        return not self.clash.key and not self.has

    @property
    def blob(self) -> str | None:
        """The id of git's object where the clash names one in place of a whole file's bytes."""
        found = _BLOB.fullmatch(str(self.value)) if not self.clash.key and self.has else None
        return found[1] if found else None


def read_answer(clerk: Clerk, typed: str, choice: str) -> Answer:
    """The clash meant, and 1, 2, or the words of a third value (`=1` for the value 1).

    Raises RegisterError: USAGE for an unknown clash, REFUSED for one that is settled.
    """
    clashes = clerk.ledger.records.clashes
    if not clashes:
        raise RegisterError(
            "no clash is open", mend="tailsheaf check", exit_code=Exit.USAGE, code="clash-unknown"
        )
    clash = clashes[match_name(typed, clashes, "clash", add="tailsheaf check   lists them")]
    if clash.settled is not None:
        raise RegisterError(
            f"clash {clash.id} is settled already ({clash.settled})",
            mend=f"edit {clash.file} by hand, then: tailsheaf save {clash.file}",
            exit_code=Exit.REFUSED,
            code="clash-settled",
        )
    if choice in ("1", "2"):
        return Answer(clash, int(choice), choice)
    if not clash.key:
        raise RegisterError(
            f"two whole files of {clash.file} are in question: the answer is 1 or 2",
            mend=f"tailsheaf sync --settle {clash.id[:6]} {clash.stands}",
            exit_code=Exit.USAGE,
            code="clash-whole",
        )
    return Answer(clash, None, choice.removeprefix("="))


def plan_settling(clerk: Clerk, answer: Answer, whole: bytes | None = None) -> Plan:
    """Write the value chosen into its file, and the answer into the clash.

    `whole` are the bytes of a file that git holds (`Answer.blob`). A file that goes is removed
    before. Raises RegisterError (REFUSED `clash-gone`) where the place is there no more.
    """
    clash = answer.clash
    before = clerk.sources.get(clash.file)
    said = str(answer.side or f"by hand: {answer.words}")
    answered = edit_set(clash.path, clerk.sources[clash.path], ("settled",), said)
    changes = [FileChange(clash.path, clerk.sources[clash.path], answered)]
    changes.extend(_answer_others(clerk, clash))
    if not answer.removes:
        after = _change(answer, before, whole)
        if after != before:
            changes.append(FileChange(clash.file, before, after))
    shown = tell_side(clash, answer.side) if answer.side else answer.words
    return Plan(
        tuple(changes),
        f"Settle a clash in {clash.file}",
        (f"settled: {clash.what} is {shown}",),
    )


def _answer_others(clerk: Clerk, clash: ClashFile) -> Iterator[FileChange]:
    """Whatever else is asked about the same place is answered with it."""
    for other in clerk.ledger.records.clashes.values():
        same = (other.file, other.key) == (clash.file, clash.key)
        if same and other.id != clash.id and other.settled is None:
            data = clerk.sources[other.path]
            said = edit_set(other.path, data, ("settled",), f"with {clash.id}")
            yield FileChange(other.path, data, said)


def _change(answer: Answer, before: bytes | None, whole: bytes | None) -> bytes:
    """The bytes of the file with the value chosen."""
    clash = answer.clash
    if not clash.key:
        return whole if whole is not None else str(answer.value).encode("utf-8")
    if before is None:
        raise _gone(clash)
    try:
        if answer.has:
            return put_value(clash.file, before, clash.key, answer.value)
        return take_value(clash.file, before, clash.key)
    except LookupError as error:
        raise _gone(clash) from error


def _read_value(clash: ClashFile, words: str) -> Plain:
    """What was typed, of the kind that both sides are of."""
    sides = [value for value in (clash.one, clash.two) if value is not None]
    if any(isinstance(value, (list, dict)) for value in sides):
        raise RegisterError(
            f"{clash.what} holds more than one value: the answer is 1 or 2",
            mend=f"tailsheaf sync --settle {clash.id[:6]} {clash.stands}   then edit by hand",
            exit_code=Exit.USAGE,
            code="clash-whole",
        )
    if sides and all(isinstance(value, bool) for value in sides):
        if words.lower() in ("true", "false"):
            return words.lower() == "true"
        raise _not_a(clash, words, "true or false")
    if sides and all(isinstance(value, (int, Decimal)) for value in sides):
        try:
            number = Decimal(words)
        except InvalidOperation as error:
            raise _not_a(clash, words, "a number") from error
        if not number.is_finite():
            raise _not_a(clash, words, "a number")
        return int(number) if number == number.to_integral_value() else number
    return words


def _not_a(clash: ClashFile, words: str, what: str) -> RegisterError:
    return RegisterError(
        f"{words[:40]!a} is not {what}, as both sides of {clash.what} are",
        mend=f"tailsheaf sync --settle {clash.id[:6]} {clash.stands}",
        exit_code=Exit.USAGE,
        code="value-kind",
    )


def _gone(clash: ClashFile) -> RegisterError:
    return RegisterError(
        f"{clash.what} is not there any more",
        mend=f'edit {clash.file} by hand, then set  settled: "by hand"  in {clash.path}',
        exit_code=Exit.REFUSED,
        code="clash-gone",
    )
