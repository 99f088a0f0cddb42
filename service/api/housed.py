"""A question whose body names a venue: what holds there stands under what the body states, as for a stored drink."""

from collections.abc import Sequence
from datetime import date
from typing import TypeVar

from schemas.evaluation import EvaluationRequest
from schemas.part import MakePartRequest
from service.api.problems import NO_VENUE, Problem
from service.api.scopes import Principal
from service.api.stored_question import COST, LABEL, Asked, line_of, price_of, settings_of, venue_of
from service.errors import InputFault, NotFound
from service.evaluate import measures_of
from service.lookup import Catalogue
from service.store.snapshot import Snapshot
from service.venue import under

Question = TypeVar("Question", EvaluationRequest, MakePartRequest)


def housed(
    asked: Question, snapshot: Snapshot, principal: Principal, day: date, sections: Sequence[str] | None = None
) -> tuple[Question, Catalogue]:
    """The question with the settings of its venue, and the catalogue with the offers that hold there.

    Nothing of the venue's pricing is read for a key that sees no costs, nor where ``sections`` ask for no money.
    Raises :class:`Problem` 404 where there is no such venue for the key, :class:`InputFault` at ``/venue``.
    """
    if asked.venue is None:
        return asked, snapshot.catalogue(None, measures_of(asked.measures))
    try:
        return _at_venue(asked, asked.venue, snapshot, principal, day, sections)
    except NotFound:
        raise Problem(*NO_VENUE) from None


def _at_venue(
    asked: Question, named: str, snapshot: Snapshot, principal: Principal, day: date, sections: Sequence[str] | None
) -> tuple[Question, Catalogue]:
    venue = venue_of(principal, named)
    priced = principal.sees_costs and (sections is None or bool(set(sections) & set(COST)))
    price = None
    if priced and isinstance(asked, EvaluationRequest):
        sold = Asked(asked.drink.id, venue, None, asked.with_, None, None, day, (*COST, *LABEL))
        price = price_of(asked.drink, sold, line_of(snapshot, sold))
    currency = None if asked.pricing is None else asked.pricing.currency
    try:
        held = settings_of(snapshot, venue, currency, price, priced=priced)
    except InputFault as fault:
        raise fault.at("/venue") from None
    made = under(asked, held)
    return made, snapshot.catalogue(venue, measures_of(made.measures))
