"""Long lines of an acknowledgement are folded; what is to be typed stays in one piece."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from cli.render.folding import fold_line
from cli.render.layout import width_of

WORDS = st.lists(st.text("abcdefgh-:,", min_size=1, max_size=14), max_size=30).map(" ".join)


def test_a_short_line_stays_as_it_is() -> None:
    assert list(fold_line("  note: ", "two  spaces stay", 40, 4)) == ["  note: two  spaces stay"]


def test_rows_hang_and_a_command_goes_on_a_row_of_its_own() -> None:
    text = "heron has the joint hatch: tailsheaf amend qj6v joint=hatch   next time: say it"
    assert list(fold_line("  ", text, 50, 4)) == [
        "  heron has the joint hatch:",
        "    tailsheaf amend qj6v joint=hatch   next time:",
        "    say it",
    ]


def test_a_command_in_brackets_or_before_more_words_ends_there() -> None:
    text = "flown without it today (tailsheaf due heron) and again; tailsheaf fix abcd ok; so"
    rows = list(fold_line("  ", text, 32, 4))
    assert max(map(len, rows)) <= 32
    assert any("(tailsheaf due heron)" in row for row in rows)
    assert any("tailsheaf fix abcd ok;" in row for row in rows)


def test_a_command_wider_than_a_row_is_not_broken() -> None:
    command = "tailsheaf cure heron hinge --adhesive 'epoxy' --handling 3h --full 24h"
    rows = list(fold_line("  ", f"again: {command}", 40, 4))
    assert rows == ["  again:", f"    {command}"]


# What begins with two dashes is to be typed itself, and takes along what follows.
@given(WORDS.filter(lambda words: "--" not in words), WORDS, st.integers(24, 100))
def test_nothing_is_lost_and_nothing_is_wider_but_one_piece(
    before: str, after: str, width: int
) -> None:
    command = "tailsheaf snag q4x7 -s limiting"
    text = f"{before} {command}   {after}"
    rows = list(fold_line("  note: ", text, width, 4))
    assert " ".join(" ".join(rows).split()) == " ".join(f"note: {text}".split())
    assert any(command in row for row in rows)
    for row in rows:
        if width_of(row) > width:
            piece = row.removeprefix("  note: ").strip()
            assert piece == command or " " not in piece
