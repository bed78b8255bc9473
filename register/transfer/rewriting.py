"""Rewriting records for another owner: from its allow-list, with its texts masked.

Every revision of every record goes through here; there is no other way into what is sent.
"""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256

from msgspec import Struct

from register.ledger.ledger import Ledger
from register.records.values import Ref
from register.text.emitting import render_yaml
from register.text.nodes import Plain
from register.transfer import allowed
from register.transfer.fields import EVENT, Dropped, Keys, Listed, Rule, apply_rule
from register.transfer.masking import Masker
from register.transfer.scope import Scope
from register.trouble import Place

#: Signs of ids: lower-case Crockford base32.
LETTERS = "0123456789abcdefghjkmnpqrstvwxyz"
#: Fields that belong to the aircraft a part was in, and mean nothing without it.
_OF_HOST = ("position", "zone", "place", "joint", "broken", "rest")


class FreeText(Struct, frozen=True):
    """One free text as it goes, for the owner to read before sending."""

    record: str
    text: str
    was_masked: bool


class Rewriter:
    """Rewrites records of one handover; gathers free texts, dropped keys and what was withheld."""

    def __init__(
        self,
        ledger: Ledger,
        scope: Scope,
        masker: Masker,
        salt: str,
        stand_ins: Mapping[str, str],
        attachments: Mapping[str, str] | None = None,
    ):
        self.ledger = ledger
        self.scope = scope
        self.masker = masker
        self.salt = salt
        #: Records that do not go -> the record of use elsewhere that stands for them.
        self.stand_ins = stand_ins
        #: Path of each file kept with a record that goes -> the same, beside the record there.
        self.attachments = attachments or {}
        self.dropped = Dropped({})
        self.texts: dict[tuple[str, str], FreeText] = {}
        self.withheld: list[str] = []
        self._named = self._name_things()
        self._record = ""

    def _name_things(self) -> dict[tuple[str, str], str]:
        """How each thing that goes is written: name and id."""
        scope, records = self.scope, self.ledger.records
        things: list[tuple[str, str, str | None]] = [
            ("part", name, records.parts[name].id) for name in (*scope.parts, *scope.stubs)
        ]
        things.append(("aircraft", scope.aircraft, records.aircraft[scope.aircraft].id))
        if scope.kit is not None:
            things.append(("kit", scope.kit, records.kits[scope.kit].id))
        things.extend(("programme", name, records.programmes[name].id) for name in scope.programmes)
        return {
            (kind, name): f"{name}.{id_ or make_thing_id(self.salt, kind, name)}"
            for kind, name, id_ in things
        }

    def written(self, kind: str, name: str) -> str:
        """A thing that goes, as records name it: name and id."""
        return self._named[kind, name]

    def id_of(self, kind: str, name: str) -> str:
        """The id of a thing that goes; one made for it where its file has none."""
        return self._named[kind, name].rpartition(".")[2]

    # --- whole records ------------------------------------------------------

    def rewrite_event(self, data: Mapping[str, Plain], amended: str | None = None) -> bytes | None:
        """One revision of an event, or None where its kind is not one that goes.

        `amended` is the kind of the record that an amendment amends.
        """
        kind = str(data.get("record", "")).strip().lower().replace("_", "-").replace(" ", "-")
        rules = self._rules_of(kind, amended)
        if rules is None:
            self.withheld.append(f"a record of the kind {kind[:40]!a}")
            return None
        self._record = f"{kind} {data.get('when', '')}".strip()
        found = apply_rule(Keys(rules), dict(data), self._treat, self.dropped)
        if not isinstance(found, dict):
            return None
        if "aircraft" in data and "aircraft" not in found and "aircraft" in rules:
            for key in _OF_HOST:
                found.pop(key, None)
        return render_yaml(found).encode()

    def _rules_of(self, kind: str, amended: str | None) -> dict[str, Rule] | None:
        if kind == "amendment":
            fields = allowed.EVENTS.get(amended or "")
            if fields is None:
                return None
            changes: dict[str, Rule] = {**allowed.COMMON, **fields}
            return {
                **allowed.COMMON,
                "amends": EVENT,
                "set": Keys(changes),
                "seen": Listed(EVENT),
            }
        own = allowed.EVENTS.get(kind)
        return None if own is None else {**allowed.COMMON, **own}

    def rewrite_file(
        self, rules: dict[str, Rule], data: Mapping[str, Plain], what: str, id_: str | None
    ) -> bytes:
        """One revision of a standing file; `id_` is given to one that has none."""
        self._record = what
        # Of a part that stays behind next to nothing goes: that is said elsewhere.
        dropped = Dropped({}) if rules is allowed.STUB else self.dropped
        found = apply_rule(Keys(rules), dict(data), self._treat, dropped)
        written = found if isinstance(found, dict) else {}
        if rules is allowed.STUB:
            written["stayed"] = True
        if id_ is not None:
            written = {"id": id_, **{key: value for key, value in written.items() if key != "id"}}
        return render_yaml(written).encode()

    # --- single values ------------------------------------------------------

    def _treat(self, kind: str, value: Plain) -> Plain:
        text = str(value)
        if kind == "ref":
            return self._ref(text)
        if kind == "event":
            return self._event(text)
        if kind == "person":
            return self.pseudonym(text)
        if kind == "kit":
            return self._named.get(("kit", self.scope.kit or ""))
        if kind == "programme":
            return self._programme(text)
        if kind == "attachment":
            return self.attachments.get(text)
        if kind != "text":
            return self.masker.mask_code(text)
        masked = self.masker.mask_text(text)
        free = FreeText(self._record, masked, masked != text)
        self.texts.setdefault((self._record, masked), free)
        return masked

    def _ref(self, text: str) -> Plain:
        """A thing that goes, by name and id; any other thing is not told."""
        name, _, id_ = text.strip().lower().partition(".")
        ref = Ref(name, id_ or None, Place(""))
        part = self.ledger.names.part_name(ref)
        aircraft = self.ledger.names.aircraft_name(ref)
        for key in (("aircraft", aircraft or ""), ("part", part or "")):
            if key in self._named:
                return self._named[key]
        return None

    def _event(self, text: str) -> Plain:
        id_, colon, number = text.strip().lower().partition(":")
        if id_ in self.scope.homes:
            return f"{id_}{colon}{number}"
        return self.stand_ins.get(id_)

    def _programme(self, text: str) -> Plain:
        name, slash, group = text.partition("/")
        plain, _, id_ = name.partition(".")
        found = self.ledger.programme(Ref(plain, id_ or None, Place("")))
        written = self._named.get(("programme", found.name if found is not None else ""))
        return None if written is None else f"{written}{slash}{group}"

    def pseudonym(self, person: str) -> str:
        """A name that says only "the same person": it cannot be turned back without the salt."""
        digest = sha256(f"{self.salt}/{person}".encode()).hexdigest()
        return f"p-{digest[:8]}"


def make_thing_id(salt: str, kind: str, name: str) -> str:
    """An id for a thing whose file has none: the same each time, so that updates find it."""
    digest = sha256(f"{salt}/{kind}/{name}".encode()).digest()
    return "h" + "".join(LETTERS[byte % 32] for byte in digest[:9])
