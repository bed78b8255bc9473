"""The joint that a snag means when it names a screw in plain words. Nothing is guessed or kept."""

from __future__ import annotations

import re

from register.entry.drafting import Draft
from register.records.as_built import read_section
from register.records.joints import Joint

#: Words of a title that tell nothing of where it is.
_SMALL = frozenset({"the", "to", "on", "of", "in", "at", "its", "and", "a"})


def say_joint(draft: Draft, aircraft: str, short: str, text: str, zone: str | None) -> None:
    """Offer the one joint that the words name, or that lies alone in the zone they name."""
    joints = read_section(draft.clerk.ledger.records, aircraft, "joints")[0]
    name = _find_joint(joints, _words(text), zone)
    if name is not None:
        draft.say(
            f"{aircraft} has the joint {name}: tailsheaf amend {short} joint={name} broken=1   "
            f"next time: tailsheaf snag … --joint {name} --broken 1"
        )


def _find_joint(joints: dict[str, Joint], spoken: frozenset[str], zone: str | None) -> str | None:
    """By its name or title the one of most words, else by its zone; None where two could be."""
    named = {name: _said(joint, spoken) for name, joint in joints.items()}
    most = max(named.values(), default=0)
    if most:
        best = [name for name, count in named.items() if count == most]
    else:
        best = [name for name, joint in joints.items() if _is_there(joint, spoken, zone)]
    return best[0] if len(best) == 1 else None


def _said(joint: Joint, spoken: frozenset[str]) -> int:
    """How many words of its name or title were said, if all of them were."""
    ways = (_words(joint.name), _words(joint.title) - _SMALL)
    return max((len(way) for way in ways if way and way <= spoken), default=0)


def _is_there(joint: Joint, spoken: frozenset[str], zone: str | None) -> bool:
    if joint.zone is None:
        return False
    return joint.zone == zone if zone is not None else _words(joint.zone) <= spoken


def _words(text: str) -> frozenset[str]:
    """Each word of a text, without its case."""
    return frozenset(re.findall(r"[^\W_]+", text.casefold()))
