"""What a handover would take along, and what was written."""

from __future__ import annotations

import re
from itertools import groupby
from typing import TYPE_CHECKING

from cli.render.counters import plain_words, title_words, value_words
from cli.render.screen import Column, Screen, Span, Words
from cli.render.shapes import full_span_shape
from register.transfer.looking import look_pattern, never_line
from register.transfer.masking import MASK, OTHER

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from cli.session import Session
    from register.transfer.looking import Look
    from register.transfer.manifest import LeftOut
    from register.transfer.preview import Preview, Total
    from register.transfer.rewriting import FreeText


def render_preview(session: Session, view: Preview) -> None:
    """Everything that would go and that would stay, for the owner to read."""
    screen = Screen()
    screen.title(f"Handover of {view.aircraft}", view.on.isoformat())
    screen.line(Span("nothing is written yet", "faint"))
    if view.gone is not None:
        screen.line(f"{view.aircraft} went on {view.gone.isoformat()}: this is an update")
    _add_going(screen, view)
    _add_totals(screen, view)
    _add_staying(screen, view)
    _add_texts(screen, view)
    _add_looks(screen, view)
    screen.gap()
    screen.line(
        "Dates say when you fly; words and pictures say what you wrote and showed. What stands "
        "above under texts goes as it is, and an amended text goes in its first wording too."
    )
    line = f"tailsheaf handover {view.aircraft} ../{view.aircraft}.tailsheaf"
    screen.line(["to write it:  ", Span(line, "command")])
    session.show(screen, preview_shape(view))


def _add_going(screen: Screen, view: Preview) -> None:
    screen.gap()
    screen.line(Span("Goes along", "heading"))
    screen.line(f"{view.aircraft}: {view.title}", 2, 2)
    screen.line(f"parts: {', '.join(view.parts) or 'none'}", 2, 2)
    if view.kit is not None:
        screen.line(f"kit: {view.kit}", 2, 2)
    screen.line(f"programmes: {', '.join(view.programmes) or 'none'}", 2, 2)
    counted = ", ".join(f"{count} {title_words(kind)}" for kind, count in view.records)
    total = sum(count for _, count in view.records)
    screen.line(f"records: {total} ({counted})", 2, 2)
    screen.line(
        f"history: {_count(view.changes, 'change')}; pictures: {view.pictures}, made anew "
        "without place, time and camera",
        2,
        2,
    )
    for word in view.telling:
        screen.line([Span("in a name: ", "attend"), f"{word} goes as it is"], 2, 2)


def _add_totals(screen: Screen, view: Preview) -> None:
    screen.gap()
    screen.line(Span("Totals, as the new owner will compute them too", "heading"))
    grouped: dict[str, list[str]] = {}
    for total in view.totals:
        words = f"{title_words(total.counter)} {_total_words(total)}"
        grouped.setdefault(total.name, []).append(words)
    rows: list[tuple[Words, ...]] = [
        (Span(name, "strong"), ", ".join(words)) for name, words in grouped.items()
    ]
    screen.table((Column(""), Column("", flexible=True)), rows, indent=2, heads=False)


def _total_words(total: Total) -> str:
    """A total in whole words: a sign for "at least" is easily read over."""
    value = total.value
    if value.high is None and value.low > 0:
        return f"at least {plain_words(value.low, total.counter)}"
    return value_words(value, total.counter)


def _add_staying(screen: Screen, view: Preview) -> None:
    screen.gap()
    screen.line(Span("Stays with you", "heading"))
    if view.shared:
        screen.line(f"shared parts, not included: {', '.join(view.shared)}", 2, 2)
        screen.line(["to send one along:  ", Span(f"--with {view.shared[0]}", "command")], 4, 2)
    if view.fitted:
        screen.line(f"other parts that its records name: {', '.join(view.fitted)}", 2, 2)
    screen.line(
        f'{view.other_aircraft} other aircraft (in texts: "another aircraft"), '
        f"{_count(view.papers, 'paper')}, stock, private.yaml: people, costs, suppliers, places",
        2,
        2,
    )
    screen.line("comments in hand-made files, and the words of old commits", 2, 2)
    if view.dropped:
        keys = ", ".join(f"{key} ({count})" for key, count in view.dropped)
        screen.line(f"keys that are not carried: {keys}", 2, 2)
    if view.later:
        screen.line(_later_words(view), 2, 2)
    if view.left.records:
        screen.line(f"by your wish: {_count(view.left.records, 'record')}", 2, 2)
    for path in view.other_files:
        screen.line(f"no picture, so not carried: {path}", 2, 2)
    for path in view.unread:
        screen.line([Span("cannot be read, so left out: ", "attend"), path], 2, 2)
    unreadable = view.left.revisions - len(view.unread)
    if unreadable:
        screen.line(f"unreadable in the past, left out: {_count(unreadable, 'revision')}", 2, 2)


def _add_texts(screen: Screen, view: Preview) -> None:
    screen.gap()
    screen.line(Span(f"Texts to read before you send it ({len(view.texts)})", "heading"))
    for record, run in groupby(view.texts, key=lambda text: text.record):
        texts = list(run)
        if len(texts) == 1:
            marked = _marked(texts[0], view.looks)
            screen.line([Span(f"{record}: ", "faint"), *marked], 2, 2)
            continue
        screen.line(Span(f"{record}, {len(texts)} texts", "faint"), 2, 2)
        for text in texts:
            screen.line(["- ", *_marked(text, view.looks)], 4, 2)
    if view.starter_texts:
        words = f"and {view.starter_texts} of the program's own starter programmes, unchanged"
        screen.line(Span(words, "faint"), 2, 2)


def _marked(text: FreeText, looks: Sequence[Look]) -> Iterator[str | Span]:
    """A text with a remark beside what was left out of it, and beside what looks private."""
    marks = [(re.escape(word), "(masked)") for word in (MASK, OTHER) if text.was_masked]
    marks.extend((look_pattern(look.word).pattern, "(looks private)") for look in looks)
    if not marks:
        yield text.text
        return
    at = 0
    for match in re.finditer("|".join(f"({pattern})" for pattern, _ in marks), text.text):
        yield text.text[at : match.end()]
        yield Span(f" {marks[(match.lastindex or 1) - 1][1]}", "attend")
        at = match.end()
    yield text.text[at:]


def _add_looks(screen: Screen, view: Preview) -> None:
    """Words that are left and look private, and the line that leaves them out."""
    screen.gap()
    line = view.never_line
    if view.looks:
        screen.line(Span(f"Looks private, and goes as it is ({len(view.looks)})", "heading"))
        for look in view.looks:
            told = f"  {look.why}; in {_count(look.texts, 'text')}"
            screen.line([Span(look.word, "strong"), told], 2, 2)
        screen.line("to leave them out of everything, this line in private.yaml:", 2, 2)
    else:
        screen.line("To leave a word or an amount out of everything, this line in private.yaml:")
        line = never_line((*view.never, "WORD"), ())
    screen.line(Span(line, "command"), 4, 2)
    screen.line("It counts at once, saved or not, for every revision; then look here again.", 2, 2)


def render_packed(
    session: Session, view: Preview, file: tuple[str, int, Sequence[str]], says: Sequence[str]
) -> None:
    """What was written, and what was left out of it."""
    path, size, members = file
    screen = Screen()
    screen.line(["written: ", Span(path, "strong"), f", {max(round(size / 1000), 1)} kB"], 0, 2)
    total = sum(count for _, count in view.records)
    screen.line(f"in it: {_count(total, 'record')}, {', '.join(members)}", 2, 2)
    for line in tell_left(view.left):
        screen.line(line, 2, 2)
    if view.later:
        screen.line(["stays with you: ", *_later_words(view)], 2, 2)
    if "manifest.json.sig" in members:
        screen.line("signed: tell the new owner your public key by another way", 2, 2)
    else:
        screen.line("not signed: --sign KEY lets the new owner tell that it is from you", 2, 2)
    for line in says:
        screen.line(f"recorded: {line}", 0, 2)
    if view.gone is not None:
        screen.line(f"an update: {view.aircraft} went on {view.gone.isoformat()} already", 0, 2)
    screen.line("on the other side:  tailsheaf receive FILE", 0, 2)
    data = {
        "version": 1,
        "file": path,
        "bytes": size,
        "members": list(members),
        "recorded": list(says),
        "handover": preview_shape(view),
    }
    session.show(screen, data)


def render_dossier_written(session: Session, aircraft: str, path: str, size: int) -> None:
    """Where the dossier was written."""
    screen = Screen()
    screen.line(["written: ", Span(path, "strong"), f", {max(round(size / 1000), 1)} kB"], 0, 2)
    screen.line(f"as the new owner of {aircraft} will get it; nothing else was written", 2, 2)
    session.show(screen, {"version": 1, "dossier": path, "bytes": size})


def tell_left(left: LeftOut) -> list[str]:
    """What was left out, in lines."""
    found = []
    if left.parts:
        found.append(f"not included: {', '.join(left.parts)}")
    counts = (
        (left.words, "text masked", "texts masked"),
        (left.records, "record left out by wish", "records left out by wish"),
        (left.revisions, "unreadable revision left out", "unreadable revisions left out"),
        (left.files, "file that is no picture left out", "files that are no pictures left out"),
        (left.keys, "key of the owner's own not carried", "keys of the owner's own not carried"),
    )
    told = [f"{count} {one if count == 1 else many}" for count, one, many in counts if count]
    if told:
        found.append("; ".join(told))
    return found


def _later_words(view: Preview) -> list[str | Span]:
    day = (view.gone or view.on).isoformat()
    words = f"{_count(view.later, 'record')} dated after {day}"
    return [Span(words, "attend"), f", when {view.aircraft} changes owner: a wrong date?  ",
            Span(f"tailsheaf history {view.aircraft}", "command")]  # fmt: skip


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"


def left_shape(left: LeftOut) -> dict[str, object]:
    """What was left out, as data."""
    return {
        "parts": list(left.parts),
        "records": left.records,
        "revisions": left.revisions,
        "texts_masked": left.words,
        "files": left.files,
        "keys": left.keys,
    }


def preview_shape(view: Preview) -> dict[str, object]:
    """The preview as data."""
    return {
        "version": 1,
        "aircraft": view.aircraft,
        "title": view.title,
        "on": view.on.isoformat(),
        "gone": None if view.gone is None else view.gone.isoformat(),
        "parts": list(view.parts),
        "kit": view.kit,
        "programmes": list(view.programmes),
        "records": dict(view.records),
        "changes": view.changes,
        "pictures": view.pictures,
        "totals": [
            {
                "name": total.name,
                "counter": total.counter,
                "value": full_span_shape(total.value),
            }
            for total in view.totals
        ],
        "not_included": {"shared": list(view.shared), "others": list(view.fitted)},
        "other_files": list(view.other_files),
        "unread": list(view.unread),
        "keys_not_carried": dict(view.dropped),
        "names_that_tell": list(view.telling),
        "looks_private": [
            {"word": look.word, "why": look.why, "texts": look.texts} for look in view.looks
        ],
        "never": list(view.never),
        "never_line": view.never_line,
        "left_out": left_shape(view.left),
        "dated_after": view.later,
        "texts": [
            {"record": text.record, "text": text.text, "masked": text.was_masked}
            for text in view.texts
        ],
    }
