"""The straight lines of what-if: supplier prices that move, a ladder of menu prices, what perishes."""

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from fastapi import Request

from schemas.catalogue import Menu, StoredDrink
from schemas.moves import LadderRequest, MovesRequest, RungIn
from schemas.perishing import PerishableIn, PerishingRequest
from service.api.answers import Asked, line_of, price_of, venue_of
from service.api.bookkeeping import meta, missing_rows
from service.api.books import Books, steps_of, target_of, tax_of
from service.api.kept import today
from service.choosing import Offer
from service.contents import needs
from service.errors import InputFault, InputFaults, NotFound
from service.evaluate import measures_of
from service.margins.ladder import Rung, ladder
from service.margins.moves import Change, allowed_cost, changed, sensitivities
from service.margins.perishing import Batch, Keg, Perishable, batches, best_batch
from service.margins.sales import Key
from service.money import EXACT, HUNDRED, half_up, minor_unit_digits
from service.offers import known_currency
from service.pricing import PriceRound, Target, Tax, at_menu_price, suggestion
from service.report import books as told
from service.report.figures import Json
from service.store.snapshot import Snapshot
from service.venue import on_menu


class Terms(NamedTuple):
    """What holds for all drinks of a question."""

    day: date
    currency: str
    tax: Tax
    target: Target | None
    rounding: PriceRound | None


def moves_books(request: Request, asked: MovesRequest) -> tuple[Books, date]:
    """The catalogue as the question sees it, and its day."""
    day = asked.as_of or today()
    books = Books(request, venue_of(request.state.principal, asked.venue), asked.currency)
    if asked.menu is not None:
        snapshot = books.snapshot(day)
        if snapshot.held("menus", asked.menu) is None:
            raise NotFound
        menu: Menu = snapshot.model("menus", asked.menu)
        if menu.venue is not None and books.venue not in (None, menu.venue):
            raise NotFound
        books.venue = books.venue or menu.venue
    return books, day


def keys_of(books: Books, menu: str | None, day: date) -> list[Key]:
    """The drinks of a menu, or all that are live."""
    snapshot = books.snapshot(day)
    if menu is None:
        return [(one, ()) for one in sorted(snapshot.rows["drinks"]) if snapshot.rows["drinks"][one].state == "live"]
    held: Menu = snapshot.model("menus", menu)
    return list(dict.fromkeys((entry.drink, entry.with_) for _, entry in on_menu(held, day)))


def _terms(books: Books, day: date, target: Target | None) -> Terms:
    held = books.settings(day).pricing
    currency = books.currency(day)
    own = target_of(None if held is None else held.target)
    rounding = steps_of(None if held is None else held.round, currency)
    return Terms(day, currency, tax_of(None if held is None else held.tax), target or own, rounding)


def moves_body(asked: MovesRequest, books: Books, keys: list[Key], day: date) -> Json:
    """Every drink before and after."""
    terms = _terms(books, day, target_of(asked.target))
    snapshot = books.snapshot(day)
    known = snapshot.rows["offers"]
    unknown = [number for number, one in enumerate(asked.prices) if one.offer not in known]
    if unknown:
        detail = "There is no offer of this id."
        raise InputFaults([InputFault("offer_unknown", detail, f"/prices/{number}/offer") for number in unknown])
    stated = {one.offer: one.price for one in asked.prices}
    percents = [Change(one.percent, one.item, one.kind, one.supplier) for one in asked.changes]
    kinds = _kinds(books, snapshot)
    all_changed: dict[str, Offer] = {}

    def offers(held: Mapping[str, tuple[Offer, ...]]) -> Mapping[str, tuple[Offer, ...]]:
        return _Moved(held, stated, percents, kinds, all_changed)

    rows: list[tuple[tuple[bool, Decimal, Key], Json]] = []
    for key in keys:
        row = _moved(key, books, terms, None if asked.empty else offers, asked.menu)
        if row is not None:
            rows.append(row)
    rows.sort(key=lambda pair: pair[0])
    drinks = [row for _, row in rows]
    falls = [told.key_text((str(row["drink"]), tuple(row["with"]))) for row in drinks  # type: ignore[arg-type]  # ids
             if row["meets_before"] is True and row["meets_after"] is False]  # fmt: skip
    return {
        "currency": terms.currency, "offers_changed": len(all_changed), "drinks": drinks, "fall_under": falls,
        "missing": missing_rows(books), "meta": meta(books, day),
    }  # fmt: skip


class _Moved(Mapping[str, tuple[Offer, ...]]):
    """Offers by item with their prices as they might be; made when asked for."""

    def __init__(
        self,
        held: Mapping[str, tuple[Offer, ...]],
        stated: Mapping[str, Decimal],
        percents: list[Change],
        kinds: Mapping[str, str],
        seen: dict[str, Offer],
    ) -> None:
        self._held, self._stated, self._percents, self._kinds, self._seen = held, stated, percents, kinds, seen

    def __getitem__(self, item: str) -> tuple[Offer, ...]:
        rows = self._held[item]
        new = changed(rows, self._stated, self._percents, self._kinds)
        self._seen.update(new)
        return tuple(new.get(offer.id, offer) for offer in rows)

    def __contains__(self, item: object) -> bool:
        return item in self._held

    def __iter__(self) -> Iterator[str]:
        return iter(self._held)

    def __len__(self) -> int:
        return len(self._held)


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


def menu_price(books: Books, key: Key, day: date, menu: str | None = None) -> Decimal | None:
    """What a menu prints for a drink with its modifiers; ``None`` where none sells it."""
    asked = Asked(key[0], books.venue, menu, key[1], None, None, day, ())
    snapshot = books.snapshot(day)
    line = line_of(snapshot, asked)
    if line is None or snapshot.held("drinks", key[0]) is None:
        return None
    drink: StoredDrink = snapshot.model("drinks", key[0])
    price = price_of(drink, asked, line)
    if price is None:
        return None
    deltas = {modifier.id: modifier.price_delta or Decimal(0) for modifier in drink.modifiers}
    return price + sum((deltas.get(one, Decimal(0)) for one in key[1]), Decimal(0))


def ladder_body(asked: LadderRequest, books: Books, day: date) -> Json:
    """The fewest and smallest changes of price."""
    terms = _terms(books, day, None)
    grid = steps_of(asked.steps, terms.currency) or terms.rounding
    rungs: list[Rung] = []
    faults: list[InputFault] = []
    for number, one in enumerate(asked.drinks):
        try:
            rungs.append(_rung(one, asked, books, terms, grid))
        except InputFault as fault:
            faults.append(fault.at(f"/drinks/{number}"))
    if faults:
        raise InputFaults(faults)
    found = ladder(rungs, asked.margin_percent)
    new = dict(found.prices)
    keys = {told.key_text((one.drink, one.with_)): one for one in asked.drinks}
    method = "all choices of the fewest changes, by branch and bound"
    if not found.exact:
        method = "the largest gains, each lowered to the least point that does; not every choice was looked at"
    return {
        "currency": terms.currency, "met": found.met, "exact": found.exact, "method": method,
        "margin_before": told.percent(_weighted(rungs, {})), "margin_after": told.percent(_weighted(rungs, new)),
        "changes": [
            {"drink": keys[one.id].drink, "with": list(keys[one.id].with_),
             "from": told.money(one.price, terms.currency), "to": told.money(new[one.id], terms.currency)}
            for one in rungs if one.id in new
        ],
        "meta": meta(books, day),
    }  # fmt: skip


def _rung(one: RungIn, asked: LadderRequest, books: Books, terms: Terms, grid: PriceRound | None) -> Rung:
    key = (one.drink, one.with_)
    price = one.menu_price if one.menu_price is not None else menu_price(books, key, terms.day, asked.menu)
    if price is None:
        raise InputFault("menu_price_missing", "No menu has a price for it; state one.", "/menu_price")
    cost = one.pour_cost if one.pour_cost is not None else books.cost(key, terms.day)
    if cost is None:
        raise InputFault("pour_cost_missing", "Its cost is not known; state one.", "/pour_cost")
    points = one.points if one.points is not None else _points(price, asked.highest_percent, grid, terms.currency)
    return Rung(told.key_text(key), price, one.quantity, cost, terms.tax.menu_factor(), points)


def _points(price: Decimal, percent: Decimal, grid: PriceRound | None, currency: str) -> tuple[Decimal, ...]:
    steps = grid or PriceRound(Decimal(1).scaleb(-minor_unit_digits(currency)))
    highest = EXACT.divide(EXACT.multiply(price, HUNDRED + percent), HUNDRED)
    found: list[Decimal] = []
    point = steps.price(price, "up")
    while point <= highest and len(found) < 100:
        if point > price:
            found.append(point)
        point = EXACT.add(point, steps.step)
    return tuple(found)


def _weighted(rungs: list[Rung], new: Mapping[str, Decimal]) -> Decimal | None:
    net = cost = Decimal(0)
    for one in rungs:
        each = EXACT.divide(new.get(one.id, one.price), one.factor)
        net = EXACT.add(net, EXACT.multiply(one.quantity, each))
        cost = EXACT.add(cost, EXACT.multiply(one.quantity, one.cost))
    return None if net <= 0 else EXACT.divide(EXACT.multiply(HUNDRED, EXACT.subtract(net, cost)), net)


ASSUMES = (
    "Serves over a life are a Poisson count with the stated mean (common practice for slow movers, no source); days "
    "that differ much make the true waste larger. A batch that sells out is followed by the next at once."
)


def perishing_body(asked: PerishingRequest) -> Json:
    """What of each thing is thrown away."""
    known_currency(asked.currency, "/currency")
    rows = []
    for number, one in enumerate(asked.items):
        try:
            rows.append(_perishable(one))
        except InputFault as fault:
            raise InputFault(fault.code, fault.detail, f"/items/{number}") from None
    return {"currency": asked.currency, "assumes": ASSUMES, "items": rows}


def _perishable(one: PerishableIn) -> Json:
    loss = None
    if one.keg is not None:
        keg = Keg(one.keg.size_ml, one.keg.serve_ml, one.keg.line_loss_ml, one.keg.cleanings, one.keg.left_ml)
        serve_cost = EXACT.divide(one.keg.cost, Decimal(keg.serves))
        sizes = [keg.serves]
        wanted: int | None = keg.serves
        loss = keg.loss_each(one.keg.cost)
    else:
        assert one.serve_cost is not None
        serve_cost, sizes, wanted = one.serve_cost, list(one.sizes) or list(range(1, one.largest + 1)), one.wanted
    found = Perishable(one.sales_a_day, one.life_days, serve_cost, one.batch_cost)
    best = best_batch(found, sizes)
    made = None if wanted is None else list(batches(found, wanted))[-1]
    dearer = None
    if best is not None and made is not None and best.cost_each is not None and made.cost_each is not None:
        dearer = EXACT.subtract(made.cost_each, best.cost_each)
    return {
        "id": one.id, "mean_demand": told.quantity(found.mean), "best": _batch(best), "wanted": _batch(made),
        "dearer_each": _six(dearer), "line_loss_each": _six(loss),
    }  # fmt: skip


def _six(figure: Decimal | None) -> str | None:
    return None if figure is None else format(half_up(figure, 6), "f")


def _batch(one: Batch | None) -> Json | None:
    if one is None:
        return None
    share = EXACT.divide(EXACT.multiply(HUNDRED, one.thrown), Decimal(one.serves))
    return {
        "serves": one.serves, "sold": format(half_up(one.sold, 2), "f"), "thrown": format(half_up(one.thrown, 2), "f"),
        "thrown_percent": told.percent(share), "waste_each": _six(one.waste_each), "cost_each": _six(one.cost_each),
    }  # fmt: skip
