"""The questions of `day` about one aircraft, in the order of the pocket card."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from cli.asking import Asker, Walk, blank_none
from register.entry.amounts import read_count
from register.entry.day_checks import (
    CheckLine,
    day_aims,
    each_flight_aims,
    parse_checks,
    parse_readings,
    want_readings,
)
from register.entry.day_form import (
    AircraftDay,
    DoneLine,
    SwapLine,
    offer_answers,
    parse_done,
    parse_snag,
    parse_swap,
    read_engine_answer,
    read_minutes_answer,
)
from register.entry.flights import NO_PACK, FlightWords
from register.entry.subjects import find_part
from register.records.values import format_amount

if TYPE_CHECKING:
    from datetime import date

    from register.entry.clerk import Clerk
    from register.entry.snags import SnagWords


class AircraftForm:
    """One aircraft of a day: asked step by step, with the answers so far."""

    def __init__(self, asker: Asker, clerk: Clerk, name: str, typed: str | None, day: date):
        self.asker = asker
        self.clerk = clerk
        self.name = name
        self.typed = typed
        self.offered = offer_answers(clerk, name, day)
        self.count = 0
        self.minutes: tuple[str | None, str | None] = (None, None)
        self.engine: str | None = None
        self.packs: tuple[str, ...] = ()
        self.dones: tuple[DoneLine, ...] = ()
        self.checks: CheckLine | None = None
        self.each_flight: CheckLine | None = None
        self.swaps: tuple[SwapLine, ...] = ()
        self.snags: tuple[SnagWords, ...] = ()
        steps = (
            *(self._ask_dones, self._ask_checks, self._ask_readings, self._ask_each_flight),
            *(self._ask_count, self._ask_minutes, self._ask_engine, self._ask_packs),
            *(self._ask_swaps, self._ask_snags),
        )
        self.walk = Walk(asker, steps)
        if self.offered.flown:
            flown = self.offered.flown
            words = "1 flight" if flown == 1 else f"{flown} flights"
            asker.say(f"  {name} has {words} on that day already; these come on top")

    def answer(self) -> AircraftDay:
        """The aircraft's day as answered."""
        minutes, each = self.minutes
        flights = FlightWords(self.count, minutes, each, self.engine, self.packs)
        return AircraftDay(
            *(self.name, flights, self.swaps, self.snags),
            *(self.checks, self.dones, self.each_flight),
        )

    def _ask_dones(self) -> None:
        self.dones = ()
        if not self.offered.due:
            return
        self.asker.say(f"  due: {', '.join(self.offered.due)}")
        self.dones = self.asker.several(
            "  done before flying (task value; Enter: none):",
            lambda text: parse_done(self.clerk, self.name, text),
        )

    def _ask_checks(self) -> None:
        self.checks = None
        aims = day_aims(self.clerk, self.name)
        if aims:
            self.checks = self.asker.ask(
                f"  first-of-day checks done ({', '.join(self.offered.checks)})? "
                "[y/N, y except NAME]",
                lambda text: parse_checks(self.clerk, aims, text),
            )

    def _ask_readings(self) -> None:
        line = self.checks
        if line is not None and line.unread:
            self.checks = self.asker.ask(
                f"  their readings: {want_readings(line.unread)} [NAME=VALUE …; Enter: none]:",
                lambda text: parse_readings(self.clerk, line, blank_none(text)),
            )

    def _ask_each_flight(self) -> None:
        self.each_flight = None
        aims = each_flight_aims(self.clerk, self.name)
        if not aims:
            return
        line = self.asker.ask(
            f"  each-flight readings: {want_readings(aims)} [NAME=VALUE …; Enter: none]:",
            lambda text: parse_readings(self.clerk, CheckLine(aims), blank_none(text)),
        )
        taken = tuple(aim for aim in aims if aim.task.id in line.given)
        self.each_flight = replace(line, aims=taken) if taken else None

    def _ask_count(self) -> None:
        if self.typed:
            self.count = int(self.typed)
            return
        offered = self.offered.count
        self.count = self.asker.ask(
            f"  flights [{offered}]:", lambda text: read_count(text or offered, what="flights")
        )

    def _ask_minutes(self) -> None:
        offered = self.offered.minutes
        shown = "not known" if offered is None else f"{format_amount(offered)} each"
        self.minutes = self.asker.ask(
            f"  minutes, in all or one by one, ? not known [{shown}]:",
            lambda text: read_minutes_answer(text, self.count),
        )

    def _ask_engine(self) -> None:
        self.engine = None
        offered = self.offered
        if not offered.has_engine:
            return
        shown = "not known"
        if offered.allowance is not None:
            shown = f"{format_amount(offered.allowance)} a flight"
        elif offered.engine is not None:
            shown = f"{format_amount(offered.engine)} each"
        self.engine = self.asker.ask(
            f"  engine minutes, in all or one by one, ? not known [{shown}]:",
            lambda text: read_engine_answer(text, self.count),
        )

    def _ask_packs(self) -> None:
        self.packs = ()
        offered = self.offered
        if not offered.has_packs:
            return
        shown = " ".join(offered.packs or ()) or ("none" if offered.packs == () else "not named")

        def read(text: str) -> tuple[str, ...]:
            words = text.replace(",", " ").split()
            if len(words) == 1 and words[0].lower() in NO_PACK:
                return ("none",)
            return tuple(find_part(self.clerk, word) for word in words)

        self.packs = self.asker.ask(f"  packs [{shown}] (- for none):", read)

    def _ask_swaps(self) -> None:
        self.swaps = self.asker.several(
            "  swap (after which flight, off, on; Enter: none):",
            lambda text: parse_swap(self.clerk, self.name, text, self.count),
        )

    def _ask_snags(self) -> None:
        self.snags = self.asker.several(
            "  snag (words, last letter g l d m c; Enter: none):", parse_snag
        )
