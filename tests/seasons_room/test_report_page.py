"""The report's page: self-contained, nothing runs, every word escaped, money only when asked."""

from __future__ import annotations

import re
import sys
from html.parser import HTMLParser
from pathlib import Path

import pytest
from seasons_room.season_fleet import DAY, make_season_fleet

from fleets import run
from register.pages.report_plots import load_plotter

HOSTILE = '</style><script>alert(1)</script><img src=x onerror=alert(2)>&"\\u202e'


class Tags(HTMLParser):
    """Every element with its attributes, the ones left open, and the words shown."""

    VOID = frozenset(("meta", "br", "wbr", "img", "link", "input", "hr"))

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """One begins."""
        self.found.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """One that is closed at once, as in a plot."""
        self.found.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        """One ends; it must be the last that began."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Words."""
        self.words.append(data)


def read_page(fleet: Path, *words: str) -> tuple[str, Tags]:
    """The page as written, and what it is made of."""
    page = fleet.parent / "page.html"
    result = run("report", *words, "--html", str(page), "--on", DAY, fleet=fleet)
    assert result.exit_code == 0, result
    text = page.read_text("utf-8")
    tags = Tags()
    tags.feed(text)
    assert not tags.open
    return text, tags


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    """The fleet of three seasons."""
    return make_season_fleet(tmp_path)


def test_nothing_runs_and_nothing_is_fetched(fleet: Path) -> None:
    text, tags = read_page(fleet)
    names = {name for name, _ in tags.found}
    assert not names & {"script", "link", "img", "iframe", "object", "embed", "form", "image"}
    for _, attributes in tags.found:
        assert not any(name.startswith("on") for name in attributes)
        for name in ("href", "xlink:href", "src"):
            assert (attributes.get(name) or "#").startswith("#")
    assert "default-src 'none'" in text
    # The name of the language of a drawing is the one address, and is not fetched.
    addresses = set(re.findall(r"https?://[^\s\"'<>)]+", text))
    assert addresses <= {"http://www.w3.org/2000/svg"}
    assert "url(" not in re.sub(r"url\(#[\w-]+\)", "", text)
    assert "@import" not in text


def test_the_page_has_every_chapter_and_a_plot_where_one_helps(fleet: Path) -> None:
    text, tags = read_page(fleet)
    anchors = [a["id"] for name, a in tags.found if name == "section"]
    assert anchors == ["standing", "due", "faults", "trends", "season", "days"]
    titles = [a["aria-label"] for name, a in tags.found if name == "svg"]
    assert "heron  play, mm" in titles
    assert {"Flights so far in each season", "Days not available, by aircraft"} <= set(titles)
    ids = [a["id"] for _, a in tags.found if a.get("id")]
    assert len(ids) == len(set(ids))
    # Letters stay letters: they can be searched, read aloud and enlarged.
    assert "<text" in text
    assert any(word.strip() == "limit 1.6" for word in tags.words)
    # No colour of the plotting library is left: all are the page's own.
    assert not re.findall(r"(?:fill|stroke): #\w+", text)


def test_whoever_is_handed_the_page_finds_no_line_to_type(fleet: Path) -> None:
    _, tags = read_page(fleet)
    said = " ".join(" ".join(tags.words).split())
    assert "tailsheaf" not in said
    on_screen = run("report", "--on", DAY, fleet=fleet).out
    assert "tailsheaf faults --figures" in " ".join(on_screen.split())


def test_what_breaks_is_told_one_by_one(fleet: Path) -> None:
    """The answer is one line; what it comes to is a list, on the page and on the screen."""
    text, tags = read_page(fleet)
    items = text.count("<li>")
    screen = run("report", "--on", DAY, fleet=fleet).out
    chapter = screen[screen.index("What keeps breaking") : screen.index("Readings that near")]
    assert chapter.count("\n  - ") == items
    assert ";" not in chapter.splitlines()[0]
    assert len([name for name, _ in tags.found if name == "ul"]) == (1 if items else 0)


def test_a_report_of_one_aircraft_does_not_name_it_in_every_row(fleet: Path) -> None:
    _, of_fleet = read_page(fleet)
    _, of_one = read_page(fleet, "heron")

    def named(tags: Tags) -> int:
        return sum(a.get("data-h") == "aircraft" for name, a in tags.found if name == "td")

    assert named(of_fleet) > 3
    # Its standing alone.
    assert named(of_one) == 1
    labels = [a["aria-label"] for name, a in of_one.found if name == "svg"]
    assert "Days not available, by aircraft" not in labels


def test_a_telephone_is_told_which_seasons_it_leaves_out(fleet: Path) -> None:
    """Three seasons fit its width; a fourth is left out there, and only there."""
    text, _ = read_page(fleet)
    assert "Earlier seasons" not in text
    early = "aircraft/heron/events/2023/05/2023-05-06-flights-e4r1yf1ght.yaml"
    older = fleet / early
    older.parent.mkdir(parents=True)
    older.write_text(
        'record: "flights"\nid: "e4r1yf1ght"\nwhen: "2023-05-06"\naircraft: "heron"\ncount: 2\n',
        "utf-8",
    )
    text, _ = read_page(fleet)
    assert text.count('<p class="fine narrow">Earlier seasons') == 1
    assert '<th scope="col" class="r old">2023/24</th>' in text


def test_one_page_is_written_alike_twice(fleet: Path) -> None:
    assert read_page(fleet)[0] == read_page(fleet)[0]


@pytest.mark.parametrize("place", ["snag", "title", "unit", "fleet"])
def test_words_of_a_record_are_words_on_the_page(tmp_path: Path, place: str) -> None:
    event = "aircraft/heron/events/2026/05/2026-05-12"
    more = {
        "snag": {
            f"{event}-snag-h0st1le000.yaml": 'record: "snag"\nid: "h0st1le000"\n'
            f'when: "2026-05-12"\naircraft: "heron"\ntext: \'{HOSTILE}\'\n'
            'severity: "grounding"\nfound: "after-flight"\n'
        },
        "title": {
            "programmes/jet.yaml": 'id: "prgjet0001"\ntasks:\n  - id: "look"\n    title: '
            f"'{HOSTILE}'\n    every: [{{counter: \"flights\", amount: 4}}]\n"
        },
        "unit": {
            f"{event}-reading-h0st1le000.yaml": 'record: "reading"\nid: "h0st1le000"\n'
            f"when: \"2026-05-12\"\nsubject: \"heron\"\nname: 'play'\nvalue: 3\nunit: '{HOSTILE}'\n"
        },
        "fleet": {"fleet.yaml": f"schema: 1\nname: '{HOSTILE}'\nhome_zone: \"UTC\"\n"},
    }[place]
    text, tags = read_page(make_season_fleet(tmp_path, more))
    assert not {name for name, _ in tags.found} & {"script", "img"}
    assert "\u202e" not in text
    assert all("onerror" not in attributes for _, attributes in tags.found)


def test_money_stands_on_the_page_only_when_asked(fleet: Path) -> None:
    text, _ = read_page(fleet)
    for word in ("money", "240 EUR", "Vera", "bearing set"):
        assert word not in text
    asked, _ = read_page(fleet, "--private", "--season", "2025")
    assert "240 EUR" in asked
    assert "for the owner alone" in asked
    assert "Vera" not in asked


def test_without_the_extra_the_page_has_its_tables_and_says_how_to_have_plots(
    fleet: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with_plots, _ = read_page(fleet)
    for name in [name for name in sys.modules if name.partition(".")[0] == "matplotlib"]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "matplotlib", None)
    assert load_plotter() is None
    page = fleet.parent / "bare.html"
    result = run("report", "--html", str(page), "--on", DAY, fleet=fleet)
    assert result.exit_code == 0
    assert "pip install" in result.err
    text = page.read_text("utf-8")
    assert "<svg" not in text
    assert "the extra figures (numpy, scipy, matplotlib)" in text
    assert sys.executable not in text
    assert text.count("<table") == with_plots.count("<table")


def test_a_file_that_is_not_a_page_is_left_alone(fleet: Path) -> None:
    other = fleet.parent / "notes.txt"
    other.write_text("mine", "utf-8")
    result = run("report", "--html", str(other), "--on", DAY, fleet=fleet)
    assert result.exit_code == 4
    assert other.read_text("utf-8") == "mine"
    other.write_text("<!doctype html><p>mine</p>", "utf-8")
    assert run("report", "--html", str(other), "--on", DAY, fleet=fleet).exit_code == 4
    assert run("report", "--html", "no/such/r.html", fleet=fleet).exit_code == 2


def test_the_screen_does_not_load_the_plots(fleet: Path) -> None:
    import subprocess

    code = (
        "import sys; sys.argv=['tailsheaf','--fleet',sys.argv[1],'report']\n"
        "from cli.main import run\n"
        "try:\n run()\nexcept SystemExit:\n pass\n"
        "sys.stderr.write(str(sorted({n.split('.')[0] for n in sys.modules} & "
        "{'matplotlib','numpy','scipy'})))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(fleet)], capture_output=True, text=True, check=True
    )
    assert done.stderr.endswith("[]")
