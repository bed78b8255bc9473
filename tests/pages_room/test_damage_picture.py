"""The picture of damage: well-formed, self-contained, nothing over another, readable."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont
from workshop_room.drawn_fleet import make_drawn_fleet

from fleets import run
from register.desk import open_fleet
from register.pages.damage_svg import PAGE_HEIGHT, PAGE_WIDTH, RADIUS, WIDTH, draw_damage
from register.pages.damage_text import draw_rows
from register.pages.markup import clean_markup, widths_of, wrap_widths
from register.views.damage import DamageView, view_damage

NAME = "{http://www.w3.org/2000/svg}"
DAY = date(2026, 5, 16)
HOSTILE = '<script>alert("x")</script>&amp;\x1b[31m\u202egnorw]]>'


def view_of(fleet: Path) -> DamageView:
    return view_damage(open_fleet(fleet).ledger_at(DAY), "kestrel", DAY, ())


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Fifteen marks, several of them crowded."""
    made = make_drawn_fleet(tmp_path_factory.mktemp("picture"))
    for n in range(8):
        place = f"{40 + 3 * n} from trailing edge, {300 + 4 * n} from root"
        run("snag", "kestrel", f"pin hole {n}", "--zone", "right-wing", "--place", place,
            "--size", "3", "-s", "c", fleet=made)  # fmt: skip
    for words in (
        ["crack", "--zone", "fin", "--place", "20 tip, 30 te", "-s", "g"],
        ["dent", "--zone", "body", "--size", "90", "-s", "m"],
        ["dent two", "--zone", "body", "-s", "m"],
        ["far out", "--zone", "left-wing", "--place", "0,5000", "-s", "c"],
        ["not rated", "--zone", "left-wing", "--place", "0,0"],
        ["nowhere", "-s", "c"],
        ["a very long description of one scratch that runs along the whole leading edge " * 4,
         "--zone", "fin", "-s", "c", "--finish", "metallic silver blue, two-pack, flattened"],
    ):  # fmt: skip
        assert run("snag", "kestrel", *words, fleet=made).exit_code == 0
    return made


@pytest.fixture(scope="module")
def picture(fleet: Path) -> ET.Element:
    return ET.fromstring(draw_damage(view_of(fleet)))  # noqa: S314 - our own output


@pytest.fixture(scope="module")
def column(picture: ET.Element) -> ET.Element:
    """What a screen shows: everything in one column."""
    return group_of(picture, "phone")


def group_of(picture: ET.Element, name: str) -> ET.Element:
    (found,) = (item for item in picture.iter(f"{NAME}g") if item.get("class") == name)
    return found


def number(element: ET.Element, name: str) -> float:
    return float(element.attrib[name])


def badges(picture: ET.Element) -> list[tuple[float, float]]:
    """Centres of all badges, of the views and of the legend."""
    rings = [
        (number(item, "cx"), number(item, "cy"))
        for item in picture.iter(f"{NAME}circle")
        if item.attrib["class"] == "n"
    ]
    squares = [
        (
            number(item, "x") + number(item, "width") / 2,
            number(item, "y") + number(item, "height") / 2,
        )
        for item in picture.iter(f"{NAME}rect")
        if item.attrib["class"] == "g"
    ]
    return rings + squares


def test_every_mark_has_its_badges_and_none_lies_on_another(
    column: ET.Element, fleet: Path
) -> None:
    found = badges(column)
    marks = view_of(fleet).marks
    assert len(marks) == 15
    placed = sum(mark.where is not None for mark in marks)
    assert len(found) == len(marks) + placed
    for n, one in enumerate(found):
        assert all(math.dist(one, other) >= 2 * RADIUS - 0.2 for other in found[n + 1 :])


def test_everything_lies_on_the_page(picture: ET.Element, column: ET.Element) -> None:
    _, _, wide, high = (float(word) for word in picture.attrib["viewBox"].split())
    assert wide == WIDTH
    for x, y in badges(column):
        assert RADIUS <= x <= wide - RADIUS
        assert RADIUS <= y <= high - RADIUS
    for shape in column.iter(f"{NAME}polygon"):
        for pair in shape.attrib["points"].split():
            x, y = (float(word) for word in pair.split(","))
            assert 0 <= x <= wide
            assert 0 <= y <= high


def test_no_line_of_words_runs_over_the_edge(column: ET.Element) -> None:
    """Measured with the letters of a real font: Pillow's own, a little narrower than most."""
    sizes = {"h": 18, "z": 13, "f": 12, "w": 13, "k": 12, "kg": 12}
    seen = 0
    for line in column.iter(f"{NAME}text"):
        style = line.attrib["class"]
        font = ImageFont.load_default(sizes[style])
        width = font.getlength(line.text or "")
        left = number(line, "x") - (width / 2 if style in ("k", "kg") else 0)
        assert left >= 0
        assert left + width <= WIDTH, line.text
        # At the width of a telephone a unit is a CSS pixel: no words under 12.
        assert sizes[style] >= 12
        seen += 1
    assert seen > 40


def test_it_is_complete_in_itself_and_follows_light_and_dark(fleet: Path) -> None:
    text = draw_damage(view_of(fleet))
    assert not re.search(r"<script|javascript:|@import|url\(|href|<image|<foreignObject", text)
    assert re.findall(r"https?://[^\s\"']+", text) == ["http://www.w3.org/2000/svg"]
    for words in ("prefers-color-scheme:dark", "@media print", "size:A4 portrait"):
        assert words in text


@pytest.mark.parametrize("name", ["phone", "paper"])
def test_the_legend_names_every_mark(picture: ET.Element, fleet: Path, name: str) -> None:
    text = " ".join(line.text or "" for line in group_of(picture, name).iter(f"{NAME}text"))
    for mark in view_of(fleet).marks:
        assert mark.state.text[:20] in text
    for words in ("500 Left wing", "no zone named", "500 mm", "from the left"):
        assert words in text


MOVED = re.compile(r"translate\(([-\d.]+) ([-\d.]+)\) scale\(([\d.]+)\)")


def moved(element: ET.Element) -> tuple[float, float, float]:
    found = MOVED.fullmatch(element.attrib["transform"])
    assert found is not None
    return float(found[1]), float(found[2]), float(found[3])


def test_on_paper_every_block_lies_on_the_page_and_below_the_one_before(
    picture: ET.Element,
) -> None:
    paper = group_of(picture, "paper")
    assert paper.attrib["display"] == "none"
    lowest: dict[float, float] = {}
    for block in paper:
        x, y, scale = moved(block)
        lines = [number(line, "y") for line in block.iter(f"{NAME}text")]
        top, bottom = y + (min(lines) - 13) * scale, y + max(lines) * scale
        assert 0 <= x < PAGE_WIDTH
        assert bottom <= PAGE_HEIGHT
        assert top >= lowest.get(x, 0.0)
        lowest[x] = bottom
    assert len(lowest) > 1


def test_hostile_words_stay_words(tmp_path: Path) -> None:
    made = make_drawn_fleet(tmp_path)
    path = made / "aircraft/kestrel/events/2026/05/2026-05-10-snag-h0st1leaaa.yaml"
    path.parent.mkdir(parents=True)
    words = '"<script>alert(1)</script>&amp; \\u202egnorw \\e[31m \\" \' ]]>"'
    path.write_text(
        'record: "snag"\nid: "h0st1leaaa"\nwhen: "2026-05-10"\naircraft: "kestrel"\n'
        f"text: {words}\nfinish: {words}\nzone: {words}\nseverity: cosmetic\n"
    )
    text = draw_damage(view_of(made))
    ET.fromstring(text)  # noqa: S314 - our own output
    assert "<script" not in text
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e]", text)


@given(st.text(max_size=60))
def test_any_text_can_be_marked_up(text: str) -> None:
    marked = clean_markup(text)
    element = ET.fromstring(f"<a b='{marked}'>{marked}</a>")  # noqa: S314 - our own output
    assert element.text == element.attrib["b"] or not marked


def test_the_hostile_sample_is_escaped() -> None:
    assert "<" not in clean_markup(HOSTILE)
    assert "\x1b" not in clean_markup(HOSTILE)


@given(st.text(max_size=200), st.integers(8, 60), st.integers(1, 4))
def test_wrapped_lines_are_no_wider_than_asked(text: str, width: int, most: int) -> None:
    lines = wrap_widths(text, width, most)
    assert len(lines) <= most
    assert all(widths_of(line) <= width for line in lines)


@pytest.mark.parametrize("columns", [30, 60, 78, 120])
@pytest.mark.parametrize("ascii_only", [True, False])
def test_rows_of_a_terminal_fit_and_hold_every_number(
    fleet: Path, columns: int, ascii_only: bool
) -> None:
    view = view_of(fleet)
    rows = draw_rows(view, columns, ascii_only=ascii_only)
    drawn = ["".join(text for text, _ in row) for told, row in rows if not told]
    assert all(len(line) <= columns + 1 for line in drawn)
    numbers = [text for _, row in rows for text, mark in row if mark]
    placed = [str(mark.number) for mark in view.marks if mark.where is not None]
    assert sorted(numbers) == sorted(placed)
    assert ascii_only == all(line.isascii() for line in drawn)


def test_both_views_are_told_apart(fleet: Path) -> None:
    rows = draw_rows(view_of(fleet), 78, ascii_only=True)
    told = [words for words, _ in rows if words]
    assert told == ["from above: nose left, right wing up", "from the left"]
