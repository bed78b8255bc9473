"""worklist: what is asked, what is answered, what is said of bad input, and the page."""

from __future__ import annotations

import json
import shutil
from datetime import UTC, datetime
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from commands.bench_fleet import EVENTS, FILES, make_bench_fleet
from event_fleet import events_of, make_event_fleet

from fleets import Golden, run, run_json

ASKED = ("worklist", "swift", "--until", "2026-05-16", "--on", "2026-05-13")


@pytest.fixture
def fleet(tmp_path: Path) -> Path:
    return make_bench_fleet(tmp_path)


def steps_of(data: Any) -> list[str]:
    return [step["step"] for step in data["steps"]]


def step(data: Any, id_: str) -> Any:
    return next(step for step in data["steps"] if step["step"] == id_)


def swift(**changed: str) -> dict[str, str]:
    """The aircraft's file with some of its text replaced: old=new as pairs."""
    text = FILES["aircraft/swift/aircraft.yaml"]
    for old, new in zip(changed["old"].split("|"), changed["new"].split("|"), strict=True):
        assert old in text
        text = text.replace(old, new)
    return {"aircraft/swift/aircraft.yaml": text}


def grown(name: str, line: str) -> str:
    """One of the files with a line more."""
    return f"{FILES[name].rstrip()}\n        {line}\n"


@pytest.mark.parametrize("columns", [80, 120])
def test_the_screen(
    fleet: Path, golden: Golden, columns: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", str(columns))
    result = run(*ASKED, fleet=fleet)
    assert result.exit_code == 0
    assert not result.err
    golden(f"screens/worklist-{columns}", result.out)


def test_everything_due_every_snag_and_every_job_is_on_it(fleet: Path) -> None:
    data = run_json(*ASKED, fleet=fleet)
    works = {(s["work"]["kind"], s["work"]["id"]) for s in data["steps"] if s["work"]}
    assert works == {
        ("task", "leak-down"), ("task", "hinge-pull"), ("task", "range-test"),
        ("job", "j1aaaaaaaa"), ("job", "j2aaaaaaaa"),
        ("snag", "s1aaaaaaaa"), ("snag", "s2aaaaaaaa"), ("snag", "s3aaaaaaaa"),
    }  # fmt: skip
    order = steps_of(data)
    assert len(order) == len(set(order))
    for arrow in data["before"]:
        assert order.index(arrow["first"]) < order.index(arrow["then"])
    assert data["complete"]
    assert data["labour"]["stated_minutes"] == 67
    assert data["labour"]["steps_without"] == 7


def test_a_sheared_screw_is_mended_with_its_cover_off(fleet: Path) -> None:
    order = steps_of(run_json(*ASKED, fleet=fleet))
    snag = order.index("do snag s1aaaaaaaa")
    assert order.index("off bay-cover") < snag < order.index("on bay-cover")


def test_when_to_begin_and_when_it_can_fly(fleet: Path) -> None:
    """Glued Wednesday 19:05-19:25, load after 12 h; what waits for it is done on Thursday."""
    data = run_json(*ASKED, fleet=fleet)
    glue = step(data, "do job j1aaaaaaaa")
    assert glue["ends"] == "2026-05-13T19:25:00+00:00"
    assert glue["full_at"] == "2026-05-14T07:25:00+00:00"
    assert step(data, "do job j2aaaaaaaa")["begins"] == "2026-05-14T19:00:00+00:00"
    assert data["fly_at"] == "2026-05-14T19:32:00+00:00"
    assert data["latest_evening"] == "2026-05-14"
    # Friday 19:32 is too late for 10:00 of that day.
    sooner = run_json("worklist", "swift", "--until", "2026-05-15", *ASKED[4:], fleet=fleet)
    assert sooner["latest_evening"] == "2026-05-13"
    late = run("worklist", "swift", "--until", "2026-05-14", *ASKED[4:], fleet=fleet)
    assert "too late  begun Wed 2026-05-13 19:00" in late.out


def test_tonight_begins_now(fleet: Path) -> None:
    now = datetime(2026, 5, 13, 20, 40, tzinfo=UTC)
    data = run_json("worklist", "swift", "--until", "sat", fleet=fleet, now=now)
    assert data["until"] == "2026-05-16"
    assert data["start"] == "2026-05-13T20:40:00+00:00"
    night = datetime(2026, 5, 13, 22, 30, tzinfo=UTC)
    data = run_json("worklist", "swift", "--until", "sat", fleet=fleet, now=night)
    assert data["start"] == "2026-05-14T19:00:00+00:00"


def test_hours_and_minutes_of_ones_own(fleet: Path) -> None:
    words = ("--evening", "18-23:30", "--ready", "8", "--each", "40")
    data = run_json(*ASKED, *words, fleet=fleet)
    assert data["assumed"]["evening"] == "18:00-23:30"
    assert data["wanted_at"] == "2026-05-16T08:00:00+00:00"
    assert step(data, "do snag s2aaaaaaaa")["minutes"] == 40
    assert not step(data, "do snag s2aaaaaaaa")["minutes_stated"]


def test_planned_flights_bring_what_falls_due_in_them(fleet: Path) -> None:
    done = {
        f"{EVENTS}-10-task-done-d1.yaml": """
            record: "task-done"
            id: "d1aaaaaaaa"
            when: "2026-05-10"
            task: "leak-down"
            subject: "swift"
            """
    }
    fleet = make_bench_fleet(fleet / "second", done)
    assert "do task leak-down swift" not in steps_of(run_json(*ASKED, fleet=fleet))
    data = run_json(*ASKED, "--plan", "6", fleet=fleet)
    assert "before flight 6" in step(data, "do task leak-down swift")["work"]["due"]


def test_what_has_no_place_is_never_dropped(fleet: Path) -> None:
    data = run_json(*ASKED, fleet=fleet)
    assert {item["id"] for item in data["place_not_stated"]} == {
        "hinge-pull", "s2aaaaaaaa", "s3aaaaaaaa",
    }  # fmt: skip
    taken = {item["id"]: item["taken_as"] for item in data["place_not_stated"]}
    assert taken["s3aaaaaaaa"] == "gear-left"
    shown = run(*ASKED, fleet=fleet).out
    assert 'write  at: "PLACE"  (or "aircraft") in programmes/club.yaml, line' in shown
    assert "15  Pull on each hinge" in shown


def test_the_line_that_states_a_place_works(tmp_path: Path) -> None:
    fleet = make_event_fleet(tmp_path, FILES)
    data = run_json(*ASKED, fleet=fleet)
    line = next(i["mend"] for i in data["place_not_stated"] if i["id"] == "s2aaaaaaaa")
    words = line.removeprefix("tailsheaf ").replace("PLACE", "receiver").split()
    assert run(*words, fleet=fleet).exit_code == 0
    after = run_json(*ASKED, fleet=fleet)
    assert step(after, "do snag s2aaaaaaaa")["work"]["off"] == ["canopy", "hatch"]


def test_a_task_may_be_named_by_what_opens_to_it(tmp_path: Path) -> None:
    changed = swift(old="opens: [receiver]", new="opens: [receiver, hinge-pull]")
    data = run_json(*ASKED, fleet=make_bench_fleet(tmp_path, changed))
    assert step(data, "do task hinge-pull swift")["work"]["off"] == ["canopy", "hatch"]


def test_without_access_it_is_grouped_by_place(tmp_path: Path) -> None:
    text = FILES["aircraft/swift/aircraft.yaml"]
    bare = text[: text.index("        access:")]
    free = FILES[f"{EVENTS}-03-job-j2.yaml"].replace('waits_for: ["j1aaaaaaaa"]', "")
    files = {"aircraft/swift/aircraft.yaml": bare, f"{EVENTS}-03-job-j2.yaml": free}
    fleet = make_bench_fleet(tmp_path, files)
    data = run_json(*ASKED, fleet=fleet)
    assert {s["action"] for s in data["steps"]} == {"do"}
    places = [s["work"]["at"] for s in data["steps"] if s["work"]["where"] == "place"]
    # The gear lies in its bay, and the bay is looked at together with it.
    assert places == ["receiver", "receiver", "gear-bay", "gear-left", "bay-screws"]
    shown = run(*ASKED, fleet=fleet)
    assert "No access is described" in shown.out
    assert "tailsheaf kit --skeleton access" in shown.out


def test_an_order_that_cannot_be_is_named_with_both_ends(tmp_path: Path) -> None:
    changed = swift(
        old='canopy: {title: "Canopy",', new='canopy: {title: "Canopy", needs: [hatch],'
    )
    fleet = make_bench_fleet(tmp_path, changed)
    result = run(*ASKED, fleet=fleet)
    assert result.exit_code == 1
    flat = " ".join(result.out.split())
    assert "canopy needs hatch off first (line 28), and hatch needs canopy off first" in flat
    assert "change line 28 or line 32: one of them must go" in flat
    assert "this list is made without: hatch needs canopy off first" in flat
    data = run_json(*ASKED, fleet=fleet, exit_code=1)
    assert not data["complete"]
    assert data["problems"][0]["code"] == "access-circle"
    assert len(data["steps"]) == 14


def test_jobs_that_wait_for_each_other_are_a_knot(tmp_path: Path) -> None:
    job = grown(f"{EVENTS}-03-job-j1.yaml", 'waits_for: ["j2aaaaaaaa"]')
    result = run(*ASKED, fleet=make_bench_fleet(tmp_path, {f"{EVENTS}-03-job-j1.yaml": job}))
    assert result.exit_code == 1
    flat = " ".join(result.out.split())
    assert "CANNOT BE DONE 'glue the tray rib' waits for 'new plug'" in flat
    assert f"({EVENTS}-03-job-j1.yaml:10); but 'new plug' waits for" in flat


def test_a_cure_without_a_time_makes_the_hour_untold(tmp_path: Path) -> None:
    job = FILES[f"{EVENTS}-03-job-j1.yaml"]
    job = job.replace("handling_minutes: 30, full_minutes: 720,", "")
    fleet = make_bench_fleet(tmp_path, {f"{EVENTS}-03-job-j1.yaml": job})
    data = run_json(*ASKED, fleet=fleet)
    assert data["fly_at"] is None
    assert data["latest_evening"] is None
    assert data["untold"] == ["glue the tray rib will have to cure, for how long is not stated"]
    assert "cannot be told" in run(*ASKED, fleet=fleet).out


def test_what_cures_already_holds_it_back(tmp_path: Path) -> None:
    cure = {
        f"{EVENTS}-13-cure-c1.yaml": """
            record: "cure"
            id: "c1aaaaaaaa"
            when: "2026-05-13T12:00+00:00"
            aircraft: "swift"
            text: "fin root"
            adhesive: "slow epoxy"
            full_minutes: 4320
            """
    }
    data = run_json(*ASKED, fleet=make_bench_fleet(tmp_path, cure))
    assert data["fly_at"] == "2026-05-16T12:00:00+00:00"
    assert data["latest_evening"] is None
    assert [item["what"] for item in data["curing"]] == ["fin root"]


def test_what_a_fix_opens_is_done_again_after_it(tmp_path: Path) -> None:
    task = '  - {id: "gear-swing", title: "Swing the gear", '
    task += 'start: [{when: "fix", positions: ["gear-left"]}]}'
    programme = grown("programmes/club.yaml", task)
    snag = grown(f"{EVENTS}-04-snag-s3.yaml", 'position: "gear-left"')
    files = {"programmes/club.yaml": programme, f"{EVENTS}-04-snag-s3.yaml": snag}
    data = run_json(*ASKED, fleet=make_bench_fleet(tmp_path, files))
    again = step(data, "again gear-swing")
    assert again["title"] == "Swing the gear"
    assert again["disturbed_by"] == ["snag s3aaaaaaaa"]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("nobody",), "nobody"),
        (("swift", "--until", "2026-05-01"), "before 2026-05-13"),
        (("swift", "--until", "2029-05-01"), "more than two years"),
        (("swift", "--until", "2026-05-32"), "2026-05-32"),
        (("swift", "--evening", "19"), "from when to when"),
        (("swift", "--evening", "25:00-26:00"), "from when to when"),
        (("swift", "--evening", "19:00-19:05"), "no time for work"),
        (("swift", "--ready", "half ten"), "no hour of the day"),
        (("swift", "--each", "0"), "no time for a piece of work"),
        (("swift", "--plan", "0"), "--plan"),
    ],
)
def test_bad_words_are_refused_with_the_way_out(
    fleet: Path, words: tuple[str, ...], says: str
) -> None:
    result = run("worklist", *words, "--on", "2026-05-13", fleet=fleet)
    assert result.exit_code == 2
    assert says in result.err
    assert not result.out


def test_the_order_of_files_changes_nothing(fleet: Path, tmp_path: Path) -> None:
    """The same records under other names, written in the opposite order."""
    other = tmp_path / "other"
    files = sorted((p for p in fleet.rglob("*") if p.is_file()), reverse=True)
    for n, path in enumerate(files):
        name = path.relative_to(fleet)
        target = other / name
        if "events" in name.parts:
            target = target.with_name(f"{name.name[:11]}{99 - n}-{name.name[11:]}")
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(path, target)
    one, two = run_json(*ASKED, fleet=fleet), run_json(*ASKED, fleet=other)

    def bare(data: Any) -> Any:
        return [
            {**s, "work": {**s["work"], "record": None} if s["work"] else None}
            for s in data["steps"]
        ]

    assert bare(one) == bare(two)
    assert one["before"] == two["before"]


class Page(HTMLParser):
    """What a page holds: tags, and the words of its body."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.names: list[tuple[str, str | None]] = []
        self.words = ""
        self._quiet = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.names.extend(attrs)
        self._quiet = tag == "style"

    def handle_endtag(self, tag: str) -> None:
        self._quiet = False

    def handle_data(self, data: str) -> None:
        self.words += "" if self._quiet else data


def read_page(path: Path) -> Page:
    page = Page()
    page.feed(path.read_text("utf-8"))
    return page


def test_the_page_holds_every_step_with_a_box(fleet: Path, tmp_path: Path) -> None:
    data = run_json(*ASKED, "--page", tmp_path / "list.html", fleet=fleet)
    assert data["page"] == str(tmp_path / "list.html")
    page = read_page(tmp_path / "list.html")
    assert all(item["title"] in page.words for item in data["steps"])
    boxes = page.names.count(("class", "b"))
    brought = sum(len(data[k]) for k in ("tools", "fasteners", "fresh_fasteners", "materials"))
    assert boxes == len(data["steps"]) + brought + 1
    assert "Before flying" in page.words
    assert "size:A4" in (tmp_path / "list.html").read_text("utf-8")
    # Nothing is fetched, and nothing runs.
    assert not {"script", "link", "img", "iframe"} & set(page.tags)
    assert not {name for name, _ in page.names} & {"src", "href", "onload", "style"}


def test_a_page_is_written_again_but_nothing_else_is_overwritten(
    fleet: Path, tmp_path: Path
) -> None:
    path = tmp_path / "list.html"
    assert run(*ASKED, "--page", path, fleet=fleet).exit_code == 0
    assert run(*ASKED, "--page", path, fleet=fleet).exit_code == 0
    path.write_bytes(b"my notes")
    assert run(*ASKED, "--page", path, fleet=fleet).exit_code == 4
    assert path.read_bytes() == b"my notes"


def test_text_of_a_stranger_stays_text(tmp_path: Path) -> None:
    snag = FILES[f"{EVENTS}-04-snag-s2.yaml"].replace(
        "rattle somewhere aft", "<script>alert(1)</script> \\e[31m & \\u202e"
    )
    fleet = make_bench_fleet(tmp_path, {f"{EVENTS}-04-snag-s2.yaml": snag})
    result = run(*ASKED, "--page", tmp_path / "list.html", fleet=fleet)
    assert result.exit_code == 0
    assert "\x1b" not in result.out
    page = read_page(tmp_path / "list.html")
    assert "script" not in page.tags
    assert "<script>alert(1)</script>" in page.words
    assert not {"\x1b", "\u202e"} & set(page.words)


def test_a_job_says_what_will_have_to_cure(tmp_path: Path) -> None:
    fleet = make_event_fleet(tmp_path)
    words = ("jobs", "heron", "rebond the left tray", "--cure", "rib epoxy=3h/1d")
    assert "180 min to handling, 1440 min to full load" in run(*words, fleet=fleet).out
    (job,) = events_of(fleet, "job")
    assert (job.body.cure.adhesive, job.body.cure.full_minutes) == ("rib epoxy", 1440)
    assert run("snag", "heron", "loose", "rib", "--cure", "90", fleet=fleet).exit_code == 0
    assert events_of(fleet, "snag")[0].body.cure.full_minutes == 90
    other = json.loads(run("jobs", "--other-hand", job.id, "--json", fleet=fleet).out)
    assert other
    assert events_of(fleet, "job")[1].body.cure == job.body.cure
    for wrong in ("3h/", "never heard of it"):
        refused = run("jobs", "heron", "glue", "--cure", wrong, fleet=fleet)
        assert refused.exit_code == 2
        assert "--cure" in refused.err
