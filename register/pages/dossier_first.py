"""The first page of a dossier: what it is, what was left out, what is not known, the cautions."""

from __future__ import annotations

from collections.abc import Iterator

from register.pages.blocks import Block, Listed, Pairs, Reader, Section, Words
from register.pages.dossier_words import (
    clock_words,
    counter_words,
    plural,
    standing_words,
    value_words,
)
from register.views.dossier import LATE_DAYS, DossierView
from register.views.part import PartView

CAUTIONS = (
    "This is a notebook, not an inspection. It tells what was written down. It cannot see the "
    "aircraft, and nobody has approved it.",
    "“Nothing open” means that nothing open was recorded. Whoever flies it decides, after looking.",
    "Most limits are the owner's own or common habit; each shows where it comes from. The "
    "maker's manual, your national body's scheme, the rules of your field and the law come first.",
    "What is not known is shown as not known. It is never counted as nothing.",
    "A deferred fault is still a fault. After its last day or last flight: stop.",
    "Never try flutter, a radio loss, a fire or an engine stop “once more to see”.",
    "Batteries, pressurised air, engines, fuel and propellers injure people. A record of a "
    "check is not the check. Keep the right extinguisher in reach.",
    "Dates can be set by whoever writes. The records show when each was written down; they "
    "prove nothing in law.",
    "The handover leaves things out on purpose, and there may be gaps nobody knows of. Inspect "
    "the aircraft before its first flight with you.",
)
#: What a handover never carries, whatever was recorded.
NEVER = (
    "the owner's records of prices, suppliers, addresses, places and people (the same person "
    "keeps one made-up mark)",
    "in texts: the names of people, suppliers and places as the owner's records hold them, other "
    "words the owner named, and every amount of money with its currency; “[left out]” stands there",
    "other aircraft: a part that was in one says “another aircraft”; what it gained there is "
    "counted, to the minute",
    "permits, insurance and other papers of the owner",
    "private notes, and remarks written beside the records in the owner's files",
    "the transmitter and its memory: only what was written down of the set-up is here",
)


def key_facts(view: DossierView) -> Pairs:
    """The first look: what it is, how it stands, what it has done."""
    plane = view.aircraft
    kit = plane.kit_title or (plane.file.kit.name if plane.file.kit else "")
    built = f"built from the kit {kit}" if kit else "kit not recorded"
    lot = f", lot {plane.file.lot}" if plane.file.lot else ""
    since = f" since {plane.stage_by.moment.day.isoformat()}" if plane.stage_by else ""
    totals = ", ".join(clock_words(item.counter, item.value) for item in plane.counters[:4])
    flown = "no flight recorded"
    if view.last_flown is not None:
        flown = f"last flown {view.last_flown.isoformat()}"
    return Pairs(
        (
            ("Aircraft", f"{view.name}, {built}{lot}"),
            ("Comes with it", with_words(view)),
            ("Owners so far", owner_words(view)),
            ("Stage", f"{plane.stage.replace('-', ' ')}{since}; {flown}"),
            ("As recorded", standing_words(view)),
            ("Totals", totals or "nothing counted"),
            ("Mass", mass_words(view)),
            ("Open", open_words(view)),
            ("Incidents", incident_words(view)),
            ("Records", records_words(view)),
        )
    )


def with_words(view: DossierView) -> str:
    """What the buyer gets beside the airframe, and how much of what is named stays behind."""
    kinds: dict[str, int] = {}
    for part in view.parts:
        kind = part.file.kind.replace("-", " ")
        kinds[kind] = kinds.get(kind, 0) + 1
    counted = ", ".join(
        plural(count, kind) for kind, count in sorted(kinds.items(), key=lambda one: -one[1])
    )
    pictures = sum(photo.data is not None for photo in view.photos)
    plane = view.aircraft
    programmes = " and ".join(line.title or line.name for line in plane.programmes)
    told = [
        f"{plural(len(view.parts), 'part')} ({counted})" if counted else "no part of its own",
        plural(pictures, "picture") if pictures else "no picture",
        "the sheet of its kit" if plane.kit_title else "no sheet of a kit",
        f"the list of checks “{programmes}”" if programmes else "no list of checks",
    ]
    if view.staying:
        told.append(f"without {plural(len(view.staying), 'part')} that the records name")
    return "; ".join(told)


_ORDINALS = ("first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth")


def owner_words(view: DossierView) -> str:
    """How many owners the records know of, and since when; what they do not know."""
    hands = [line.event for line in view.history
             if line.event.kind == "change-of-owner" and not line.withdrawn]  # fmt: skip
    number = _ORDINALS[len(hands)] if len(hands) < len(_ORDINALS) else f"{len(hands) + 1}th"
    told = f"the seller is the {number} in these records"
    if hands:
        days = ", ".join(dict.fromkeys(event.moment.day.isoformat() for event in hands))
        told += f"; it changed hands on {days}"
    elif view.pages.first is not None:
        told += f", which begin {view.pages.first.isoformat()}"
    if view.aircraft.file.opening.has_life:
        told += "; it had flown before they began, and who had it then is not recorded"
    return told


def mass_words(view: DossierView) -> str:
    """The mass of the last weighing with its tanks, or that it was never weighed."""
    balance = view.balance
    if balance.weighing is None:
        return "never weighed, as far as is recorded"
    nets = [point.net for point in balance.points]
    known = [net for net in nets if net is not None]
    least = "" if len(known) == len(nets) else "at least "
    tanks = getattr(balance.weighing.body, "tanks", "not-stated").replace("-", " ")
    day = balance.weighing.moment.day.isoformat()
    return f"{least}{sum(known):.3f} kg with tanks {tanks}, weighed {day}"


def open_words(view: DossierView) -> str:
    """What is open, counted."""
    due = [line.item for line in view.due if is_due(line.item.state) and not line.item.is_day_check]
    counts = (
        (sum(story.line.deferral is not None for story in view.open_snags), "deferral", None),
        (
            sum(line.item.task.on != "notice" for line in view.due if line.item in due),
            "check",
            None,
        ),
        (view.notices.open, "notice", None),
        (len(view.jobs.lines), "job", None),
        (
            sum(line.departure.is_unsettled for line in view.departures.lines),
            "change on trial or curing",
            "changes on trial or curing",
        ),
        (len(view.cures.lines), "cure", None),
    )
    told = [plural(count, word, several) for count, word, several in counts if count]
    if view.open_snags:
        rated = [story.state.severity.replace("-", " ") for story in view.open_snags]
        how = ", ".join(f"{rated.count(word)} {word}" for word in dict.fromkeys(rated))
        told.insert(0, f"{plural(len(rated), 'snag')} ({how})")
    return ", ".join(told) or "no open items recorded"


def is_due(state: str) -> bool:
    """Past its due point, or not to be told."""
    return state in ("overdue", "due", "cannot-tell")


def incident_words(view: DossierView) -> str:
    """Every incident by its day."""
    told = [
        f"{getattr(story.event.body, 'what', '').replace('-', ' ')} {story.event.moment.day}"
        for story in view.incidents
    ]
    return ", ".join(told) or "none recorded"


def records_words(view: DossierView) -> str:
    """How many records there are, from when to when, and how they were kept."""
    pages = view.pages
    if pages.first is None or pages.last is None:
        return "none"
    words = f"{pages.records} from {pages.first.isoformat()} to {pages.last.isoformat()}"
    if pages.late:
        words += f", {pages.late} written more than {plural(LATE_DAYS, 'day')} later"
    return words


def left_out(view: DossierView) -> Section:
    """What does not go along, by name and by number."""
    return Section(
        "left-out",
        "What was left out",
        _left_answer(view),
        tuple(_left_blocks(view)),
    )


def _left_answer(view: DossierView) -> str:
    if not view.staying:
        return "No part that the records name stays behind."
    parts = plural(len(view.staying), "part")
    return f"{parts} named in the records {'stays' if len(view.staying) == 1 else 'stay'} behind."


def _left_blocks(view: DossierView) -> Iterator[Block]:
    facts = view.facts
    rows = []
    for part in view.staying:
        shared = part.file.name in facts.shared
        why = "used in other aircraft too" if shared else "not part of this handover"
        fitted = any(stay.current for stay in part.stays)
        now = "; in use on the aircraft: you need your own" if fitted else ""
        rows.append((part.file.name, f"{part.file.title or part.file.kind}: {why}{now}"))
    if rows:
        yield Words(
            "Not included, though the records name them; of their own life nothing is here:"
        )
        yield Pairs(tuple(rows))
    yield Words("Never carried by a handover:")
    yield Listed(NEVER)
    yield from _left_counts(view)


def _left_counts(view: DossierView) -> Iterator[Block]:
    facts = view.facts
    told = []
    if facts.masked:
        word = "place in a text was" if facts.masked == 1 else "places in texts were"
        told.append(f"{facts.masked} {word} masked: a private word stood there")
    if facts.withheld:
        word = "revision of a record is" if facts.withheld == 1 else "revisions of records are"
        told.append(f"{facts.withheld} earlier {word} not carried: they could not be read, or "
                    "are of a kind that does not go along")  # fmt: skip
    if facts.left_by_wish:
        told.append(f"{plural(facts.left_by_wish, 'record')} left out by the owner's wish; what "
                    "is open, deferred or broken cannot be left out")  # fmt: skip
    if facts.other_files:
        word = "file is" if facts.other_files == 1 else "files are"
        told.append(f"{facts.other_files} kept {word} not carried: only pictures are")
    if facts.dropped:
        keys = ", ".join(f"{key} ({count} times)" if count > 1 else key
                         for key, count in facts.dropped)  # fmt: skip
        told.append(f"entries of the owner's files that are not carried: {keys}")
    if told:
        yield Words("Counted:")
        yield Listed(tuple(told))


def not_known(view: DossierView) -> Section:
    """The gaps, as far as the records themselves show them."""
    gaps = tuple(_gaps(view))
    answer = f"{plural(len(gaps), 'gap')} that the records show; there may be others."
    return Section("not-known", "What is not known", answer, (Listed(gaps),) if gaps else ())


def _gaps(view: DossierView) -> Iterator[str]:
    yield from _total_gaps(view)
    for part in view.parts:
        yield from _part_gaps(part)
    bare = [part.file.name for part in view.parts if not part.file.serial]
    if bare:
        yield f"no serial number recorded: {', '.join(bare)}"
    never = [line.item.task.title for line in view.due if line.item.state == "no-baseline"]
    if never:
        yield f"never recorded as done: {_some(never)}"
    unclear = [line.item.task.title for line in view.due if line.item.state == "cannot-tell"]
    if unclear:
        yield f"cannot be told when due: {_some(unclear)}"
    yield from _missing(view)
    yield from _page_gaps(view)


def _total_gaps(view: DossierView) -> Iterator[str]:
    """What is not exact in the totals, and what lies before the records."""
    plane = view.aircraft
    for item in plane.counters:
        told = value_words(item.value, item.counter)
        name = counter_words(item.counter)
        if item.value.high is None or item.value.low != item.value.high:
            yield f"{name} of the aircraft: {told}"
        elif item.value.known == "estimated":
            yield f"{name} of the aircraft: an estimate, {told}"
    given = plane.file.opening.counters
    if not any(value.high is None or value.high > 0 for value in given.values()):
        return
    silent = [item.counter for item in plane.counters if item.counter not in given]
    if silent:
        names = ", ".join(counter_words(counter) for counter in silent)
        yield f"from before the records no figure is given for: {names}"
    if plane.file.opening.as_of is not None:
        yield f"before {plane.file.opening.as_of.isoformat()} there are only totals, no records"


def _part_gaps(part: PartView) -> Iterator[str]:
    name = part.file.name
    unknown = [
        counter_words(clock.counter)
        for clock in part.clocks
        if clock.since_new.high is None or clock.since_new.known == "unknown"
    ]
    if unknown:
        yield f"{name}: {', '.join(unknown)} since new not known"


def _missing(view: DossierView) -> Iterator[str]:
    if view.balance.weighing is None:
        yield "no weighing: mass and centre of gravity are not recorded"
    if not any(rate.latest for state in view.throws.surfaces for rate in state.rates):
        yield "no control throws are recorded"
    if not view.notices.heads:
        yield "no notice of the kit is recorded; whether known faults of this kit exist is not told"
    if not view.fasteners.joints:
        yield "no fasteners are listed"
    if not view.fasteners.lines:
        yield "no air, fuel or electrical lines are listed"
    if not view.aircraft.programmes:
        yield "no programme of checks is followed"
    if view.damage.drawing is None:
        yield "no outline of the aircraft is recorded, so damage is listed and not drawn"


def _page_gaps(view: DossierView) -> Iterator[str]:
    pages = view.pages
    sources = dict(pages.by_source)
    for source, words in (
        ("estimated", "are estimates"),
        ("from-paper", "were copied from paper"),
        ("later", "are said to be written later"),
    ):
        if sources.get(source):
            yield f"{sources[source]} of {pages.records} records {words}"
    if pages.typed_unknown:
        yield f"of {plural(pages.typed_unknown, 'record')} it is not known when written down"
    for problem in view.problems[:6]:
        yield f"the records do not agree: {problem.says}"
    if len(view.problems) > 6:
        yield f"and {len(view.problems) - 6} more places where the records do not agree"
    if view.facts.machines > 1:
        days = [day.isoformat() for day in view.facts.last_typed]
        said = f", and the last here from each are of {_listed(days)}" if days[1:] else ""
        yield (f"the records were kept on {view.facts.machines} machines"
               f"{said}; one of them may hold more that are not here")  # fmt: skip


def _listed(words: list[str]) -> str:
    return f"{', '.join(words[:-1])} and {words[-1]}"


def _some(names: list[str]) -> str:
    listed = list(dict.fromkeys(names))
    shown = "; ".join(listed[:8])
    return f"{shown}; and {len(listed) - 8} more" if len(listed) > 8 else shown


def cautions() -> Section:
    """What stands on every dossier."""
    return Section("cautions", "Before you rely on this", "", (Listed(CAUTIONS),))


READERS = (
    Reader(
        "Buying it",
        (
            ("what has it done, what life is left", "totals"),
            ("what is broken, deferred or due", "open"),
            ("was it ever crashed", "incidents"),
            ("what was repaired", "repairs"),
            ("where is it marked", "damage"),
            ("what stays behind", "left-out"),
            ("what do I look at first", "inspection"),
        ),
    ),
    Reader(
        "Inspecting it",
        (
            ("mass and balance", "balance"),
            ("last checks and what they found", "checks"),
            ("what is open", "open"),
            ("what differs from the manual", "departures"),
            ("notices of the kit", "notices"),
            ("throws", "throws"),
            ("fasteners and lines", "fasteners"),
        ),
    ),
    Reader(
        "Insuring it",
        (
            ("how it stands as recorded", "open"),
            ("faults it was flown with", "repairs"),
            ("incidents and what followed", "incidents"),
            ("last checks", "checks"),
            ("papers", "papers"),
            ("every record and when it was written", "history"),
        ),
    ),
)
