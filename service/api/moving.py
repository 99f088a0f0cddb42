"""The straight line of supplier prices that move: every drink before and after."""

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from fastapi import Request
from msgspec.structs import replace

from schemas.catalogue import Menu
from schemas.moves import MovesRequest
from service.api.bookkeeping import meta, missing_rows
from service.api.books import Books, target_of
from service.api.list_trial import Tried
from service.api.menuprices import Terms, menu_price, terms_of
from service.api.stored_question import NO_MENU, venue_of
from service.choosing import Offer
from service.contents import needs
from service.errors import InputFault, InputFaults, NotFound
from service.evaluate import measures_of
from service.margins.moves import Change, allowed_cost, changed, sensitivities
from service.margins.sales import Key
from service.money import EXACT, HUNDRED, half_up
from service.pricing import at_menu_price, suggestion
from service.report import books as told
from service.report.figures import Json
from service.store.snapshot import Snapshot
from service.venue import on_menu


def moves_books(request: Request, asked: MovesRequest, day: date) -> Books:
    """The catalogue as the question sees it."""
    books = Books(request, venue_of(request.state.principal, asked.venue), asked.currency)
    if asked.menu is not None:
        snapshot = books.snapshot(day)
        if snapshot.held("menus", asked.menu) is None:
            raise NotFound(NO_MENU)
        menu: Menu = snapshot.model("menus", asked.menu)
        if menu.venue is not None and books.venue not in (None, menu.venue):
            raise NotFound(NO_MENU)
        books.venue = books.venue or menu.venue
    return books


def keys_of(books: Books, menu: str | None, day: date) -> list[Key]:
    """The drinks of a menu, or all that are live."""
    snapshot = books.snapshot(day)
    if menu is None:
        return [(one, ()) for one in sorted(snapshot.rows["drinks"]) if snapshot.rows["drinks"][one].state == "live"]
    held: Menu = snapshot.model("menus", menu)
    return list(dict.fromkeys((entry.drink, entry.with_) for _, entry in on_menu(held, day)))


def moves_body(asked: MovesRequest, books: Books, keys: list[Key], day: date, tried: Tried | None = None) -> Json:
    """Every drink before and after."""
    terms = terms_of(books, day, target_of(asked.target))
    snapshot = books.snapshot(day)
    known = (snapshot if tried is None else tried.snapshot).rows["offers"]
    unknown = [number for number, one in enumerate(asked.prices) if one.offer not in known]
    if unknown:
        detail = "There is no offer of this id."
        raise InputFaults([InputFault("offer_unknown", detail, f"/prices/{number}/offer") for number in unknown])
    stated = {one.offer: one.price for one in asked.prices}
    percents = [Change(one.percent, one.item, one.kind, one.supplier) for one in asked.changes]
    kinds = _kinds(books, snapshot)
    measures = measures_of(books.settings(day).measures)
    listed = None if tried is None else tried.snapshot.catalogue(books.venue, measures).offers
    seen = Seen(set(), set())

    def offers(held: Mapping[str, tuple[Offer, ...]]) -> Mapping[str, tuple[Offer, ...]]:
        return _Moved(held, held if listed is None else listed, stated, percents, kinds, seen)

    rows: list[tuple[tuple[bool, Decimal, Key], Json]] = []
    for key in keys:
        row = _moved(key, books, terms, None if asked.empty and tried is None else offers, asked.menu)
        if row is not None:
            rows.append(row)
    rows.sort(key=lambda pair: pair[0])
    drinks = [row for _, row in rows]
    falls = [told.key_text((str(row["drink"]), tuple(row["with"]))) for row in drinks  # type: ignore[arg-type]  # ids
             if row["meets_before"] is True and row["meets_after"] is False]  # fmt: skip
    return {
        "currency": terms.currency, "offers_changed": len(seen.changed), "offers_new": len(seen.new),
        "price_list": None if tried is None else tried.told, "drinks": drinks, "fall_under": falls,
        "missing": missing_rows(books), "meta": meta(books, day),
    }  # fmt: skip


class Seen(NamedTuple):
    """Offers, by id, of what the drinks use: those that are other ones then, and those that are new."""

    changed: set[str]
    new: set[str]


class _Moved(Mapping[str, tuple[Offer, ...]]):
    """Offers by item as they might be, made when asked for: those of a list, then with other prices."""

    def __init__(
        self,
        held: Mapping[str, tuple[Offer, ...]],
        listed: Mapping[str, tuple[Offer, ...]],
        stated: Mapping[str, Decimal],
        percents: list[Change],
        kinds: Mapping[str, str],
        seen: Seen,
    ) -> None:
        self._held, self._listed, self._seen = held, listed, seen
        self._stated, self._percents, self._kinds = stated, percents, kinds

    def __getitem__(self, item: str) -> tuple[Offer, ...]:
        rows = self._listed[item]
        new = changed(rows, self._stated, self._percents, self._kinds)
        found = tuple(new.get(offer.id, offer) for offer in rows)
        before = {offer.id: offer for offer in self._held.get(item, ())}
        for offer in found:
            if offer.id not in before:
                self._seen.new.add(offer.id)
            elif offer != replace(before[offer.id], order=offer.order):
                self._seen.changed.add(offer.id)
        return found

    def __contains__(self, item: object) -> bool:
        return item in self._listed

    def __iter__(self) -> Iterator[str]:
        return iter(self._listed)

    def __len__(self) -> int:
        return len(self._listed)


def _kinds(books: Books, snapshot: Snapshot) -> Mapping[str, str]:
    items = books.request.app.state.reference.items
    kinds = {item_id: item.kind for item_id, item in items.items()}
    catalogue = snapshot.catalogue(None, measures_of(books.settings(date.fromisoformat(snapshot.day)).measures))
    kinds |= {item_id: catalogue.items[item_id].kind for item_id in snapshot.rows["ingredients"]}
    return kinds


def _moved(
    key: Key, books: Books, terms: Terms, offers: Any, menu: str | None
) -> tuple[tuple[bool, Decimal, Key], Json] | None:
    before = books.cost(key, terms.day)
    try:
        now = books.evaluation(key, terms.day)
        then = now if offers is None else books.evaluation(key, terms.day, offers=offers)
    except (InputFault, InputFaults, NotFound):
        return None  # ``missing`` names it since its cost was asked for.
    assert then.cost is not None
    after = then.cost.serve.pour_cost
    price = menu_price(books, key, terms.day, menu)
    margins = [
        None if price is None else at_menu_price(price, cost, terms.tax, terms.target, terms.currency)
        for cost in (before, after)
    ]
    suggested = None
    if terms.target is not None and after is not None:
        suggested = suggestion(after, terms.target, terms.tax, terms.rounding, terms.currency).suggested
    change = None
    if before and after is not None:
        change = EXACT.divide(EXACT.multiply(HUNDRED, EXACT.subtract(after, before)), before)
    meets = [None if one is None else one.meets_target for one in margins]
    row: Json = {
        "drink": key[0], "with": list(key[1]), "name": books.name(key, terms.day),
        "menu_price": told.money(price, terms.currency), "cost_before": told.money(before, terms.currency),
        "cost_after": told.money(after, terms.currency), "cost_change_percent": told.percent(change, 2),
        "gross_margin_before": _margin(margins[0]), "gross_margin_after": _margin(margins[1]),
        "meets_before": meets[0], "meets_after": meets[1], "suggested_after": told.money(suggested, terms.currency),
        "sensitivities": _sensitivities(now, before, price, terms),
        "sensitivities_after": _sensitivities(then, after, price, terms),
    }  # fmt: skip
    falls = meets == [True, False]
    return (not falls, -(change or Decimal(0)), key), row


def _margin(found: Any) -> str | None:
    return None if found is None else told.percent(found.margins.gross_margin_percent)


def _sensitivities(now: Any, cost: Decimal | None, price: Decimal | None, terms: Terms) -> list[Json]:
    if cost is None:
        return []
    allowed = None
    if price is not None and terms.target is not None:
        net = EXACT.divide(price, terms.tax.menu_factor())
        allowed = allowed_cost(net, terms.target)[0]
    used = needs(now)
    chosen = {one.unit.offer.id: one.unit.offer for one in _choices(now)}
    prices = {offer_id: offer.price for offer_id, offer in chosen.items()}
    return [
        {
            "item": one.item, "offer": one.offer, "cost": format(half_up(one.cost, 9), "f"),
            "per_percent": format(half_up(one.per_percent, 9), "f"),
            "price": told.money(one.price, chosen[one.offer].currency), "price_currency": chosen[one.offer].currency,
            "breaks_even_at": None if one.breaks_even_at is None else format(half_up(one.breaks_even_at, 6), "f"),
        }
        for one in sensitivities(used, prices, cost, allowed)
    ]  # fmt: skip


def _choices(now: Any) -> Iterator[Any]:
    for rows in (now.cost.lines, *now.cost.preparation_lines.values()):
        for row in rows:
            if row.offer is not None:
                yield row
