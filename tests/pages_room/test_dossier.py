"""The dossier: what each reader finds, one set of words in page and text, markup inert."""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Callable, Mapping
from datetime import date
from html.parser import HTMLParser
from pathlib import Path

import pytest
from event_fleet import make_event_fleet
from hypothesis import given
from hypothesis import strategies as st

from fleets import Golden
from register.desk import open_fleet
from register.handing import Wish, prepare
from register.ledger.ledger import Ledger
from register.pages.blocks import (
    Boxes,
    Document,
    Head,
    Listed,
    Pairs,
    Row,
    Section,
    Table,
    Words,
)
from register.pages.dossier_document import build_document, list_words
from register.pages.dossier_page import draw_page, render_dossier
from register.pages.dossier_text import WIDTH, draw_text, render_dossier_text
from register.records.gathering import build_records
from register.text.parsing import parse_text
from register.transfer.masking import make_tokens
from register.transfer.objects import scan_texts
from register.views.dossier import DossierFacts, DossierView, view_dossier

SOLD = Path(__file__).parent / "sold"
DAY = date(2026, 5, 16)
FACTS = DossierFacts(
    "0.1",
    not_included=("pk-04",),
    shared=("pk-04",),
    withheld=1,
    masked=2,
    dropped=(("made", 4), ("price", 1)),
    left_by_wish=1,
    machines=2,
    last_typed=(date(2026, 5, 10), date(2026, 4, 2)),
    revisions=61,
    signed=False,
)
HOSTILE = '"><script>alert(1)</script></style><a href="javascript:alert(2)" onclick=x>\'`{{7*7}}'
VOID = {"meta", "wbr", "img"}
PASSED = re.compile(r"\b(airworthy|certified|compliant|ok(ay)? to fly|safe)\b", re.IGNORECASE)


def read_ledger(
    change: Callable[[str], str] = str, more: Mapping[str, str] | None = None
) -> Ledger:
    """The ledger of the aircraft sold, with its files changed, and more of them."""
    files = {
        path.relative_to(SOLD).as_posix(): change(path.read_text()).encode()
        for path in sorted(SOLD.rglob("*.yaml"))
    }
    files.update((path, text.encode()) for path, text in (more or {}).items())
    nodes = [(path, parse_text(path, data).node) for path, data in files.items()]
    return Ledger(build_records(nodes))


@pytest.fixture(scope="module")
def view() -> DossierView:
    return view_dossier(read_ledger(), "kestrel", DAY, FACTS)


@pytest.fixture(scope="module")
def page(view: DossierView) -> str:
    return render_dossier(view)


@pytest.fixture(scope="module")
def text(view: DossierView) -> str:
    return render_dossier_text(view)


class Reading(HTMLParser):
    """A page as a browser takes it: its tags balanced, its links, ids and words."""

    def __init__(self, page: str):
        super().__init__()
        self.open: list[str] = []
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.links: list[str] = []
        self.ids: list[str] = []
        self.words: list[str] = []
        self.feed(page)
        self.close()
        assert not self.open, self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        if tag not in VOID and tag not in ("path", "circle", "rect", "polygon"):
            self.open.append(tag)
        for name, value in attrs:
            self.attributes.add(name)
            if name == "href":
                self.links.append(value or "")
            if name == "id":
                self.ids.append(value or "")

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes.update(name for name, _ in attrs)

    def handle_endtag(self, tag: str) -> None:
        if tag not in ("path", "circle", "rect", "polygon"):
            assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if self.open and self.open[-1] != "style":
            self.words.append(data)


TAGS = frozenset(
    re.findall(
        r"\w+",
        """html head meta title style body header h1 h2 h3 p div dl dt dd nav ul li a span section
        table thead tbody tr th td wbr small figure figcaption img svg g path circle rect polygon
        text footer""",
    )
)
ATTRIBUTES = frozenset(
    re.findall(
        r"\S+",
        """lang charset http-equiv content name class id href scope data-h role aria-label viewbox
        d x y cx cy r rx width height points text-anchor fill src alt""",
    )
)


def check_inert(page: str) -> Reading:
    """Nothing runs, nothing is fetched, every link leads to a place in the page."""
    found = Reading(page)
    assert found.tags <= TAGS, found.tags - TAGS
    assert found.attributes <= ATTRIBUTES, found.attributes - ATTRIBUTES
    assert len(found.ids) == len(set(found.ids))
    assert {link.removeprefix("#") for link in found.links} <= set(found.ids)
    assert all(link.startswith("#") for link in found.links)
    style = page[page.index("<style>") : page.index("</style>")]
    assert page.count("</style>") == 1
    assert not re.search(r"url\(|@import|https?:|expression", style)
    assert "default-src 'none'" in page.split("<title>")[0]
    return found


def said(document: Document) -> list[str]:
    """Every text of a document that says something."""
    return [words for words in list_words(document).split("\n") if words not in ("", "-")]


def squeeze(words: str) -> str:
    """Without blanks and signs, so that wrapping and columns do not count."""
    return re.sub(r"\W+", "", words).lower()


def section_of(view: DossierView, anchor: str) -> Section:
    document = build_document(view)
    return next(s for s in (*document.first, *document.sections) if s.anchor == anchor)


def words_of(view: DossierView, anchor: str) -> str:
    """All that one section says."""
    section = section_of(view, anchor)
    document = build_document(view)
    only = Document("", "", Pairs(()), (), (), (section,), ())
    assert document.sections
    return "\n".join(said(only))


# --- what it looks like ------------------------------------------------------


def test_text(text: str, golden: Golden) -> None:
    golden("pages/dossier-kestrel", text)


def test_the_page_is_inert_and_whole(page: str) -> None:
    found = check_inert(page)
    assert "svg" in found.tags
    assert "width=device-width" in page


def test_page_and_text_say_the_same(view: DossierView, page: str, text: str) -> None:
    shown = squeeze("".join(Reading(page).words))
    plain = {word for line in text.splitlines() for word in re.findall(r"\w+", line.lower())}
    assert len(said(build_document(view))) > 400
    for words in said(build_document(view)):
        if words.startswith("The picture is in the page"):
            continue
        assert squeeze(words) in shown, words
        for word in re.findall(r"\w+", words.lower()):
            assert len(word) > 12 or word in plain, (word, words)


def test_no_line_of_the_text_is_wider_than_a_page(text: str) -> None:
    assert max(len(line) for line in text.splitlines()) <= WIDTH
    assert not any(line != line.rstrip() for line in text.splitlines())


def test_no_judgement_is_passed(page: str, text: str) -> None:
    assert not PASSED.search(page)
    assert not PASSED.search(text)


# --- what each reader finds ---------------------------------------------------


def test_what_was_left_out_and_is_not_known_stand_first(view: DossierView, text: str) -> None:
    document = build_document(view)
    assert [section.anchor for section in document.first] == ["left-out", "not-known", "cautions"]
    left = words_of(view, "left-out")
    for words in (
        "Receiver pack: used in other aircraft too; in use on the aircraft: you need your own",
        "2 places in texts were masked",
        "1 earlier revision of a record is not carried",
        "1 record left out by the owner's wish",
        "made (4 times), price",
    ):
        assert words in left, words
    unknown = words_of(view, "not-known")
    for words in (
        "time in the air of the aircraft: at least 1:28 h",
        "engine starts of the aircraft: not known",
        "no serial number recorded: lw-1, rw-1, sv-22, sv-23",
        "from before the records no figure is given for: landings",
        "kept on 2 machines, and the last here from each are of 2026-05-10 and 2026-04-02",
    ):
        assert words in unknown, words
    assert text.index("WHAT IS NOT KNOWN") < text.index("TOTALS AND REMAINING LIVES")


def test_every_open_snag_and_deferral_is_told(view: DossierView) -> None:
    opened = words_of(view, "open")
    assert len(view.open_snags) == 4
    for story in view.open_snags:
        assert story.state.text in opened
    assert "deferred, grass only, until 2026-06-30" in opened
    assert "soft mounts under the receiver: trial since 2026-04-02" in opened
    assert "replace tank clunk line" in opened
    assert "hinge block, epoxy 30 minutes: full load from 2026-05-17 08:00" in opened
    assert "Screw of the servo arm works loose on sv-23: not yet looked at" in opened


def test_an_incident_shows_what_was_found_and_the_check_without_a_result(
    view: DossierView,
) -> None:
    told = words_of(view, "incidents")
    assert "2025-06-07: hard landing (left leg first)" in told
    assert "former cut out and replaced, glass both sides (cause: hard landing)" in told
    (story,) = view.incidents
    results = {task.id: event.moment.day if event else None for task, event in story.checks}
    assert results == {"gear-mounts": date(2025, 6, 9), "spar-look": None}


def test_nothing_is_asked_of_what_stays_behind(view: DossierView) -> None:
    assert all(line.item.subject != ("part", "pk-04") for line in view.due)
    assert [part.file.name for part in view.staying] == ["pk-04"]
    assert "pk-04" not in {part.file.name for part in view.parts}
    alone = view_dossier(read_ledger(), "kestrel", DAY, DossierFacts("0.1"))
    assert any(line.item.subject == ("part", "pk-04") for line in alone.due)


def test_life_throws_balance_and_lines_are_told(view: DossierView) -> None:
    assert "8:12 h of 25:00 h engine time left (maker: service each 25 h)" in words_of(
        view, "totals"
    )
    assert "-1.4 !" in words_of(view, "throws")
    assert "inside, 2.3 mm from a limit" in words_of(view, "balance")
    fasteners = words_of(view, "fasteners")
    assert "both green in the bundle floor" in fasteners
    assert "A figure to start from, not a permission" in fasteners
    assert "lost 0.17 bar in 20 min at one temperature, inside its limit" in fasteners


def test_the_history_says_how_late_each_record_was_written(view: DossierView) -> None:
    section = section_of(view, "history")
    table = next(block for block in section.blocks if isinstance(block, Table))
    assert len(table.rows) == view.pages.records == 34
    late = {row.cells[-1]: row.cells[-2] for row in table.rows if row.cells[-2] != "0 d"}
    assert sorted(late.values()) == ["36 d", "36 d", "8 d"]
    assert "3 written more than 2 days later" in section.answer


def test_the_first_inspection_names_what_the_records_ask_for(view: DossierView) -> None:
    (boxes,) = (b for b in section_of(view, "inspection").blocks if isinstance(b, Boxes))
    groups = dict(boxes.groups)
    assert ("wheel brake weak, left", "limiting, found 2025-07-12") in groups["What is open"]
    assert any("spar-look" in box for box, _ in groups["Notices and checks not settled"])
    hurt = groups["Where it was hurt or mended"]
    assert (
        "After the hard landing (left leg first) of 2025-06-07",
        "1 check without a result",
    ) in hurt
    assert ("longer screws at the nose gear plate", "nose-gear") in groups[
        "What differs from the manual"
    ]
    assert groups["Parts that stay behind: what takes their place"]
    assert len(groups["At every change of owner"]) > 10


# --- what was never recorded --------------------------------------------------


def test_an_aircraft_without_records_says_so() -> None:
    files = {
        "fleet.yaml": b'schema: 1\nname: "x"\n',
        "aircraft/gull/aircraft.yaml": b'id: gull000001\ntitle: "Gull"\n',
    }
    nodes = [(path, parse_text(path, data).node) for path, data in files.items()]
    bare = view_dossier(Ledger(build_records(nodes)), "gull", DAY, DossierFacts(""))
    check_inert(render_dossier(bare))
    told = render_dossier_text(bare)
    for words in (
        "never weighed",
        "no flight recorded",
        "no programme of checks is followed",
        "no control throws are recorded",
        "That none is recorded does not mean that none happened",
    ):
        assert words in " ".join(told.split()), words


# --- bad input -----------------------------------------------------------------


def test_markup_in_every_text_stays_words() -> None:
    keys = "title|text|action|reason|cause|note|manual|why|limit|function|protection|reference"
    quoted = HOSTILE.replace("\\", "\\\\").replace('"', '\\"')

    def poison(text: str) -> str:
        for key in keys.split("|"):
            text = re.sub(
                rf'(?m)(^|[\s{{,])({key}: )"[^"\n]*"',
                lambda found: f'{found[1]}{found[2]}"{quoted}\\u202E\\e[31m"',
                text,
            )
        return text

    hostile = view_dossier(read_ledger(poison), "kestrel", DAY, FACTS)
    page = render_dossier(hostile)
    found = check_inert(page)
    assert "".join(found.words).count("alert(1)") > 30
    assert squeeze(HOSTILE) in squeeze("".join(found.words))
    told = render_dossier_text(hostile)
    for bad in ("\x1b", "\u202e", "<script", 'javascript:alert(2)"'):
        assert bad not in page, bad
    assert not {"\x1b", "\u202e"} & set(told)
    assert max(len(line) for line in told.splitlines()) <= WIDTH


WORDS = st.text(max_size=60)


@given(st.lists(WORDS, min_size=4, max_size=4), st.sampled_from(["plain", "stop", "attend"]))
def test_whatever_is_written_pages_stay_whole(words: list[str], tone: str) -> None:
    one, two, three, four = words
    section = Section(
        "any",
        one,
        two,
        (
            Words(three, tone),
            Head(four),
            Listed((one, two)),
            Pairs(((one, two), (three, four))),
            Table((one, f">{two}"), (Row((three, four), tone), Row((one, two)))),
            Boxes(((one, ((two, three),)),)),
        ),
    )
    document = Document(one, two, Pairs(((three, four),)), (section,), (), (), (four,))
    check_inert(draw_page(document))
    told = draw_text(document)
    assert not {"\x1b", "\u202e", "\x00", "\u2028"} & set(told)


def test_a_photo_stands_in_the_page_and_other_files_by_name() -> None:
    record = (
        'record: "note"\nid: "ph0t0aaaaa"\nwhen: "2025-06-08"\naircraft: "kestrel"\n'
        'text: "the left leg"\nabout: "nvq5ew3vn6"\nattachment: "attachments/leg.jpg"\n'
    )
    path = "aircraft/kestrel/events/2025/06/2025-06-08-note-ph0t0aaaaa.yaml"
    kept = "aircraft/kestrel/attachments/leg.jpg"
    ledger = read_ledger(more={path: record})
    jpeg = b"\xff\xd8\xff\xe0" + bytes(range(256))
    for data, shown in ((jpeg, True), (b"<svg onload=alert(1)>", False)):
        facts = DossierFacts("0.1", pictures={kept: data}, other_files=2)
        page = render_dossier(view_dossier(ledger, "kestrel", DAY, facts))
        found = check_inert(page)
        assert ("img" in found.tags) is shown
        assert ("data:image/jpeg;base64,/9j/4AAB" in page) is shown
        assert "crack at the leg mount: the left leg" in page
        assert "2 kept files are not carried" in page
    without = render_dossier_text(view_dossier(ledger, "kestrel", DAY, FACTS))
    assert "leg.jpg" in without


# --- from a real handover --------------------------------------------------------


def test_a_handover_put_together_makes_a_dossier(tmp_path: Path) -> None:
    fleet = make_event_fleet(tmp_path)
    prepared = prepare(open_fleet(fleet), Wish("heron"), DAY)
    scope = prepared.scope
    facts = DossierFacts("0.1", scope.stubs, scope.shared, masked=prepared.masked)
    view = view_dossier(prepared.ledger, "heron", DAY, facts)
    told = render_dossier_text(view)
    check_inert(render_dossier(view))
    assert "Vera Example" not in told
    assert "Kestrel" not in told
    assert [part.file.name for part in view.staying] == ["pk-04"]


def test_a_picture_in_a_page_is_searched_as_what_it_holds() -> None:
    tokens = make_tokens(["Hedwig Quarrel"], (), (), frozenset())
    plain = b64encode(b"\xff\xd8\xff" + b"hedwig" * 50)
    named = b64encode(b"\xff\xd8\xff" + b"-" * 300 + b"Hedwig Quarrel")
    page = b'<img src="data:image/jpeg;base64,%s">'
    assert scan_texts({"dossier.html": page % named}, tokens)
    assert not scan_texts({"dossier.html": page % b64encode(b"\xff" * 900)}, tokens)
    assert scan_texts({"dossier.html": page % plain + b"Hedwig Quarrel"}, tokens)
    # What only looks like one is searched as the text it is.
    assert scan_texts({"dossier.html": b";base64,abc Hedwig Quarrel"}, tokens)
