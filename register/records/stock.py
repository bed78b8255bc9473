"""stock.yaml: fasteners, consumables and spares on the shelf."""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from register.records.fields import Fields
from register.text.nodes import Mapping, Scalar
from register.trouble import Place, Problem

STOCK_FILE = "stock.yaml"
UNIT = "pieces"


class StockItem(Struct, frozen=True):
    """One thing on the shelf. `count` and `wanted` are in `unit`; None is not known.

    `where` is private: it says where in the workshop it lies.
    """

    name: str
    title: str
    count: Decimal | None
    wanted: Decimal | None
    unit: str
    where: str | None
    place: Place

    @property
    def state(self) -> str:
        """below, enough, not-counted, or no-minimum where nothing is wanted."""
        if self.wanted is None:
            return "no-minimum"
        if self.count is None:
            return "not-counted"
        return "below" if self.count < self.wanted else "enough"

    @property
    def short_by(self) -> Decimal | None:
        """How many are lacking to what is wanted; None where that is not known."""
        if self.count is None or self.wanted is None:
            return None
        return max(self.wanted - self.count, Decimal(0))


def read_stock(node: Mapping | None) -> tuple[dict[str, StockItem], tuple[Problem, ...]]:
    """Every item by name, in written order, and what is wrong with the file."""
    problems: list[Problem] = []
    if node is None:
        return {}, ()
    fields = Fields(node, problems)
    inner = fields.mapping("items")
    found = {}
    for entry in inner.node.entries if inner is not None else ():
        name = entry.key.strip().lower()
        if inner is not None and isinstance(entry.value, Scalar):
            # `screw-m3x10-cap: 12` is how a person would write it.
            count = inner.amount(entry.key)
            found[name] = StockItem(name, _title(name), count, None, UNIT, None, entry.key_place)
        elif isinstance(entry.value, Mapping):
            found[name] = _read_item(Fields(entry.value, problems), name, entry.key_place)
        else:
            fields.report(
                entry.value.place,
                "value-shape",
                f"{entry.key}: keys and values are wanted here",
                f"write  {entry.key}: {{count: 10, wanted: 5}}",
            )
    fields.odd_keys(("schema",))
    return found, tuple(problems)


def _read_item(fields: Fields, name: str, place: Place) -> StockItem:
    item = StockItem(
        name,
        fields.text("title") or _title(name),
        fields.amount("count"),
        fields.amount("wanted"),
        fields.text("unit") or UNIT,
        fields.text("where"),
        place,
    )
    fields.odd_keys(("note",))
    return item


def _title(name: str) -> str:
    return name.replace("-", " ")
