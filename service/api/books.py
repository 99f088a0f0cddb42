"""What the books ask of the stored catalogue: ids of the till, costs as of a trading day, what a drink is made of."""

from collections.abc import Callable, Mapping
from copy import copy
from datetime import date
from decimal import Decimal
from itertools import chain
from typing import NamedTuple

from fastapi import Request
from msgspec.structs import replace

from schemas.catalogue import Menu, StoredDrink
from schemas.pricing import PriceStep
from schemas.pricing import Target as TargetIn
from schemas.pricing import Tax as TaxIn
from schemas.pricing import TaxLine as TaxLineIn
from service import pricing
from service.api.stored_question import Asked, line_of, request_of, settings_of, snapshot_of
from service.choosing import Offer
from service.contents import Contents, contents, stored
from service.errors import InputFault, InputFaults, NotFound
from service.evaluate import Evaluation, evaluate, measures_of
from service.lookup import Catalogue
from service.margins.sales import Key
from service.margins.waste import Stored
from service.offers import known_currency, sum_of
from service.store.snapshot import Snapshot
from service.variation import variation
from service.venue import Settled

Offers = Callable[[Mapping[str, tuple[Offer, ...]]], Mapping[str, tuple[Offer, ...]]]
"""Makes other offers of those of the catalogue, such as dearer ones."""


def target_of(asked: TargetIn | None) -> pricing.Target | None:
    """A target as the calculation takes it."""
    if asked is None:
        return None
    cash = None if asked.cash_margin is None else sum_of(asked.cash_margin)
    return pricing.Target(asked.gross_margin_percent, asked.pour_cost_percent, asked.markup_percent, cash)


def tax_of(asked: TaxIn | tuple[TaxLineIn, ...] | None) -> pricing.Tax:
    """A tax as the calculation takes it."""
    if asked is None:
        return pricing.NO_TAX
    if isinstance(asked, TaxIn):
        return pricing.Tax.at_rate(asked.rate_percent, asked.included)
    return pricing.Tax(tuple(pricing.TaxLine(line.name, line.rate_percent, line.on) for line in asked))


def steps_of(asked: PriceStep | None, currency: str) -> pricing.PriceRound | None:
    """Price steps as the calculation takes them."""
    if asked is None:
        return None
    if asked.ending is not None:
        return pricing.PriceRound.ending(asked.ending, currency)
    assert asked.to is not None
    return pricing.PriceRound.to(asked.to, asked.mode or "nearest", currency)


class Made(NamedTuple):
    """A drink as it was made on a day: its cost, what is in it, the items that an offer costs, what of it is kept."""

    cost: Decimal | None
    contents: Contents
    offered: frozenset[str]
    stored: tuple[Stored, ...]


class Books:
    """The catalogue of one request, as of any day, at the version that was current when it came."""

    def __init__(self, request: Request, venue: str | None, currency: str | None) -> None:
        self.request = request
        self.venue = venue
        self.version: int = request.state.versions.cost
        self._currency = currency
        self._made: dict[tuple[Key, str | None, date], Made | None] = {}
        self._last: dict[tuple[Key, str | None], Made] = {}
        self._offers: Offers | None = None
        self.missing: dict[tuple[str, str, str], None] = {}
        self._snapshots: dict[date, Snapshot] = {}

    def with_offers(self, offers: Offers) -> "Books":
        """The same books with other offers in every cost; what is missing is named in both."""
        found = copy(self)
        found._made, found._last, found._offers = {}, {}, offers
        return found

    def snapshot(self, day: date) -> Snapshot:
        """The catalogue as of a day; few are held at once, so days are best asked for in order."""
        found = self._snapshots.get(day)
        if found is None:
            found = snapshot_of(self.request, day, self.version)
            if len(self._snapshots) >= 4:
                self._snapshots.pop(next(iter(self._snapshots)))
            self._snapshots[day] = found
        return found

    def settings(self, day: date, venue: str | None = None) -> Settled:
        """What holds at a venue on a day. Raises :class:`NotFound` where there is none."""
        return settings_of(self.snapshot(day), venue or self.venue, self._currency, priced=True)

    def takes_menu_prices(self, day: date) -> bool:
        """Whether sums are in the venue's own currency, in which menus are priced."""
        own = settings_of(self.snapshot(day), self.venue, priced=True).pricing
        return own is None or self._currency in (None, own.currency)

    def currency(self, day: date) -> str:
        """The currency of every sum. Raises ``InputFault`` where none is set."""
        held = self.settings(day).pricing
        if held is None:
            raise InputFault("currency_required", "Name the currency, here or at the venue.", "/currency")
        known_currency(held.currency, "/currency")
        return held.currency

    def evaluation(self, key: Key, day: date, venue: str | None = None, offers: Offers | None = None) -> Evaluation:
        """The costs of a stored drink on a day. Raises the faults of its spec, or :class:`NotFound`."""
        snapshot = self.snapshot(day)
        asked = Asked(key[0], venue or self.venue, None, key[1], self._currency, None, day, ("cost",))
        body, held = request_of(snapshot, asked)
        state = self.request.app.state
        catalogue: Catalogue = snapshot.catalogue(asked.venue, measures_of(held.measures))
        offers = offers or self._offers
        if offers is not None:
            catalogue = replace(catalogue, offers=offers(catalogue.offers))
        rules = state.settings.jurisdictions
        if key[1]:
            return variation(body, day, rules, state.reference, catalogue).modified
        return evaluate(body, day, rules, state.reference, catalogue)

    def cost(self, key: Key, day: date, venue: str | None = None) -> Decimal | None:
        """Pour cost of one serve as of a day; ``None`` where it is not known, and then ``missing`` says why."""
        made = self.made(key, day, venue)
        return None if made is None else made.cost

    def made(self, key: Key, day: date, venue: str | None = None) -> Made | None:
        """A drink as it was made on a day; ``None`` where it cannot be made, and then ``missing`` says why."""
        place = (key, venue or self.venue, day)
        if place not in self._made:
            found = self._evaluated(key, day, venue)
            if found is not None:  # Most days are like the one before, and one of them is enough to keep.
                last = self._last.get(place[:2])
                found = self._last[place[:2]] = last if last is not None and last == found else found
            self._made[place] = found
        return self._made[place]

    def _evaluated(self, key: Key, day: date, venue: str | None) -> Made | None:
        name = "+".join((key[0], *key[1]))
        try:
            found = self.evaluation(key, day, venue)
        except NotFound:
            self.missing[name, key[0], "drink"] = None
            return None
        except (InputFault, InputFaults) as fault:
            rows = fault.faults if isinstance(fault, InputFaults) else (fault,)
            for row in rows:
                self.missing[name, key[0], row.code] = None
            return None
        assert found.cost is not None
        for item, field in found.cost.serve.missing:
            self.missing[name, item, field] = None
        lines = chain(found.cost.lines, *found.cost.preparation_lines.values())
        offered = frozenset(row.priced_from for row in lines if row.offer is not None)
        made = contents(found)
        return Made(found.cost.serve.pour_cost, made, offered, stored(found, made))

    def line(self, key: Key, day: date, venue: str | None = None) -> tuple[str | None, str | None]:
        """Menu and section that sell a drink on a day."""
        asked = Asked(key[0], venue or self.venue, None, key[1], None, None, day, ())
        found = line_of(self.snapshot(day), asked)
        return (None, None) if found is None else (found[0], found[1].section)

    def name(self, key: Key, day: date) -> str:
        """The drink's name with its modifiers' names."""
        snapshot = self.snapshot(day)
        if snapshot.held("drinks", key[0]) is None:
            return key[0]
        drink: StoredDrink = snapshot.model("drinks", key[0])
        names = {modifier.id: modifier.name for modifier in drink.modifiers}
        return " + ".join((drink.name, *(names.get(one, one) for one in key[1])))

    def till_ids(self, day: date) -> dict[str, Key]:
        """What each id of the till means on a day: a drink, or a line of a menu with its modifiers."""
        snapshot = self.snapshot(day)
        found: dict[str, Key] = {}
        for drink_id, held in snapshot.rows["drinks"].items():
            if '"external_ids"' in held.text:
                drink: StoredDrink = snapshot.model("drinks", drink_id)
                found.update(dict.fromkeys(drink.external_ids, (drink_id, ())))
        for menu_id in snapshot.rows["menus"]:
            menu: Menu = snapshot.model("menus", menu_id)
            for entry in menu.entries:
                if entry.external_id is not None:
                    found.setdefault(entry.external_id, (entry.drink, entry.with_))
        return found

    def modifiers(self, drink_id: str, written: tuple[str, ...], day: date) -> tuple[str, ...]:
        """Modifiers by their ids. Raises ``InputFault`` where the drink has none of that id or till id."""
        if not written:
            return ()
        snapshot = self.snapshot(day)
        if snapshot.held("drinks", drink_id) is None:
            return written
        drink: StoredDrink = snapshot.model("drinks", drink_id)
        ids = {modifier.external_id: modifier.id for modifier in drink.modifiers if modifier.external_id is not None}
        ids |= {modifier.id: modifier.id for modifier in drink.modifiers}
        for one in written:
            if one not in ids:
                raise InputFault("modifier_unknown", f"{drink_id} has no modifier of this id.", "/with")
        return tuple(ids[one] for one in written)
