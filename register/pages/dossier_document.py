"""A dossier put together: its first page, its sections, and who finds what where."""

from __future__ import annotations

from register.pages import (
    dossier_damage,
    dossier_end,
    dossier_figures,
    dossier_first,
    dossier_open,
    dossier_setup,
)
from register.pages.blocks import Document
from register.views.dossier import DossierView


def build_document(view: DossierView) -> Document:
    """The page of a view, in words, before it is HTML or plain text."""
    facts = view.facts
    signed = {True: "signed", False: "not signed", None: ""}[facts.signed]
    made = [f"made with tailsheaf {facts.program}" if facts.program else "", signed]
    if facts.revisions:
        made.append(f"{facts.revisions} revisions of the records go with it")
    told = "; ".join(word for word in made if word)
    return Document(
        view.aircraft.file.title or view.name,
        f"Dossier of {view.name} for its next owner, as recorded on {view.on.isoformat()}.",
        dossier_first.key_facts(view),
        (dossier_first.left_out(view), dossier_first.not_known(view), dossier_first.cautions()),
        dossier_first.READERS,
        (
            dossier_open.totals(view),
            dossier_open.open_items(view),
            dossier_open.checks(view),
            dossier_damage.incidents(view),
            dossier_damage.repairs(view),
            dossier_damage.damage(view),
            dossier_setup.notices(view),
            dossier_setup.departures(view),
            dossier_figures.throws(view),
            dossier_figures.balance(view),
            dossier_figures.fasteners(view),
            dossier_setup.papers(view),
            dossier_end.inspection(view),
            dossier_end.history(view),
        ),
        tuple(word for word in (f"{told}." if told else "", dossier_first.CAUTIONS[0]) if word),
    )
