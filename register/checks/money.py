"""What the owner's spending and prices speak of: aircraft and parts that are there."""

from __future__ import annotations

from collections.abc import Iterator

from register.checks.survey import Survey, warn
from register.records.scalars import nearest
from register.records.spending import check_whom, read_money
from register.text.parsing import parse_text
from register.trouble import Problem

FILE = "private.yaml"


def check_money_placed(survey: Survey) -> Iterator[Problem]:
    """An aircraft under `spending` or a part under `prices` that is none.

    Lines that cannot be read are found as the file is.
    """
    data = survey.sources.get(FILE)
    if data is None:
        return
    records = survey.ledger.records
    money = read_money(parse_text(FILE, data).node)
    yield from check_whom(money, records.aircraft)
    for price in money.prices:
        if price.part not in records.parts and price.part not in records.aircraft:
            near = nearest(price.part, records.parts)
            yield warn(
                price.place,
                "price-unplaced",
                f"prices: no part is called {price.part!r}; its price is counted nowhere",
                f"write {near}: in its place" if near else "write the name of a part of this fleet",
            )
