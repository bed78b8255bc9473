"""Pictures on their way from owner to owner and back: once each, and as they were."""

from __future__ import annotations

from pathlib import Path

from PIL import Image
from transfer_room.seller import Person
from transfer_room.test_sold_one_by_one import DAY, begin, sell, seller, take

__all__ = ["seller"]
BACK = "2026-07-01"


def kept(fleet: Path) -> dict[str, bytes]:
    """Every kept file."""
    return {
        path.relative_to(fleet).as_posix(): path.read_bytes()
        for path in sorted(fleet.glob("*/*/attachments/*"))
    }


def draw(folder: Path, name: str) -> Path:
    """A photograph of noise, so that making it anew would change it."""
    path = folder / name
    Image.effect_noise((64, 48), 50).convert("RGB").save(path)
    return path


def test_back_at_its_first_owner_nothing_is_there_twice(seller: Person, tmp_path: Path) -> None:
    """What he has stays as he named it; what the other added comes; nothing is made anew."""
    seller.says(DAY, "attach", "alpha", draw(tmp_path, "nose-of-mine.jpg"))
    seller.says(DAY, "attach", "sv", draw(tmp_path, "label.jpg"))
    snag = seller.writes(DAY, "snag", "alpha", "paint chipped")
    seller.says(DAY, "attach", snag, draw(tmp_path, "chip.png"))
    before = kept(seller.fleet)
    assert len(before) == 3
    buyer = begin(tmp_path / "buyer")
    take(buyer, sell(seller, "alpha", tmp_path / "a.tailsheaf", "--with", "sv"))
    assert sorted(kept(buyer.fleet).values()) == sorted(before.values())
    buyer.says("2026-06-20", "attach", "alpha", draw(tmp_path, "tail.jpg"))
    file = tmp_path / "back.tailsheaf"
    buyer.says(BACK, "handover", "alpha", file, "--with", "sv")
    take(seller, file)
    after = kept(seller.fleet)
    assert {path: after[path] for path in before} == before
    added = {path: data for path, data in after.items() if path not in before}
    assert len(added) == 1
    assert next(iter(added.values())) in kept(buyer.fleet).values()
    codes = [problem["code"] for problem in seller.asks(BACK, "check")["problems"]]
    assert "attachment-idle" not in codes
    assert "attachment-missing" not in codes
