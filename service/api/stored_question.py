"""A question about one stored drink: at which venue, on which line of a menu, at which price; and its evaluation."""

import hashlib
import json
from datetime import date
from decimal import Decimal
from typing import Any, Final

from fastapi import Request
from msgspec import Struct

from schemas.catalogue import Menu, MenuEntry, StoredDrink, Venue
from schemas.drink import Drink
from schemas.evaluation import EvaluationRequest, Section
from service.amounts import Measures
from service.api.scopes import Principal
from service.errors import NotFound
from service.evaluate import Evaluation, evaluate, measures_of
from service.modifiers import modified
from service.report import answer
from service.report.delta import answer_with_delta
from service.report.wording import Wording
from service.store.kinds import GROUP
from service.store.snapshot import Snapshot
from service.variation import variation
from service.venue import Settled, on_menu, settled

LABEL: Final[tuple[Section, ...]] = ("alcohol", "nutrition", "allergens", "balance")


COST: Final[tuple[Section, ...]] = ("cost", "price")

NO_VENUE: Final = "There is no venue of this id on this day."
NO_MENU: Final = "There is no menu of this id on this day at this venue."


class Asked(Struct, frozen=True):
    """One question about a stored drink."""

    drink: str
    venue: str | None
    menu: str | None
    with_: tuple[str, ...]
    currency: str | None
    jurisdictions: tuple[str, ...] | None
    day: date
    sections: tuple[Section, ...]
    bands: bool = False
    pack: tuple[tuple[str, Any], ...] = ()
    """What is asked of its packs instead of what the drink states, by field."""


def snapshot_of(request: Request, day: date, version: int) -> Snapshot:
    """The catalogue as of a day, as known at a version."""
    snapshots = request.app.state.snapshots
    found: Snapshot = snapshots.known(version, day) or snapshots.at(version, day)
    return found


def venue_of(principal: Principal, asked: str | None) -> str | None:
    """The venue that is asked about; a key for one venue asks about no other. Raises :class:`NotFound`."""
    if principal.venue is None:
        return asked
    if asked not in (None, principal.venue):
        raise NotFound(NO_VENUE)
    return principal.venue


def settings_of(
    snapshot: Snapshot, venue: str | None, currency: str | None = None, price: Decimal | None = None,
    *, priced: bool = False,
) -> Settled:  # fmt: skip
    """What holds at a venue; without ``priced`` as if no pricing were set, which a label does not know.

    Raises :class:`NotFound` where there is no such venue, :class:`InputFault` where its pricing does not fit together.
    """
    group: Venue | None = None if snapshot.held("venues", GROUP) is None else snapshot.model("venues", GROUP)
    own: Venue | None = None
    if venue is not None and venue != GROUP:
        if snapshot.held("venues", venue) is None:
            raise NotFound(NO_VENUE)
        own = snapshot.model("venues", venue)
    return settled(group, own, currency, price, priced=priced)


def currency_at(snapshot: Snapshot, venue: str | None) -> str | None:
    """The currency of the prices at a venue, whether or not the rest of its pricing fits together."""
    found: str | None = None
    for one in (GROUP, venue):
        if one is not None and snapshot.held("venues", one) is not None:
            pricing = snapshot.model("venues", one).pricing
            found = found if pricing is None else pricing.currency or found
    return found


def line_of(snapshot: Snapshot, asked: Asked) -> tuple[str, MenuEntry] | None:
    """The line of a menu that sells the drink on the day: of the menu named, else of the venue's first by its id."""
    if asked.menu is not None:
        menu_at(snapshot, asked.menu, asked.venue)
        ids = [asked.menu]
    else:
        ids = sorted(held.id for held in snapshot.rows["menus"].values() if held.state == "live")
    plain: tuple[str, MenuEntry] | None = None
    for menu_id in ids:
        menu: Menu = snapshot.model("menus", menu_id)
        if asked.menu is None and menu.venue not in (None, asked.venue):
            continue
        for _, entry in on_menu(menu, asked.day):
            if entry.drink == asked.drink and entry.with_ == asked.with_:
                return menu_id, _as_sold(snapshot, menu, entry, asked.venue)
            if entry.drink == asked.drink and not entry.with_ and plain is None:
                plain = (menu_id, _as_sold(snapshot, menu, entry, asked.venue))
    return plain


def is_priced_in(snapshot: Snapshot, menu: Menu, venue: str | None) -> bool:
    """Whether the prices of a menu hold at a venue: those of a menu of no venue are in the group's currency."""
    if menu.venue is not None or venue in (None, GROUP):
        return True
    stated = [snapshot.model("venues", one).pricing for one in (GROUP, venue) if snapshot.held("venues", one)]
    return len({one.currency for one in stated if one is not None and one.currency is not None}) < 2


def _as_sold(snapshot: Snapshot, menu: Menu, entry: MenuEntry, venue: str | None) -> MenuEntry:
    """A line of a menu, without a price that is in another currency than that of the venue."""
    if entry.menu_price is None or is_priced_in(snapshot, menu, venue):
        return entry
    return entry.model_copy(update={"menu_price": None})


def menu_at(snapshot: Snapshot, menu_id: str, venue: str | None) -> Menu:
    """A menu that is asked about at a venue. Raises :class:`NotFound` where it is none or another venue's."""
    if snapshot.held("menus", menu_id) is None:
        raise NotFound(NO_MENU)
    menu: Menu = snapshot.model("menus", menu_id)
    if menu.venue is not None and venue is not None and menu.venue != venue:
        raise NotFound(NO_MENU)
    return menu


def venue_asked(snapshot: Snapshot, principal: Principal, venue: str | None, menu: str | None) -> str | None:
    """The venue of an answer: the one asked about, else the menu's. Raises :class:`NotFound`."""
    found = venue_of(principal, venue)
    return found if menu is None else found or menu_at(snapshot, menu, found).venue


def price_of(drink: Drink, asked: Asked, line: tuple[str, MenuEntry] | None) -> Decimal | None:
    """The menu price before what modifiers add to it; a line that is sold with them states its price with them."""
    if line is None or line[1].menu_price is None:
        return None
    added = Decimal(0)
    if line[1].with_:
        deltas = {modifier.id: modifier.price_delta for modifier in drink.modifiers}
        added = sum((deltas.get(one) or Decimal(0) for one in asked.with_), Decimal(0))
    return line[1].menu_price - added


def request_of(snapshot: Snapshot, asked: Asked) -> tuple[EvaluationRequest, Settled]:
    """A question about a stored drink in the form of POST /v1/evaluate. Raises :class:`NotFound`."""
    if snapshot.held("drinks", asked.drink) is None:
        raise NotFound("There is no drink of this id on this day.")
    drink: StoredDrink = snapshot.model("drinks", asked.drink)
    if asked.pack:
        drink = drink.model_copy(update=dict(asked.pack))
    price = price_of(drink, asked, line_of(snapshot, asked))
    priced = bool(set(asked.sections) & set(COST))
    held = settings_of(snapshot, asked.venue, asked.currency, price, priced=priced)
    body = EvaluationRequest.model_construct(
        _fields_set=None, drink=drink, ingredients=(), preparations=(), offers=(),
        pricing=held.pricing,
        measures=held.measures, house=held.house, jurisdictions=asked.jurisdictions or held.jurisdictions,
        as_of=asked.day, include=asked.sections, trace=False, bands=asked.bands, with_=asked.with_,
    )  # fmt: skip
    return body, held


def evaluated(request: Request, snapshot: Snapshot, asked: Asked) -> Evaluation:
    """The evaluation of a stored drink as it is asked for. Raises the faults of its spec, or :class:`NotFound`."""
    body, held = request_of(snapshot, asked)
    if asked.with_:
        body = body.model_copy(update={"drink": modified(body.drink, asked.with_).drink, "with_": ()})
    return evaluation_of(request, body, asked.day, snapshot, held.measures, asked.venue)


def answered(request: Request, snapshot: Snapshot, asked: Asked, wording: Wording | None = None) -> dict[str, Any]:
    """The answer about a stored drink, with what its modifiers change. Raises as :func:`evaluated` does."""
    body, held = request_of(snapshot, asked)
    digest = question_of(asked)
    if asked.with_:
        state = request.app.state
        catalogue = snapshot.catalogue(asked.venue, measures_of(held.measures))
        both = variation(body, asked.day, state.settings.jurisdictions, state.reference, catalogue)
        return answer_with_delta(both, digest, wording)
    return answer(evaluation_of(request, body, asked.day, snapshot, held.measures, asked.venue), digest, wording)


def evaluation_of(
    request: Request, body: EvaluationRequest, day: date, snapshot: Snapshot, measures: Any, venue: str | None
) -> Evaluation:
    state = request.app.state
    house: Measures = measures_of(measures)
    catalogue = snapshot.catalogue(venue, house)
    return evaluate(body, day, state.settings.jurisdictions, state.reference, catalogue)


def question_of(asked: Asked) -> str:
    """The digest that stands for a question about a stored drink in its answer."""
    rows = [
        asked.drink, asked.venue, asked.menu, list(asked.with_), asked.currency,
        None if asked.jurisdictions is None else list(asked.jurisdictions), asked.day.isoformat(), list(asked.sections),
        *(["bands"] if asked.bands else []), *([[name, str(one)] for name, one in asked.pack]),
    ]  # fmt: skip
    return hashlib.sha256(json.dumps(rows, separators=(",", ":")).encode()).hexdigest()
