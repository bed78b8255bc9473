"""A dossier put together: its first page, its sections, and who finds what where."""

from __future__ import annotations

from collections.abc import Iterator

from register.pages import (
    dossier_damage,
    dossier_end,
    dossier_figures,
    dossier_first,
    dossier_open,
    dossier_setup,
)
from register.pages.blocks import (
    Block,
    Boxes,
    Document,
    Figure,
    Head,
    Listed,
    Pairs,
    Pictures,
    Table,
    Words,
)
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


def list_words(document: Document) -> str:
    """Every text of a document on a line of its own, unbroken: what a search of it looks through.

    The page and the plain text break long words and lines, where a search could miss them.
    """
    found = [document.title, document.under, *document.foot]
    found.extend(word for row in document.key.rows for word in row)
    for section in (*document.first, *document.sections):
        found.extend((section.title, section.answer))
        for block in section.blocks:
            found.extend(_words_of(block))
    return "\n".join(found) + "\n"


def _words_of(block: Block) -> Iterator[str]:
    match block:
        case Words(text, _) | Head(text):
            yield text
        case Listed(items):
            yield from items
        case Pairs(rows):
            yield from (word for row in rows for word in row)
        case Table(_, rows):
            yield from (cell for row in rows for cell in row.cells)
        case Boxes(groups):
            yield from (head for head, _ in groups)
            yield from (word for _, boxes in groups for box in boxes for word in box)
        case Pictures(shown):
            yield from (picture.caption for picture in shown)
        case Figure():
            yield block.instead
