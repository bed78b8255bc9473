"""Sections of a dossier: incidents and what followed, work and repairs, damage and finish."""

from __future__ import annotations

from collections.abc import Iterator

from register.pages.blocks import (
    ATTEND,
    FINE,
    PLAIN,
    STOP,
    Block,
    Figure,
    Head,
    Listed,
    Pairs,
    Picture,
    Pictures,
    Row,
    Section,
    Table,
    Words,
)
from register.pages.damage_svg import draw_figure
from register.pages.dossier_first import incident_words
from register.pages.dossier_open import GRAVE, flown_words, snag_where
from register.pages.dossier_words import NOTHING, day_of, found_words, plural, value_words
from register.records.bodies import Fix
from register.views.damage import tell_age, tell_place, tell_size
from register.views.dossier import DossierView, SnagStory

#: So many bytes of photos stand in one page; a telephone has to open it.
MOST_BYTES = 12_000_000


def incidents(view: DossierView) -> Section:
    """Every incident: what was found, how it was mended, and the checks it opened."""
    blocks: list[Block] = []
    for story in view.incidents:
        said = story.says.removeprefix("incident: ")
        blocks.append(Head(f"{story.event.moment.day.isoformat()}: {said}"))
        if story.total is not None:
            by_then = value_words(story.total, "flights")
            blocks.append(Words(f"Flights of the aircraft by the end of that: {by_then}."))
        if story.found:
            blocks.append(_repair_table(story.found))
        else:
            blocks.append(Words("Nothing was recorded as found that day."))
        if story.checks:
            blocks.append(Words("Checks that it opened:"))
            rows = tuple(
                Row(
                    (
                        task.title,
                        day_of(event) if event is not None else "no result recorded",
                        found_words(event),
                    ),
                    PLAIN if event is not None else ATTEND,
                )
                for task, event in story.checks
            )
            blocks.append(Table(("check", "done", "what was found"), rows))
    if not view.incidents:
        blocks.append(Words("That none is recorded does not mean that none happened: look for "
                            "repairs under the finish."))  # fmt: skip
    answer = f"{plural(len(view.incidents), 'incident')}: {incident_words(view)}."
    if not view.incidents:
        answer = "None recorded."
    return Section("incidents", "Incidents and crash repairs", answer, tuple(blocks))


def repairs(view: DossierView) -> Section:
    """Every fault that was mended, and what was flown with it until then."""
    found = view.mended
    flown = [story for story in view.snags if story.flown is not None and story.flown.low > 0]
    answer = f"{plural(len(found), 'fault')} mended; {len(flown)} flown with before or since."
    blocks: list[Block] = [_repair_table(found)] if found else [Words("None is recorded.")]
    deferred = [
        f"{story.state.first_day.isoformat()} {story.state.text}: "
        + "; ".join(
            f"{day_of(event)} {getattr(event.body, 'reason', '')}"
            for event in story.state.deferrals
        )
        for story in view.snags
        if story.state.deferrals
    ]
    if deferred:
        blocks.append(Head("Decisions to fly on with a fault"))
        blocks.append(Listed(tuple(deferred)))
    return Section("repairs", "Work and repairs", answer, tuple(blocks))


def _repair_table(stories: tuple[SnagStory, ...]) -> Table:
    return Table(
        ("what", "found", "severity", "mended", "how", ">flights with it"),
        tuple(_repair_row(story) for story in stories),
    )


def _repair_row(story: SnagStory) -> Row:
    state = story.state
    closed = state.closed_by
    how = []
    for event in state.fixes:
        body = event.body
        if isinstance(body, Fix):
            cause = f" (cause: {body.cause})" if body.cause else ""
            how.append(f"{body.action}{cause}")
    cells = (
        snag_where(story),
        state.first_day.isoformat(),
        state.severity.replace("-", " "),
        day_of(closed) if closed is not None else "STILL OPEN",
        "; ".join(how) or NOTHING,
        flown_words(story.flown),
    )
    return Row(cells, PLAIN if closed is not None else ATTEND)


def _photos(view: DossierView) -> Iterator[Block]:
    """Photos with what they show, until the page would grow too large; the others by name."""
    shown: list[Picture] = []
    named: list[str] = []
    room = MOST_BYTES
    for photo in view.photos:
        words = ": ".join(word for word in (photo.about, photo.says) if word)
        caption = f"{day_of(photo.event)} {words}".strip()
        if photo.data is not None and len(photo.data) <= room:
            room -= len(photo.data)
            shown.append(Picture(photo.data, caption))
        else:
            named.append(f"{caption} ({photo.path.rpartition('/')[2]})")
    if shown or named:
        yield Head("Photos")
    if shown:
        yield Pictures(tuple(shown))
    if named:
        yield Words("Named in the records, and not shown here:")
        yield Listed(tuple(named))


def damage(view: DossierView) -> Section:
    """The damage picture, and the marks by number."""
    marks = view.damage.marks
    blocks: list[Block] = []
    if view.damage.drawing is not None:
        drawn = draw_figure(view.damage, view.damage.drawing)
        blocks.append(
            Figure(drawn, "The picture is in the page (HTML); the numbers are those below.")
        )
    rows = []
    for zone in view.damage.zones:
        name = zone.zone.title if zone.zone is not None else zone.name or "not named"
        for mark in zone.marks:
            facts = [word for word in (tell_place(mark), tell_size(mark)) if word]
            facts.extend(["photo below"] if mark.files else [])
            tone = STOP if mark.state.severity in GRAVE else PLAIN
            touch = mark.touch.text if mark.touch is not None else NOTHING
            rows.append(
                Row(
                    (
                        f"{mark.number}: {mark.state.text}",
                        name,
                        "; ".join(facts) or NOTHING,
                        mark.state.severity.replace("-", " "),
                        tell_age(mark),
                        touch,
                    ),
                    tone,
                )
            )
    if rows:
        columns = ("mark", "zone", "place and size", "severity", "age", "touch up with")
        blocks.append(Table(columns, tuple(rows)))
    else:
        blocks.append(Words("No mark is recorded."))
    blocks.extend(_photos(view))
    colours = tuple((paint.name, paint.text) for paint in view.damage.colours)
    if colours:
        blocks.extend((Head("Colours"), Pairs(colours)))
    blocks.append(Words("Drawn and listed from what was written down; look at the aircraft.", FINE))
    answer = f"{plural(len(marks), 'open mark')}; {view.damage.closed} mended before."
    return Section("damage", "Damage and finish", answer, tuple(blocks))
