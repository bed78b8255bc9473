"""Files kept with an aircraft, part or record: photos made small and bare, others unchanged."""

from __future__ import annotations

import re
import unicodedata
from pathlib import PurePosixPath

from msgspec import Struct
from msgspec.structs import replace

from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.drafting import Draft, check_words
from register.entry.event_words import tell_event
from register.entry.ids import SHORTEST
from register.entry.snags import shorten
from register.entry.subjects import find_subject, folder_of, is_subject
from register.ledger.counters import Subject
from register.records.events import Event
from register.storage.names import ATTACHMENTS
from register.storage.pictures import LONGEST_SIDE, Picture, reduce_picture, sort_file
from register.storage.writing import FileChange
from register.text.nodes import Plain
from register.trouble import Exit, RegisterError

#: Bytes of a picture before it is made small, and of any other file, which is kept whole.
LARGEST_PICTURE = 80_000_000
LARGEST_OTHER = 8_000_000
_SLUG = re.compile(r"[^a-z0-9]+")
_LONGEST_SLUG = 40


class Incoming(Struct, frozen=True):
    """A file as found outside the fleet: its name there, and its bytes."""

    name: str
    data: bytes


class Target(Struct, frozen=True):
    """What a file is of: an aircraft or part, or one record about it."""

    subject: Subject
    folder: str
    event: Event | None


def plan_attach(clerk: Clerk, typed: str, file: Incoming, stamp: Stamp, title: str | None) -> Plan:
    """Keep a file with an aircraft, a part or a record, and note that it is kept.

    Raises RegisterError: USAGE where it is nothing to keep, REFUSED for a film or a picture
    that cannot be freed of where it was taken.
    """
    draft = Draft(clerk, stamp)
    target = _find_target(clerk, typed)
    if title is not None:
        check_words(title, "title")
    words = " ".join((title or "").split())
    data, ending, said = _take(draft, file)
    slug = _slug(words or PurePosixPath(file.name).stem)
    path = _write(draft, target, words or slug.replace("-", " "), slug, data, ending)
    draft.touch(target.subject)
    of = target.subject[1]
    if target.event is not None:
        of += f", {tell_event(clerk, target.event)} ({clerk.short(target.event.id)})"
    draft.say(f"{of}{draft.day}: {path}")
    draft.say(said)
    return draft.plan(f"Attach {shorten(words or slug)} to {target.subject[1]}")


def _write(draft: Draft, target: Target, text: str, slug: str, data: bytes, ending: str) -> str:
    """Add the file and its note, in that order, so that no reader meets a note without its file.

    The path of the file, which bears the note's id, back.
    """
    clerk = draft.clerk
    marker = clerk.new_id()
    path = f"{target.folder}/{ATTACHMENTS}/{draft.when.day.isoformat()}-{slug}-{marker}.{ending}"
    body: dict[str, Plain] = {
        target.subject[0]: clerk.ref(target.subject),
        "text": text,
        "about": target.event.id if target.event is not None else None,
        "attachment": path,
    }
    written = draft.write(target.folder, "note", body)
    path = path.replace(marker, written.id)
    note = draft.changes.pop()
    after = note.after.replace(marker.encode(), written.id.encode())
    draft.changes += [FileChange(path, None, data), replace(note, after=after)]
    return path


def _find_target(clerk: Clerk, typed: str) -> Target:
    """An aircraft or part by name, else a record by the beginning of its id."""
    word = typed.strip().lower()
    records = clerk.ledger.records
    named = word in records.aircraft or word in records.parts
    if not named and len(word) >= SHORTEST:
        ids = [id_ for id_ in clerk.ledger.settled.originals if id_.startswith(word)]
        if len(ids) == 1 or (ids and not is_subject(clerk, word)):
            event = clerk.find_event(word)
            return _target_of(clerk, event)
    if not named and not is_subject(clerk, word):
        raise RegisterError(
            f"no aircraft, part or record is called {typed[:60]!r}",
            mend="tailsheaf attach heron FILE, or the id of a record: tailsheaf history heron",
            code="subject-unknown",
        )
    where = find_subject(clerk, word)
    return Target(where, folder_of(clerk, where), None)


def _target_of(clerk: Clerk, event: Event) -> Target:
    """The record, kept in the folder it lies in."""
    if event.id in clerk.ledger.settled.withdrawn:
        raise RegisterError(
            f"{clerk.short(event.id)} is withdrawn",
            mend="attach the file to what replaced it, or to the aircraft",
            exit_code=Exit.REFUSED,
            code="event-withdrawn",
        )
    folder = event.path.partition("/events/")[0]
    kind, _, name = folder.partition("/")
    return Target(("aircraft" if kind == "aircraft" else "part", name), folder, event)


def _take(draft: Draft, file: Incoming) -> tuple[bytes, str, str]:
    """The bytes to keep, the ending of their name, and what was done to them."""
    if not file.data:
        raise RegisterError(f"{file.name[:80]} is empty", mend="copy it again", code="file-empty")
    sort = sort_file(file.name, file.data)
    if sort == "picture":
        picture = reduce_picture(file.name, file.data)
        return picture.data, picture.ending, _tell_picture(picture, len(file.data))
    if sort != "other":
        raise _not_kept(file.name, sort)
    if len(file.data) > LARGEST_OTHER:
        raise RegisterError(
            f"{file.name[:80]} has {_megabytes(len(file.data))}; at most "
            f"{_megabytes(LARGEST_OTHER)} are kept of a file that is no picture, because history "
            "never forgets",
            mend="keep it elsewhere and note where:  tailsheaf attach … takes a smaller extract",
            code="file-too-large",
        )
    draft.warn("kept unchanged: what the file says of people, places and programs is still in it")
    return file.data, _ending(file.name), f"{_megabytes(len(file.data))}, byte for byte as it was"


def _not_kept(name: str, sort: str) -> RegisterError:
    if sort == "film":
        return RegisterError(
            f"{name[:80]} is a film: films are large and carry place and time",
            mend="take one picture from it, save that as JPEG and attach it",
            exit_code=Exit.REFUSED,
            code="film",
        )
    return RegisterError(
        f"{name[:80]} is a picture of a form that is not decoded here, so the place in it "
        "could not be taken out",
        mend="save it as JPEG or PNG (a telephone: camera settings, most compatible), then attach",
        exit_code=Exit.REFUSED,
        code="picture-form",
    )


def _tell_picture(picture: Picture, before: int) -> str:
    size = f"{picture.width} x {picture.height}, {_megabytes(len(picture.data))}"
    was = f"was {picture.was_width} x {picture.was_height}, {_megabytes(before)}"
    return (
        f"picture {size} ({was}; longest side {LONGEST_SIDE}); place, time and camera are taken out"
    )


def _megabytes(count: int) -> str:
    return f"{count / 10**6:.1f} MB" if count >= 10**6 else f"{max(round(count / 1000), 1)} kB"


def _slug(words: str) -> str:
    """Words as part of a file's name: a-z, 0-9 and hyphens."""
    plain = unicodedata.normalize("NFKD", words.lower()).encode("ascii", "ignore").decode()
    cut = _SLUG.sub("-", plain).strip("-")[:_LONGEST_SLUG].strip("-")
    return cut or "file"


def _ending(name: str) -> str:
    """The ending of a kept file; one that this program would read as a record gets another."""
    ending = _SLUG.sub("", name.rpartition(".")[2].lower())[:8] if "." in name else ""
    return f"{ending}.txt" if ending in ("yaml", "yml") else ending or "bin"
