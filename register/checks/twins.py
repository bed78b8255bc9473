"""Two things that got one name on two machines: both are here, one with its id behind the name."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from register.checks.survey import warn
from register.records.gathering import Records
from register.records.names import name_before
from register.records.standing_files import AircraftFile, PartFile
from register.trouble import Place, Problem

_MAIN = {"aircraft": "aircraft.yaml", "parts": "part.yaml"}


def check_names_once(root: Path, records: Records) -> Iterator[Problem]:
    """What lost its name to another thing when two machines' records met.

    Which machine added which is asked of history. Nothing is asked where there is no such thing.
    """
    yield from _check_shelf(root, records, "aircraft", records.aircraft)
    yield from _check_shelf(root, records, "parts", records.parts)


def _check_shelf(
    root: Path,
    records: Records,
    folder: str,
    shelf: Mapping[str, AircraftFile] | Mapping[str, PartFile],
) -> Iterator[Problem]:
    for name, file in shelf.items():
        before = name_before(name, file.id, file.aliases)
        if before is not None and before in shelf:
            adders = _find_adders(root, records, f"{folder}/{before}/{_MAIN[folder]}", file, shelf)
            yield _twin_problem(folder, name, before, adders, shelf)


def _find_adders(
    root: Path,
    records: Records,
    path: str,
    file: AircraftFile | PartFile,
    shelf: Mapping[str, AircraftFile] | Mapping[str, PartFile],
) -> tuple[str, str]:
    """What the machines are called that added the one that kept the name, and the other."""
    from register.git.wrapper import is_ours
    from register.git.writers import find_adder

    if not is_ours(root):
        return "", ""
    titles = records.fleet.machines
    ids = shelf[path.split("/")[1]].id or "", file.id or ""
    found = [find_adder(root, path, id_) for id_ in ids]
    return titles.get(found[0], found[0]), titles.get(found[1], found[1])


def _twin_problem(
    folder: str,
    name: str,
    before: str,
    adders: tuple[str, str],
    shelf: Mapping[str, AircraftFile] | Mapping[str, PartFile],
) -> Problem:
    file, other = shelf[name], shelf[before]
    kept, moved = (f", on {adder}" if adder else "" for adder in adders)
    says = f"two things were added as {before}: {before} ({_tell(other)}{kept}) and {name} "
    return warn(
        Place(file.path),
        "name-shared",
        f"{says}({_tell(file)}{moved}), which was renamed",
        f"if they are two: take {before} out of aliases in {file.path};  if they are one: "
        f"move the events of {folder}/{name} into {folder}/{before}/events, remove "
        f'{folder}/{name}, and put  aliases: ["{name}"]  into {other.path};  then:  tailsheaf save',
        (Place(other.path),),
    )


def _tell(file: AircraftFile | PartFile) -> str:
    """What tells one thing from another, in few words."""
    serial = file.serial if isinstance(file, PartFile) else None
    return f"serial {serial}" if serial else f"id {file.id}"
