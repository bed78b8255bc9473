"""Names of threads: every way they are written, and what is none of them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from register.records.threads import ThreadError, next_larger, parse_thread


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("M3", "M3"),
        ("m3", "M3"),
        (" M 3 ", "M3"),
        ("M3x0.5", "M3"),
        ("M3 x 0,5", "M3"),
        ("M3\u00d70.35", "M3x0.35"),
        ("M2.5", "M2.5"),
        ("M2.50", "M2.5"),
        ("M8x1", "M8x1"),
        ("4-40", "#4-40"),
        ("#4-40", "#4-40"),
        ("No. 4-40", "#4-40"),
        ("#4 - 40 UNC", "#4-40"),
        ("1/4-20", "1/4-20"),
        ("1/4-28 UNF", "1/4-28"),
        ("#0", "#0-80"),
        ("ST2.9", "ST2.9"),
        ("st 2.9", "ST2.9"),
    ],
)
def test_ways_of_writing(typed: str, name: str) -> None:
    assert parse_thread(typed).name == name


@pytest.mark.parametrize(
    ("typed", "mend"),
    [
        ("M3x10", "length beside it: 10"),
        ("M3x0.6", '"M3" or "M3x0.35"'),
        ("M7", '"M6"'),
        ("M0", '"M1"'),
        ("#4", '"#4-40" or "#4-48"'),
        ("#4-44", '"#4-40" or "#4-48"'),
        ("#7-40", '"#4-40"'),
        ("1/3-20", '"1/4-20"'),
        ("3", '"M3"'),
        ("", '"M3"'),
        ("three", '"M3"'),
        ("M3x", '"M3"'),
        ("ST0", '"M3"'),
        ("M" + "9" * 9999, '"M12"'),
        ("M\u0663", '"M3"'),
    ],
)
def test_what_is_no_thread_says_what_may_be_meant(typed: str, mend: str) -> None:
    with pytest.raises(ThreadError) as found:
        parse_thread(typed)
    assert found.value.says
    assert mend in found.value.for_file
    assert len(found.value.says) < 200


def test_a_shell_takes_the_mend_of_a_command_line() -> None:
    """A # would begin a comment there."""
    with pytest.raises(ThreadError) as found:
        parse_thread("#4")
    assert found.value.for_line == "4-40 or 4-48"
    assert parse_thread("4-40").name == "#4-40"


def names_for(text: str) -> tuple[str, ...]:
    """The name of the thread meant, or those that are offered."""
    try:
        return (parse_thread(text).name,)
    except ThreadError as error:
        return error.names


@given(st.text(max_size=40) | st.from_regex(r"[mM#]?[0-9.]{1,3}[x/-]?[0-9.]{0,3}", fullmatch=True))
def test_any_text_leads_to_names_that_read_as_themselves(text: str) -> None:
    names = names_for(text)
    assert names
    assert all(parse_thread(name).name == name for name in names)


@pytest.mark.parametrize(
    ("typed", "larger"),
    [("M3", "M4"), ("M3x0.35", "M4"), ("M2.5", "M3"), ("#4-40", "#6-32"), ("#10-32", "1/4-20")],
)
def test_the_next_larger_is_one_that_is_sold(typed: str, larger: str) -> None:
    found = next_larger(parse_thread(typed))
    assert found is not None
    assert found.name == larger
    assert found.diameter > parse_thread(typed).diameter


@pytest.mark.parametrize("typed", ["M12", "3/8-16", "ST2.9"])
def test_beyond_the_tables_there_is_none(typed: str) -> None:
    assert next_larger(parse_thread(typed)) is None


def test_a_pitch_in_mm_is_what_one_turn_moves() -> None:
    """One turn of a 4-40 moves 25.4/40 mm."""
    assert parse_thread("4-40").pitch == Decimal("0.635")
