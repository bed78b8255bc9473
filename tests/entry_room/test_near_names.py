"""A name is guessed only where the one typed is near."""

from __future__ import annotations

import pytest

from register.entry.naming import match_name
from register.trouble import RegisterError

KNOWN = ("heron", "tug", "vulcarn")


@pytest.mark.parametrize(
    ("typed", "guess"),
    [("hern", "heron"), ("herno", "heron"), ("tag", "tug"), ("vulcran", "vulcarn")],
)
def test_a_slip_is_guessed(typed: str, guess: str) -> None:
    with pytest.raises(RegisterError) as caught:
        match_name(typed, KNOWN, "aircraft")
    assert caught.value.mend == f"did you mean {guess}?"


@pytest.mark.parametrize("typed", ["mulegan", "wren", "falcon", "ten"])
def test_what_is_far_off_gets_the_list(typed: str) -> None:
    with pytest.raises(RegisterError) as caught:
        match_name(typed, KNOWN, "aircraft")
    assert caught.value.mend == "known: heron, tug or vulcarn"
