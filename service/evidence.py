"""How far each declaration of allergens stands on a day, and what to ask the suppliers for a whole menu.

A stale declaration keeps its figures: what it says is contained stays so, what it says is absent is not turned into
unknown, and the answer says beside them that they are to be checked (DEVELOPERS.md says why).
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from msgspec import Struct

from service.allergens import Declaration
from service.choosing import Offer
from service.item import Evidence, Item
from service.leaves import Leaf
from service.preparation import Warn

DECLARED, UNVERIFIED, STALE = "declared", "declared_unverified", "stale"
PARTIAL, UNDECLARED, REFERENCE = "partial", "undeclared", "reference"

STALE_WARNING = "declaration_stale"


class Standing(Struct, frozen=True):
    """How far the declaration of one item stands; ``why`` is ``None`` where the state says all."""

    item: str
    name: str
    state: str
    why: str | None
    review_by: date | None


def standing_of(item: Item, day: date, suppliers: Iterable[str] = ()) -> Standing:
    """The standing of an item's declaration on ``day``, bought of ``suppliers``.

    ``declared``: complete, with all its evidence, in date. ``declared_unverified``: complete without that. ``stale``:
    past its review day, or about another supplier's product than any of those it is bought of. ``partial`` and
    ``undeclared``: some allergens or none are stated. ``reference``: an embedded item, whose facts name their sources.
    """
    evidence = item.evidence
    review_by = None if evidence is None else evidence.review_by
    state, why = _state(item, evidence, day, suppliers)
    return Standing(item.id, item.name, state, why, review_by)


def _state(item: Item, evidence: Evidence | None, day: date, suppliers: Iterable[str]) -> tuple[str, str | None]:
    if item.origin == "reference":
        return REFERENCE, None
    complete = item.allergens_declared == "complete"
    if not complete and not item.allergens:
        return UNDECLARED, None
    lapsed = None if evidence is None else _lapsed(evidence, day, suppliers)
    if lapsed is not None:
        return STALE, lapsed
    if not complete:
        return PARTIAL, None
    lacking = _lacking(evidence, day)
    return (DECLARED, None) if lacking is None else (UNVERIFIED, lacking)


def _lapsed(evidence: Evidence, day: date, suppliers: Iterable[str]) -> str | None:
    """Why a declaration no longer counts; past its review day comes first."""
    if evidence.review_by is not None and evidence.review_by < day:
        return "past_review_by"
    return "supplier_changed" if _is_of_another(evidence.supplier, suppliers) else None


def _lacking(evidence: Evidence | None, day: date) -> str | None:
    """What a complete declaration lacks to be verified on ``day``."""
    if evidence is None:
        return "no_evidence"
    stated = (evidence.document, evidence.issuer, evidence.dated, evidence.reviewed_by, evidence.review_by)
    if any(one is None for one in stated):
        return "evidence_incomplete"
    return "not_yet_dated" if evidence.dated is not None and evidence.dated > day else None


def _is_of_another(supplier: str | None, suppliers: Iterable[str]) -> bool:
    """Whether any supplier is another than the one that the document is about; case and spacing do not matter."""
    if supplier is None:
        return False
    own = _plain(supplier)
    return any(_plain(other) != own for other in suppliers)


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def standings(leaves: Iterable[Leaf], offers: Mapping[str, Sequence[Offer]], day: date) -> tuple[Standing, ...]:
    """The standing of every bought item of a drink.

    All offers valid on the day count and not the one that is chosen, so that no price decides on it.
    """
    return tuple(
        standing_of(leaf.item, day, [offer.supplier for offer in offers.get(leaf.item.id, ()) if offer.is_valid(day)])
        for leaf in leaves
    )


_WHY = {
    "past_review_by": "is past the day by which it was to be reviewed",
    "supplier_changed": "is about the product of another supplier than it is bought of",
}


def stale_warnings(rows: Iterable[Standing]) -> list[Warn]:
    """A warning for each stale declaration; no supplier is named."""
    return [
        Warn(
            STALE_WARNING,
            f"The allergen declaration of {row.name} {_WHY[row.why or '']}: ask for a current one; "
            "what it says is absent may be there.",
            row.item,
        )
        for row in rows
        if row.state == STALE
    ]


class MenuDrink(NamedTuple):
    """What a question is asked of: a drink of the menu as it was evaluated."""

    id: str
    declarations: Sequence[Declaration]
    standings: Sequence[Standing] = ()


class Question(Struct, frozen=True):
    """What to ask about one item, once for the whole menu.

    ``allergens`` are those it leaves unknown in ``drinks``. ``clears`` are (drink, allergen) that its answer alone
    settles, since nothing else in the drink leaves that allergen unknown; ``settled`` drinks have no other unknown.
    """

    item: str
    allergens: tuple[str, ...]
    drinks: tuple[str, ...]
    clears: tuple[tuple[str, str], ...]
    settled: tuple[str, ...]


def questions(menu: Iterable[MenuDrink]) -> tuple[Question, ...]:
    """Every unknown of a menu once for each item, what one answer clears most first, then by item.

    An allergen that a drink contains anyway is no unknown of it; one that is unknown in any of the jurisdictions is.
    """
    sources: dict[tuple[str, str], set[str]] = {}
    for drink in menu:
        for found in drink.declarations:
            for key, item in _unknowns(found):
                sources.setdefault((drink.id, key), set()).add(item)
    asked = {item for items in sources.values() for item in items}
    rows = [_question(item, sources) for item in asked]
    return tuple(sorted(rows, key=lambda row: (-len(row.clears), -len(row.drinks), row.item)))


def _unknowns(found: Declaration) -> Iterable[tuple[str, str]]:
    """(allergen, item) that leaves it unknown; groups of which other members are not known count too."""
    for route in found.routes:
        if route.state == "unknown" and route.allergen in found.unknown:
            yield route.allergen, route.path[-1]
    for key, leaves in found.open_groups.items():
        for leaf in leaves:
            yield key, leaf.item.id


def _question(item: str, sources: Mapping[tuple[str, str], set[str]]) -> Question:
    named = [place for place, items in sources.items() if item in items]
    drinks = tuple(dict.fromkeys(drink for drink, _ in named))
    clears = tuple(place for place in named if len(sources[place]) == 1)
    open_elsewhere = {drink for (drink, _), items in sources.items() if items != {item}}
    settled = tuple(drink for drink in drinks if drink not in open_elsewhere)
    return Question(item, tuple(sorted({key for _, key in named})), drinks, clears, settled)


class Work(NamedTuple):
    """A declaration to renew, once for the whole menu, with the drinks that rest on it."""

    standing: Standing
    drinks: tuple[str, ...]


def work_to_do(menu: Iterable[MenuDrink], states: Sequence[str] = (STALE,)) -> tuple[Work, ...]:
    """Declarations in one of ``states``, by item: the stale ones unless more is asked for."""
    rows: dict[str, tuple[Standing, dict[str, None]]] = {}
    for drink in menu:
        for standing in drink.standings:
            if standing.state in states:
                rows.setdefault(standing.item, (standing, {}))[1][drink.id] = None
    return tuple(Work(standing, tuple(drinks)) for _, (standing, drinks) in sorted(rows.items()))
