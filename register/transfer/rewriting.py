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

#: Fields that belong to the aircraft a part was in, and mean nothing without it.
_OF_HOST = ("position", "zone", "place", "joint", "broken", "rest")


class FreeText(Struct, frozen=True):
    """One free text as it goes, for the owner to read before sending."""

    record: str
    key: str
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
    ):
        self.ledger = ledger
        self.scope = scope
        self.masker = masker
        self.salt = salt
        #: Records that do not go -> the record of use elsewhere that stands for them.
        self.stand_ins = stand_ins
        self.dropped = Dropped({})
        self.texts: dict[tuple[str, str, str], FreeText] = {}
        self.withheld: list[str] = []
        self._named = self._name_things()
        self._record = ""

    def _name_things(self) -> dict[tuple[str, str], str]:
        """How each thing that goes is written: name and id."""
        scope, records = self.scope, self.ledger.records
        found: dict[tuple[str, str], str] = {}
        for name in (*scope.parts, *scope.stubs):
            found["part", name] = _join(name, records.parts[name].id)
        file = records.aircraft[scope.aircraft]
        found["aircraft", scope.aircraft] = _join(scope.aircraft, file.id)
        if scope.kit is not None:
            found["kit", scope.kit] = _join(scope.kit, records.kits[scope.kit].id)
        for name in scope.programmes:
            found["programme", name] = _join(name, records.programmes[name].id)
        return found

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

    def rewrite_file(self, rules: dict[str, Rule], data: Mapping[str, Plain], what: str) -> bytes:
        """One revision of a standing file."""
        self._record = what
        found = apply_rule(Keys(rules), dict(data), self._treat, self.dropped)
        return render_yaml(found if isinstance(found, dict) else {}).encode()

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
            name, _, _ = text.partition(".")
            return self._named.get(("kit", self.scope.kit or ""), self.masker.mask(name))
        if kind == "programme":
            return self._programme(text)
        masked = self.masker.mask(text)
        if kind == "text":
            free = FreeText(self._record, kind, masked, masked != text)
            self.texts.setdefault((self._record, kind, masked), free)
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


def _join(name: str, id_: str | None) -> str:
    return f"{name}.{id_}" if id_ else name
