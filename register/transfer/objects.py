"""The texts of git's objects: names and words, without ids, which look like anything."""

from __future__ import annotations

import re
from base64 import b64decode
from collections.abc import Iterable, Iterator, Mapping, Sequence

from register.transfer.masking import Tokens
from register.transfer.scanning import BYTES, RECORD, TEXT, Leak, Scanner
from register.trouble import Exit, RegisterError

#: A picture inside a page. As letters it would hold any short word sooner or later.
_INNER = re.compile(
    rb"(?<=;base64,)(?:[A-Za-z0-9+/]{4}){64,}(?:[A-Za-z0-9+/]{2}==|[A-Za-z0-9+/]{3}=)?"
)

#: An entry of a tree: mode, name, and an id of SHA-1; this program makes no other repository
#: for a handover.
_ENTRY = re.compile(rb"([0-7]+) ([^\0]+)\0[\s\S]{20}")
_BESIDE_NAMES = len(b" \0") + 20


def texts_of(kind: str, data: bytes) -> bytes:
    """What a person could read in an object: a blob whole, names of a tree, words of a commit."""
    if kind == "tree":
        return b"\n".join(_names(data))
    if kind in ("commit", "tag"):
        head, _, words = data.partition(b"\n\n")
        kept = [
            line
            for line in head.split(b"\n")
            if not line.startswith((b"tree ", b"parent ", b"object "))
        ]
        return b"\n".join([*kept, words])
    return data


def _names(data: bytes) -> list[bytes]:
    entries = _ENTRY.findall(data)
    names = [name for _, name in entries]
    told = sum(map(len, names)) + sum(len(mode) for mode, _ in entries)
    if told + _BESIDE_NAMES * len(entries) != len(data):
        # No tree that git itself would take: searched as it is.
        return [data]
    return names


def scan_objects(
    objects: Iterable[tuple[str, bytes]], reachable: int, tokens: Tokens
) -> list[Leak]:
    """Search every object, reachable or not; one that nothing leads to is a leak as well."""
    scanner = Scanner(tokens)
    count = 0

    def pieces() -> Iterator[tuple[str, bytes, str]]:
        nonlocal count
        for kind, data in objects:
            count += 1
            what = TEXT if kind != "blob" else BYTES if is_picture(data) else RECORD
            yield kind, texts_of(kind, data), what

    leaks = scanner.scan_all(pieces())
    if count != reachable:
        leaks.append(Leak("", "repository", "an object that no record leads to"))
    return leaks


def is_picture(data: bytes) -> bool:
    """Whether bytes are those of a picture as this program keeps them."""
    return data.startswith((b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n"))


def scan_texts(members: Mapping[str, bytes], tokens: Tokens) -> list[Leak]:
    """Search what lies beside the history in the file."""
    scanner = Scanner(tokens)
    leaks: list[Leak] = []
    for name, data in members.items():
        for picture in _INNER.findall(data):
            leaks.extend(scanner.scan(name, b64decode(picture), BYTES))
        leaks.extend(scanner.scan(name, _INNER.sub(b"", data)))
    return leaks


def refuse_leaks(leaks: Sequence[Leak]) -> None:
    """Raises RegisterError (REFUSED `leak`) where there is one; it does not repeat the value."""
    if leaks:
        found = ", ".join(sorted({f"{leak.form} in a {leak.where}" for leak in leaks})[:4])
        raise RegisterError(
            f"the leak scan found {len(leaks)} private value(s) in what was to go ({found}); "
            "nothing was written",
            mend="tailsheaf handover AIRCRAFT   shows every text that would go, and the line of "
            "private.yaml that leaves words out",
            exit_code=Exit.REFUSED,
            code="leak",
        )
