"""Whatever is typed, a plan is refused with a way out, or every record in it reads back whole."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest
from event_fleet import FILES, open_clerk
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fleets import make_fleet
from register.entry.amended_values import COMMON, KEYS
from register.entry.amending import plan_amend
from register.entry.clerk import Clerk, Plan, Stamp
from register.entry.dones import DoneWords, plan_done
from register.entry.flights import FlightWords, plan_fly
from register.entry.snags import SnagWords, plan_snag
from register.ledger.settling import settle_events
from register.records.events import build_event
from register.text.parsing import parse_text
from register.trouble import Exit, RegisterError

WORDS = st.one_of(
    st.sampled_from(
        [
            "3",
            "0",
            "-1",
            "7,8",
            "12 min",
            "0.2h",
            "yesterday",
            "2026-05-09",
            "heron",
            "pk-04",
            "f1rs",
            "f1rs:2",
            "none",
            "pass",
            "null",
            "~",
            "yes",
            "[]",
            '"',
            "\\",
            "a: b",
            "#",
            "é",
        ]
    ),
    st.text(max_size=15),
)
READ_ONCE = settings(suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture(scope="module")
def fleet(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return make_fleet(tmp_path_factory.mktemp("plans"), FILES)


def attempt(make: Callable[[], Plan]) -> tuple[Plan | None, RegisterError | None]:
    """The plan, or the refusal."""
    try:
        return make(), None
    except RegisterError as error:
        return None, error


def check_outcome(clerk: Clerk, plan: Plan | None, error: RegisterError | None) -> None:
    """Refused with a way out; or whole records, and no harm to those already there."""
    if plan is None:
        assert error is not None
        assert error.exit_code in (Exit.USAGE, Exit.REFUSED)
        assert error.says
        assert error.mend
        return
    zone = clerk.ledger.records.zone
    originals = list(clerk.ledger.settled.originals.values())
    for change in plan.changes:
        assert change.before is None
        parsed = parse_text(change.path, change.after)
        assert parsed.problems == ()
        assert parsed.node is not None
        event, problems = build_event(change.path, parsed.node, zone)
        assert problems == ()
        assert event is not None
        originals.append(event)
    settled = settle_events(originals, zone)
    assert [problem for problem in settled.problems if problem.level == "error"] == []
    assert "\n" not in plan.message


@READ_ONCE
@given(st.lists(st.tuples(st.sampled_from([*KEYS["flights"], *COMMON]), WORDS), max_size=3))
def test_amending_flights(fleet: Path, pairs: list[tuple[str, str]]) -> None:
    clerk = open_clerk(fleet)
    typed = [f"{key}={value}" for key, value in pairs]
    check_outcome(clerk, *attempt(lambda: plan_amend(clerk, "f1rs", typed, Stamp())))


@READ_ONCE
@given(st.lists(st.tuples(st.sampled_from([*KEYS["install"], *COMMON]), WORDS), max_size=2))
def test_amending_an_install(fleet: Path, pairs: list[tuple[str, str]]) -> None:
    clerk = open_clerk(fleet)
    typed = [f"{key}={value}" for key, value in pairs]
    check_outcome(clerk, *attempt(lambda: plan_amend(clerk, "k0tu", typed, Stamp())))


@READ_ONCE
@given(
    st.one_of(st.none(), WORDS),
    st.one_of(st.none(), WORDS),
    st.one_of(st.none(), WORDS),
    st.one_of(st.none(), WORDS),
    st.lists(WORDS, max_size=2),
)
def test_flights(
    fleet: Path,
    count: str | None,
    minutes: str | None,
    each: str | None,
    at: str | None,
    packs: list[str],
) -> None:
    clerk = open_clerk(fleet)
    words = FlightWords(count, minutes, each, None, packs)
    check_outcome(clerk, *attempt(lambda: plan_fly(clerk, "heron", words, Stamp(at=at))))


@READ_ONCE
@given(st.lists(WORDS, max_size=3), st.one_of(st.none(), WORDS), st.one_of(st.none(), WORDS))
def test_snags(fleet: Path, text: list[str], severity: str | None, position: str | None) -> None:
    clerk = open_clerk(fleet)
    words = SnagWords(text, severity, position)
    check_outcome(clerk, *attempt(lambda: plan_snag(clerk, "heron", words, Stamp())))


@READ_ONCE
@given(WORDS, WORDS, st.lists(WORDS, max_size=2))
def test_dones(fleet: Path, task: str, subject: str, readings: list[str]) -> None:
    clerk = open_clerk(fleet)
    words = DoneWords(readings)
    for what in (task, "pack-test", "surface-play"):
        for where in (subject, "heron", "pk-04"):
            make = partial(plan_done, clerk, what, where, words, Stamp())
            check_outcome(clerk, *attempt(make))
