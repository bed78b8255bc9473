"""Where on an aircraft a place on a zone is: "120 from leading edge, 340 from root".

A zone is measured as what it looks like: a *wing* lies on one side of the centre line, a
*fin* is seen from the side only, a *body* is everything else.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from register.records.outlines import Outline
from register.records.polygons import (
    Polygon,
    box_of,
    cut_across,
    cut_along,
    is_inside,
    middle_of,
)
from register.records.workshop_bodies import Spot
from register.records.zones import Zone

View = Literal["plan", "side"]
#: Directions a place is measured from, with other words for each.
DIRECTIONS: dict[str, tuple[str, ...]] = {
    "leading edge": ("le", "leading"),
    "trailing edge": ("te", "trailing"),
    "root": (),
    "tip": (),
    "nose": (),
    "tail": (),
    "front": ("front end", "forward"),
    "rear": ("back", "rear end", "aft"),
    "top": ("spine", "upper edge"),
    "bottom": ("belly", "lower edge"),
    "centre line": ("cl", "centreline", "center line", "centerline", "centre", "center"),
    "left": ("left of centre line", "left of the centre line"),
    "right": ("right of centre line", "right of the centre line"),
}
_LOW_X, _HIGH_X = ("leading edge", "front"), ("trailing edge", "rear")
_ALONG = (*_LOW_X, *_HIGH_X, "nose", "tail")
#: What else than along a zone of each form can be measured from.
_ACROSS = {
    "wing": ("root", "tip", "centre line"),
    "fin": ("root", "bottom", "tip", "top"),
    "body": ("top", "bottom", "centre line", "left", "right"),
}
_UPWARD = ("top", "bottom")


class Located(Struct, frozen=True):
    """A point of one view, in millimetres: x aft of the origin, v to the right or up.

    `exact` is false where only the zone is known, or one of the two measures.
    `inside` is false where the place lies beyond the zone's outline.
    """

    view: View
    x: float
    v: float
    exact: bool
    inside: bool = True


class Unplaced(Struct, frozen=True):
    """Why a place cannot be told, and whether the words of the place are to blame."""

    reason: str
    by_words: bool = False


def find_direction(word: str) -> str | None:
    """The direction meant by a word, or None."""
    text = " ".join(word.lower().replace("-", " ").replace(".", "").split())
    text = text.removeprefix("from ").removeprefix("the ")
    for name, others in DIRECTIONS.items():
        if text == name or text in others:
            return name
    return None


def tell_measure(amount: str, word: str) -> str:
    """One length as said: "120 from leading edge", "40 left of the centre line", "120"."""
    if word in ("left", "right"):
        return f"{amount} {word} of the centre line"
    return f"{amount} from {word}" if word else amount


def form_of(zone: Zone) -> str:
    """What a zone looks like: wing, fin, body, or none where it has no outline."""
    if not zone.plan:
        return "fin" if zone.side else "none"
    box = box_of([zone.plan])
    return "body" if box is None or box[1] < 0 < box[3] else "wing"


def default_directions(zone: Zone) -> tuple[str, str]:
    """What two bare numbers are measured from: the zone's own, else by its form."""
    stated = tuple(find_direction(word) for word in zone.directions)
    if len(stated) == 2 and stated[0] and stated[1]:
        return stated[0], stated[1]
    form = form_of(zone)
    if form in ("wing", "fin"):
        return "leading edge", "root"
    return "front", "top" if zone.side else "centre line"


def locate_spot(zone: Zone, spot: Spot | None, outline: Outline | None) -> Located | Unplaced:
    """Where a place on a zone is. Without a place, the middle of the zone, not exact."""
    form = form_of(zone)
    if form == "none":
        return Unplaced(f"zone {zone.name} has no outline")
    measures = _measures(zone, spot)
    if isinstance(measures, Unplaced):
        return measures
    along = {word: value for word, value in measures.items() if word in _ALONG}
    across = {word: value for word, value in measures.items() if word in _ACROSS[form]}
    for word in measures:
        if word not in along and word not in across:
            fits = ", ".join((*_ALONG, *_ACROSS[form]))
            return Unplaced(f"{word!r} is no direction of {zone.name}; it has {fits}", True)
    if len(along) > 1 or len(across) > 1:
        return Unplaced("both measures lie along the same direction", True)
    view = _view_of(zone, form, across)
    points = zone.plan if view == "plan" else zone.side
    if not measures:
        x, v = middle_of(points)
        return Located(view, x, v, exact=False)
    if any(word == "tail" for word in along) and (outline is None or outline.length is None):
        return Unplaced("from the tail: the outline has no length")
    where = _place_body if form == "body" else _place_surface
    x, v = where(points, along, across, outline)
    whole = bool(along) and bool(across)
    return Located(view, x, v, exact=whole, inside=is_inside(points, (x, v)))


def _measures(zone: Zone, spot: Spot | None) -> dict[str, float] | Unplaced:
    """Millimetres by direction; bare numbers take the zone's own directions."""
    if spot is None:
        return {}
    found: dict[str, float] = {}
    pairs = ((spot.along, spot.along_from), (spot.across, spot.across_from))
    for (value, words), bare in zip(pairs, default_directions(zone), strict=True):
        if value is None:
            continue
        word = find_direction(words) if words.strip() else bare
        if word is None:
            return Unplaced(f"{words!r} is no direction; they are {', '.join(DIRECTIONS)}", True)
        if word in found:
            return Unplaced("both measures lie along the same direction", True)
        found[word] = float(value)
    return found


def _view_of(zone: Zone, form: str, across: dict[str, float]) -> View:
    if form == "fin":
        return "side"
    upward = any(word in _UPWARD for word in across)
    return "side" if form == "body" and upward and zone.side else "plan"


def _absolute(along: dict[str, float], outline: Outline | None) -> float | None:
    """x of a measure from the nose or the tail."""
    nose = float(outline.nose_at) if outline is not None else 0.0
    if "nose" in along:
        return nose + along["nose"]
    if "tail" in along and outline is not None and outline.length is not None:
        return nose + float(outline.length) - along["tail"]
    return None


def _place_surface(
    points: Polygon,
    along: dict[str, float],
    across: dict[str, float],
    outline: Outline | None,
) -> tuple[float, float]:
    """On a wing or fin: first how far out from the root, then how far aft at that station."""
    sign = -1.0 if max(v for _, v in points) <= 0 else 1.0
    outward = tuple((x, sign * v) for x, v in points)
    box = box_of([outward]) or (0.0, 0.0, 0.0, 0.0)
    station = (box[1] + box[3]) / 2
    for word, value in across.items():
        if word == "centre line":
            station = value
        else:
            station = box[1] + value if word in ("root", "bottom") else box[3] - value
    cut = cut_across(outward, min(max(station, box[1]), box[3])) or (box[0], box[2])
    return _place_along(cut, along, outline), sign * station


def _place_along(
    cut: tuple[float, float], along: dict[str, float], outline: Outline | None
) -> float:
    fixed = _absolute(along, outline)
    if fixed is not None:
        return fixed
    for word, value in along.items():
        return cut[0] + value if word in _LOW_X else cut[1] - value
    return (cut[0] + cut[1]) / 2


def _place_body(
    points: Polygon,
    along: dict[str, float],
    across: dict[str, float],
    outline: Outline | None,
) -> tuple[float, float]:
    """On a body: first how far aft, then how far from the edge or the centre line there."""
    box = box_of([points]) or (0.0, 0.0, 0.0, 0.0)
    x = _place_along((box[0], box[2]), along, outline)
    cut = cut_along(points, min(max(x, box[0]), box[2])) or (box[1], box[3])
    for word, value in across.items():
        if word in _UPWARD:
            return x, cut[0] + value if word == "bottom" else cut[1] - value
        return x, -value if word == "left" else value
    return x, (cut[0] + cut[1]) / 2
