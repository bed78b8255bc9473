"""The example's longer stories: which day brought what."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, timedelta
from decimal import Decimal

from register.example.duties import Duty
from register.example.fault_words import HOW
from register.example.stories import Dated, Stories
from register.text.nodes import Plain

FIRST_LOOK = ("hard-landing-struts", "hard-landing-wheels")
SECOND_LOOK = ("hard-landing-tubes", "hard-landing-formers", "skin-tap")
THIRD_LOOK = ("hard-landing-retract-travel", "hard-landing-turbine-mount", "gear-locks")


class Happenings(Stories):
    """The stories that need more than a line of a table."""

    def all(self) -> Iterator[Dated]:
        """Everything that happens, in no order."""
        yield from self.dated()
        yield from self._beginnings()
        yield from self._last_evenings()
        yield from self._heron()
        yield from self._kestrel()
        yield from self._petrel()
        yield from self._drover()
        yield from self._bulwark()

    def _beginnings(self) -> Iterator[Dated]:
        yield self.at("2024-02-24", lambda _: self.fit_all())
        yield self.at(
            "2024-03-09", lambda day: self.run("te-114", day, 12, 2, "First runs, tied down")
        )
        yield self.at("2024-03-23", lambda day: self.meter("te-114", day, self._run_time()))
        yield self.at("2024-03-30", lambda day: self.stage("heron", day, "in-service"), 0)

    def _last_evenings(self) -> Iterator[Dated]:
        """Small work before a winter, and in the week before the showcase."""
        for day, aircraft, task in (
            ("2025-10-16", "heron", "surface-free-play"),
            ("2025-10-16", "kestrel", "surface-free-play"),
            ("2026-05-06", "heron", "surface-free-play"),
            ("2026-05-06", "heron", "tail-pipe"),
            ("2026-05-08", "kestrel", "surface-free-play"),
            ("2026-05-13", "drover", "propeller-bolts-torque"),
            ("2026-05-13", "drover", "static-speed"),
        ):
            yield self.at(day, self._task(task, aircraft))

    def _task(self, task: str, aircraft: str) -> Callable[[date], object]:
        return lambda day: self.shop.do_named(task, aircraft, day)

    def _run_time(self) -> int:
        return self.shop.used["te-114"]["engine-minutes"]

    # --- heron --------------------------------------------------------------------

    def _heron(self) -> Iterator[Dated]:
        yield self.at("2024-10-12", lambda day: self.meter("te-114", day, self._run_time()))
        yield self.at("2025-05-17", self._swap_servo)
        yield self.at("2025-06-14", self._write_twice)
        yield self.at("2025-06-26", self._lend_engine)
        yield self.at("2025-07-17", self._engine_back)
        yield self.at("2025-08-16", self._land_hard)
        yield self.at("2025-08-18", lambda day: self.answer("heron", day, FIRST_LOOK))
        yield self.at("2025-08-19", lambda day: self.answer("heron", day, SECOND_LOOK))
        yield self.at("2025-08-21", self._exchange_gear, 0)
        yield self.at("2025-08-22", lambda day: self.answer("heron", day, THIRD_LOOK))
        yield self.at("2025-10-11", lambda day: self.meter("te-114", day, self._run_time()))
        # A bench run in the winter that nobody wrote down.
        yield self.at("2026-05-13", lambda day: self.meter("te-114", day, self._run_time() + 6))
        yield self.at("2026-05-03", self._defer_brake)

    def _swap_servo(self, day: date) -> None:
        """Between the second and the third flight of the day."""
        flown = self.diary.flown["heron", day]
        body: dict[str, Plain] = {
            "aircraft": self.pen.ref("heron"),
            "part": self.pen.ref("sv-205"),
            "position": "aileron-servo-left",
            "text": "Left aileron servo jitters at rest",
            "severity": "grounding",
            "found": "after-flight",
            **HOW["heron-servo"].body,
        }
        self.ids["heron-servo"] = self.pen.add(
            "aircraft/heron", "snag", day, body, after=f"{flown}:2"
        )
        self.shop.remove("sv-205", "heron", day, "jitters at rest", after=f"{flown}:2")
        put = self.shop.install("sv-208", "heron", "aileron-servo-left", day, after=f"{flown}:2")
        self.shop.touched["heron"].clear()
        mended = self.write_fix(
            "heron-servo", "heron", day, "Servo exchanged for sv-208", after=put
        )
        self.shop.do_named("swap-direction-throws", "heron", day, after=mended)
        self.shop.do_named("swap-fasteners", "heron", day, after=f"{flown}:3")
        self.condition("sv-205", day, "quarantined", "Jitters at rest, cause not known")
        self.shop.do_named("surface-throws", "heron", day + timedelta(days=4))

    def _write_twice(self, day: date) -> None:
        """The same flights, typed on the other machine as well, and taken out again."""
        flown = self.diary.flown["heron", day]
        first = next(event for event in self.pen.written if event.id == flown)
        copy = {key: value for key, value in first.body.items() if key != "each"}
        each = first.body["each"]
        copy["minutes"] = (
            sum(item for item in each if isinstance(item, int)) if isinstance(each, list) else None
        )
        again = self.pen.add("aircraft/heron", "flights", day, copy)
        body: dict[str, Plain] = {
            "withdraws": again,
            "reason": "typed on both machines",
            "duplicate_of": flown,
        }
        self.pen.add("aircraft/heron", "withdrawal", day + timedelta(days=1), body)

    def _lend_engine(self, day: date) -> None:
        self.meter("te-114", day, self._run_time())
        later = day + timedelta(days=1)
        self.shop.remove("te-114", "heron", later, "lent to kestrel while te-120 is with the maker")
        self.shop.install("te-114", "kestrel", "engine", later)

    def _engine_back(self, day: date) -> None:
        self.shop.remove("te-114", "kestrel", day, "goes back to heron")
        self.shop.install("te-114", "heron", "engine", day + timedelta(days=2))

    def _land_hard(self, day: date) -> None:
        self.incident("heron", day, "hard-landing", "Dropped from half a metre, right side first")

    def _exchange_gear(self, day: date) -> None:
        """A retract unit moves from one jet to the other."""
        self.shop.remove("gear-r-1", "heron", day, "strut bent")
        self.condition("gear-r-1", day, "quarantined", "Strut bent in a hard landing")
        self.shop.remove("gear-r-2", "kestrel", day, "goes into heron")
        self.shop.install("gear-r-2", "heron", "main-gear-right", day)

    def _defer_brake(self, day: date) -> None:
        self.defer(
            "heron-brake",
            "heron",
            day,
            reason="Ring kit is ordered; grass needs no brake",
            limit="grass only",
            until="2026-05-31",
            flights=12,
        )

    # --- kestrel --------------------------------------------------------------------

    def _kestrel(self) -> Iterator[Dated]:
        yield self.at("2024-08-26", self._defer_latch)
        yield self.at("2025-06-18", self._engine_out)
        yield self.at("2025-07-24", self._service)
        yield self.at("2025-07-29", self._engine_in, 0)
        yield self.at("2025-09-04", self._gear_again, 0)
        yield self.at("2026-03-07", self._second_hand_gear, 0)
        yield self.at("2026-04-20", self._rate_flap)
        yield self.at("2026-05-10", self._land_hard_again)
        yield self.at("2026-05-11", lambda day: self.answer("kestrel", day, FIRST_LOOK))
        yield self.at("2026-05-13", lambda day: self.answer("kestrel", day, SECOND_LOOK))
        # The gear's travel waits for a helper: the list is not closed.
        yield self.at("2026-05-14", lambda day: self.answer("kestrel", day, THIRD_LOOK[1:]))

    def _defer_latch(self, day: date) -> None:
        self.defer(
            "kestrel-latch",
            "kestrel",
            day,
            reason="A second screw holds the canopy",
            until="2024-09-25",
            flights=10,
        )

    def _engine_out(self, day: date) -> None:
        self.shop.remove("te-120", "kestrel", day, "sent to the maker")

    def _service(self, day: date) -> None:
        self.shop.do(Duty("turbine-service"), "kestrel", "te-120", day)

    def _engine_in(self, day: date) -> None:
        self.run("te-120", day, 8, 1, "Test run after the service")
        self.shop.install("te-120", "kestrel", "engine", day + timedelta(days=1))

    def _gear_again(self, day: date) -> None:
        self.condition("gear-r-1", day, "serviceable", "New strut fitted, travel checked")
        self.shop.install("gear-r-1", "kestrel", "main-gear-right", day)

    def _second_hand_gear(self, day: date) -> None:
        self.shop.remove("gear-l-2", "kestrel", day, "shaft scored")
        self.condition("gear-l-2", day, "quarantined", "Shaft scored")
        self.shop.install("gear-l-5", "kestrel", "main-gear-left", day)

    def _rate_flap(self, day: date) -> None:
        self.rate("kestrel-flap", "kestrel", day, "limiting")
        self.defer(
            "kestrel-flap",
            "kestrel",
            day,
            reason="Tapped round it, no growth; repair wants warm days",
            limit="no full flap",
            until="2026-05-12",
            flights=10,
        )

    def _land_hard_again(self, day: date) -> None:
        self.incident("kestrel", day, "hard-landing", "Bounced twice in the cross-wind")

    # --- petrel, drover, bulwark --------------------------------------------------------

    def _petrel(self) -> Iterator[Dated]:
        yield self.at("2025-04-20", self._defer_light)
        yield self.at("2025-06-01", self._extend_light)
        yield self.at("2025-06-28", self._from_paper)
        yield self.at("2025-07-19", self._reject_pack)
        yield self.at("2025-08-30", self._strike_tip)
        for text, length in (("2025-08-17", 6), ("2025-09-21", 6), ("2026-04-05", 7)):
            yield self.at(text, self._measure_lip(length))

    def _defer_light(self, day: date) -> None:
        self.defer(
            "petrel-light", "petrel", day, reason="Unplugged; flown by day", until="2025-05-31"
        )

    def _extend_light(self, day: date) -> None:
        self.defer(
            "petrel-light",
            "petrel",
            day,
            reason="New lead has not come",
            until="2025-06-30",
            extends="petrel-light-deferral",
        )

    def _from_paper(self, day: date) -> None:
        body: dict[str, Plain] = {
            "aircraft": self.pen.ref("petrel"),
            "count": 1,
            "minutes": 4,
            "uses": [self.pen.ref("pk-13")],
        }
        self.shop.count("petrel", ("pk-13",), {"flights": 1, "landings": 1, "gear-cycles": 1})
        self.pen.add(
            "aircraft/petrel",
            "flights",
            day,
            body,
            after=self.diary.ended["petrel", day],
            typed=day + timedelta(days=9),
            source="from-paper",
            note="Found on the pocket card",
        )

    def _reject_pack(self, day: date) -> None:
        self.condition("pk-11", day - timedelta(days=7), "quarantined", "One cell swollen")
        self.condition("pk-11", day, "rejected", "Cell 4 at twice the resistance of the others")
        self.read("pk-11", day, "cell-4-resistance", Decimal("5.8"), "mohm")
        self.shop.remove("pk-11", "petrel", day, "rejected")
        self.shop.install("pk-14", "petrel", None, day + timedelta(days=5))

    def _strike_tip(self, day: date) -> None:
        self.incident("petrel", day, "tip-strike", "Left tip in the long grass")
        looks = ("tip-strike-tubes", "tip-strike-incidence", "tip-strike-servo-gears")
        self.answer("petrel", day + timedelta(days=3), looks)

    def _measure_lip(self, length: int) -> Callable[[date], object]:
        return lambda day: self.read("petrel", day, "inlet-lip-crack", length, "mm")

    def _drover(self) -> Iterator[Dated]:
        yield self.at("2024-05-19", self._strike_propeller)
        yield self.at("2025-04-04", lambda day: self._new_line("tl-4", "tl-5", day))
        yield self.at("2026-04-10", lambda day: self._new_line("tl-5", "tl-6", day))
        yield self.at("2025-06-22", self._mend_tows)

    def _strike_propeller(self, day: date) -> None:
        self.incident("drover", day, "propeller-strike", "Stone on the taxiway")
        later = day + timedelta(days=2)
        self.shop.remove("prop-27", "drover", later, "tip nicked")
        self.condition("prop-27", later, "scrapped", "Tip nicked by a stone")
        self.shop.install("prop-28", "drover", "propeller", later)
        looks = ("propeller-strike-propeller", "propeller-strike-shaft")
        self.answer("drover", later + timedelta(days=1), looks)

    def _new_line(self, old: str, new: str, day: date) -> None:
        self.shop.remove(old, "drover", day, "a year old")
        self.shop.install(new, "drover", "tow-line", day)

    def _mend_tows(self, day: date) -> None:
        self.shop.used["drover"]["tows"] -= 1
        flown = self.diary.flown["drover", day]
        first = next(event for event in self.pen.written if event.id == flown)
        tows = first.body["tows"]
        if isinstance(tows, int):
            self.rewrite("drover", day, {"tows": tows - 1}, "The last one was without a glider")

    def _bulwark(self) -> Iterator[Dated]:
        yield self.at("2025-11-08", lambda day: self.stage("bulwark", day, "being-built"))
        yield self.at("2025-12-20", self._modify)
        yield self.at(
            "2026-02-21", lambda day: self.shop.install("pe-41", "bulwark", "engine", day)
        )
        for servo, side in (("sv-241", "left"), ("sv-242", "right")):
            yield self.at("2026-03-21", self._fit_servo(servo, side))
        yield self.at(
            "2026-04-18", lambda day: self.run("pe-41", day, 25, 3, "Running in, first tank")
        )

    def _fit_servo(self, servo: str, side: str) -> Callable[[date], object]:
        position = f"aileron-servo-{side}"
        return lambda day: self.shop.install(servo, "bulwark", position, day)

    def _modify(self, day: date) -> None:
        body: dict[str, Plain] = {
            "aircraft": self.pen.ref("bulwark"),
            "position": "elevator-servo",
            "text": "Servo moved 40 mm forward, the balance would have come out far aft",
        }
        self.pen.add("aircraft/bulwark", "modification", day, body)
