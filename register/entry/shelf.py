"""The shelf: what lies on it, what is wanted, and what a fix takes off it."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from register.entry.amounts import read_number
from register.entry.clerk import Clerk, Plan, Written
from register.entry.drafting import Draft, check_signs
from register.entry.kits import check_title
from register.entry.naming import check_new_name, match_name
from register.entry.sheets import Sheet, plain_number
from register.records.stock import STOCK_FILE, StockItem, read_stock
from register.records.values import format_amount
from register.records.workshop_bodies import Draw
from register.text.nodes import Mapping, Plain
from register.trouble import Place, RegisterError

MOST = Decimal(1_000_000)
HEAD = "# What lies on the shelf. `where` is private and leaves in no handover.\n"


class StockWish(Struct, frozen=True):
    """What is typed of one item."""

    count: str | None = None
    put: str | None = None
    take: str | None = None
    wanted: str | None = None
    title: str | None = None
    unit: str | None = None
    where: str | None = None

    @property
    def is_empty(self) -> bool:
        """Whether nothing was typed."""
        return self == StockWish()


def plan_stock(clerk: Clerk, name: str, wish: StockWish, *, is_new: bool) -> Plan:
    """A new item, or a change of one. Raises RegisterError (usage) on wrong words."""
    items = shelf_items(clerk)
    if is_new:
        name = check_new_name(name, items, "stock item")
    old = items.get(name)
    shelf = _ShelfSheet(clerk, items)
    count = _read_counts(name, old, wish)
    warnings: list[str] = []
    if wish.take is not None and count is not None and count < 0:
        had = format_amount(old.count) if old is not None and old.count is not None else "0"
        warnings.append(f"only {had} {name} were counted; it is written as 0: count them again")
        count = Decimal(0)
    wanted = _read_amount(wish.wanted, "--wanted")
    for key, value in (
        ("title", check_title(wish.title) if wish.title else None),
        ("count", plain_number(count) if count is not None else None),
        ("wanted", plain_number(wanted) if wanted is not None else None),
        ("unit", _read_words(wish.unit, "--unit")),
        ("where", _read_words(wish.where, "--where")),
    ):
        if value is not None:
            shelf.set(name, key, value)
    if is_new and wish.is_empty:
        shelf.set(name, "title", name.replace("-", " "))
    return _finish(clerk, shelf, name, warnings, is_new=is_new)


def _finish(
    clerk: Clerk, shelf: _ShelfSheet, name: str, warnings: list[str], *, is_new: bool
) -> Plan:
    if not shelf.sheet.is_changed:
        raise RegisterError(
            f"{STOCK_FILE} says all of that already; nothing was written",
            mend=f"tailsheaf stock {name}   shows it",
            code="nothing-new",
        )
    item = shelf.after(name)
    says = f"{name}: {tell_count(item)} ({STOCK_FILE})"
    below = tell_below(item)
    return Plan(
        (shelf.sheet.change(),),
        f"{'Put on the shelf' if is_new else 'Change on the shelf'}: {name}",
        (says, *((below,) if below else ())),
        (Written(name, STOCK_FILE, "stock"),),
        warnings=tuple(warnings),
    )


class _ShelfSheet:
    """stock.yaml while it is changed."""

    def __init__(self, clerk: Clerk, items: dict[str, StockItem]):
        before = clerk.sources.get(STOCK_FILE)
        node = clerk.ledger.records.stock
        self.sheet = Sheet(STOCK_FILE, before, "" if before else HEAD)
        self._listed = node.get("items") if node is not None else None
        self._items = dict(items)

    def set(self, name: str, key: str, value: Plain) -> None:
        """Give one key of an item its value; an item written as a bare count becomes keys."""
        check_signs(key, value)
        old = self._items.get(name)
        spelled = self._spell(name)
        node = self._listed.get(spelled) if isinstance(self._listed, Mapping) else None
        if node is not None and not isinstance(node, Mapping):
            if key == "count":
                self.sheet.set(("items", spelled), value, "count")
            elif old is not None and old.count is not None:
                pairs: dict[str, Plain] = {"count": plain_number(old.count), key: value}
                self.sheet.replace_keys(("items", spelled), pairs, key)
        else:
            self.sheet.set(("items", spelled, key), value, key)
        self._items[name] = _changed(name, old, key, value)

    def _spell(self, name: str) -> str:
        entries = self._listed.entries if isinstance(self._listed, Mapping) else ()
        return next((e.key for e in entries if e.key.strip().lower() == name), name)

    def after(self, name: str) -> StockItem:
        """An item as it stands after the changes."""
        return self._items[name]


def _changed(name: str, old: StockItem | None, key: str, value: Plain) -> StockItem:
    if old is None:
        title = name.replace("-", " ")
        old = StockItem(name, title, None, None, "pieces", None, Place(STOCK_FILE))
    amount = Decimal(str(value)) if key in ("count", "wanted") else None
    if key == "count":
        return replace(old, count=amount)
    if key == "wanted":
        return replace(old, wanted=amount)
    if key == "unit":
        return replace(old, unit=str(value))
    return old


def shelf_items(clerk: Clerk) -> dict[str, StockItem]:
    """What lies on the shelf as it stands."""
    return read_stock(clerk.ledger.records.stock)[0]


def _read_counts(name: str, old: StockItem | None, wish: StockWish) -> Decimal | None:
    given = [word for word in (wish.count, wish.put, wish.take) if word is not None]
    if len(given) > 1:
        raise RegisterError(
            "--count, --put and --take exclude each other",
            mend=f"tailsheaf stock {name} --count 12   says what lies there now",
            code="usage",
        )
    count = _read_amount(wish.count, "--count")
    if count is not None:
        return count
    put, take = _read_amount(wish.put, "--put"), _read_amount(wish.take, "--take")
    if put is None and take is None:
        return None
    known = old.count if old is not None else None
    if known is None and old is not None:
        raise RegisterError(
            f"{name} was never counted, so nothing can be added or taken",
            mend=f"tailsheaf stock {name} --count 12   says what lies there now",
            code="stock-not-counted",
        )
    return (known or Decimal(0)) + (put or Decimal(0)) - (take or Decimal(0))


def _read_amount(text: str | None, option: str) -> Decimal | None:
    if text is None:
        return None
    value = read_number(text, what=option)
    if not 0 <= value <= MOST:
        raise RegisterError(
            f"{option}: {text.strip()[:40]} is not between 0 and {MOST}",
            mend=f"{option} 12",
            code="number-wrong",
        )
    return value


def _read_words(text: str | None, option: str) -> str | None:
    if text is None:
        return None
    word = " ".join(text.split())
    if not word or len(word) > 80:
        raise RegisterError(
            f"{option}: {text[:40]!r} is not 1 to 80 characters",
            mend=f'{option} "drawer 3"' if option == "--where" else f"{option} pieces",
            code="words-wrong",
        )
    return word


def parse_draws(clerk: Clerk, typed: Sequence[str]) -> tuple[Draw, ...]:
    """`ITEM` or `ITEM=N`, several with commas; an item must be on the shelf."""
    items = shelf_items(clerk)
    found: dict[str, Decimal] = {}
    for word in (part.strip() for text in typed for part in text.split(",")):
        if not word:
            continue
        name, _, number = word.partition("=")
        known = match_name(
            name, items, "stock item", add=f"tailsheaf stock {name.strip().lower()} --add"
        )
        count = read_number(number, what=f"--draw {known}") if number else Decimal(1)
        if not 0 < count <= MOST:
            raise RegisterError(
                f"--draw {word[:40]!r}: how many were taken?",
                mend=f"--draw {known}=2",
                code="number-wrong",
            )
        found[known] = found.get(known, Decimal(0)) + count
    return tuple(Draw(name, count) for name, count in found.items())


def draw_stock(draft: Draft, draws: Sequence[Draw]) -> None:
    """Take draws off stock.yaml in a draft, and say what is left and what falls short."""
    if not draws:
        return
    shelf = _ShelfSheet(draft.clerk, shelf_items(draft.clerk))
    for draw in draws:
        before = shelf.after(draw.item)
        if before.count is None:
            draft.warn(f"{draw.item} was never counted, so what is left is not known")
            continue
        if before.count < draw.count:
            draft.warn(
                f"only {format_amount(before.count)} {draw.item} were counted; it is written "
                f"as 0: tailsheaf stock {draw.item} --count N"
            )
        left = max(before.count - draw.count, Decimal(0))
        shelf.set(draw.item, "count", plain_number(left))
        after = shelf.after(draw.item)
        draft.say(f"taken: {format_amount(draw.count)} {draw.item}, {tell_count(after)}")
        below = tell_below(after)
        if below:
            draft.say(below)
    if shelf.sheet.is_changed:
        draft.changes.append(shelf.sheet.change())


def tell_count(item: StockItem) -> str:
    """12 pieces there, 20 wanted."""
    there = "not counted" if item.count is None else f"{format_amount(item.count)} there"
    wanted = f", {format_amount(item.wanted)} wanted" if item.wanted is not None else ""
    return there + wanted


def tell_below(item: StockItem) -> str | None:
    """BELOW what is wanted, and by how many."""
    if item.state != "below" or item.short_by is None:
        return None
    return f"BELOW what is wanted: {format_amount(item.short_by)} {item.name} to get"
