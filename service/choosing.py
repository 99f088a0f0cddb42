"""The offer that an item is costed by: pack -> net cost per ml, g or piece -> the offer chosen, and why.

Every figure is an exact :class:`~decimal.Decimal`; what is not known is ``None`` and named in ``missing``.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal, localcontext
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from msgspec import Struct

from service.errors import InputFault
from service.money import EXACT, HUNDRED, ONE, ZERO, Rate, rate_between, snapped

Missing = tuple[tuple[str, str], ...]
"""Pairs of item and field."""


class Offer(Struct, frozen=True):
    """What a supplier asks for a pack of ``units`` units of ``size`` (in ``base``: ml, g or each).

    All money is for the whole pack, in ``currency``; with ``tax_included`` all of it contains the tax.
    ``free_units`` are units of the pack given on top. The deposit comes back and is never a cost.
    ``pointer`` is where the offer stands in the request, for faults.
    """

    id: str
    item: str
    supplier: str
    units: Decimal
    size: Decimal
    base: str
    price: Decimal
    currency: str
    tax_included: bool = False
    tax_rate_percent: Decimal | None = None
    delivery: Decimal = ZERO
    discount_percent: Decimal = ZERO
    free_units: Decimal = ZERO
    rebate: Decimal = ZERO
    deposit: Decimal = ZERO
    duty_unknown: bool = False
    duty_amount: Decimal = ZERO
    valid_from: date | None = None
    valid_to: date | None = None
    preferred: bool = False
    order: int = 0
    pointer: str = ""

    def is_valid(self, day: date) -> bool:
        """Whether ``day`` lies between the first and the last day of the offer, both inclusive."""
        return (self.valid_from is None or self.valid_from <= day) and (self.valid_to is None or day <= self.valid_to)


class KeptItem(Struct, frozen=True):
    """How the bar keeps an item: in ``base``.

    ``per_base[b]`` is how much of base ``b`` one unit of the item's own base is: for an item kept in ml,
    ``{"g": density_g_per_ml}``. A base that is missing cannot be compared. ``residue_ml`` stays in each bottle.
    """

    item: str
    base: str
    per_base: Mapping[str, Decimal]
    residue_ml: Decimal = ZERO


class Terms(Struct, frozen=True):
    """``choose`` is ``cheapest``, ``preferred`` or a mapping from item to offer id (items not named: cheapest)."""

    currency: str
    day: date
    choose: str | Mapping[str, str] = "cheapest"
    rates: tuple[Rate, ...] = ()


class Considered(NamedTuple):
    """One offer that was looked at; ``unit_cost`` is per unit of the item's base, ``None`` where not compared."""

    offer: str
    unit_cost: Decimal | None
    reason: str


class Choice(Struct, frozen=True):
    """The offer that an item is costed by. ``unit_size`` is what one opened unit of its pack gives, in ``base``.

    ``pool`` holds the offers that were compared, ``costs`` what a unit of each costs. ``reason`` and ``considered``
    are put in words when they are asked for, since most answers show neither.
    """

    base: str
    unit_cost: Decimal | None
    at_least: Decimal
    missing: Missing
    unit_size: Decimal | None
    offer: Offer | None
    offers: Sequence[Offer]
    pool: Sequence[Offer]
    costs: Sequence[Decimal | None]
    kept: KeptItem
    terms: Terms

    @property
    def is_named(self) -> bool:
        """Whether the offer was named by its id."""
        return not isinstance(self.terms.choose, str) and self.kept.item in self.terms.choose

    @property
    def reason(self) -> str:
        """Why this offer, in words."""
        offer, day = self.offer, self.terms.day
        if offer is None:
            return f"none of {len(self.offers)} valid on {day}" if self.offers else "no offer"
        if self.is_named:
            return "named in choose"
        preface, kind = "", "valid"
        if self.terms.choose == "preferred":
            preface, kind = ("", "preferred and valid") if offer.preferred else ("none is preferred; ", "valid")
        known = sum(cost is not None for cost in self.costs)
        if len(self.pool) == 1:
            return _only_one(preface, kind, day)
        if not known:
            return f"{preface}first of {len(self.pool)} {kind} on {day}, none with a known cost"
        unknown = f", {len(self.pool) - known} more with unknown cost" if known < len(self.pool) else ""
        return f"{preface}cheapest of {known} {kind} on {day}{unknown}"

    @property
    def considered(self) -> tuple[Considered, ...]:
        """Every offer of the item, in the order given, with its cost where compared, and what became of it."""
        places = {id(offer): place for place, offer in enumerate(self.pool)}
        rows = []
        for offer in self.offers:
            place = places.get(id(offer))
            cost = None if place is None else self.costs[place]
            rows.append(Considered(offer.id, cost, self._outcome(offer, place is not None, cost)))
        return tuple(rows)

    def _outcome(self, offer: Offer, compared: bool, cost: Decimal | None) -> str:
        if not compared:
            if not offer.is_valid(self.terms.day):
                return f"not valid on {self.terms.day}"
            return "another is named in choose" if self.is_named else "not preferred"
        if cost is None:
            return _gap(offer, self.kept)[1]
        if offer is self.offer:
            return "chosen"
        tie = self.unit_cost is not None and snapped(cost) == snapped(self.unit_cost)
        return "same cost, later by supplier or order" if tie else "dearer"


@lru_cache(maxsize=64)
def _only_one(preface: str, kind: str, day: date) -> str:
    """The reason of most choices of a drink, which are all of one day."""
    return f"{preface}the only one {kind} on {day}"


def _fault(offer: Offer, code: str, detail: str, field: str = "") -> InputFault:
    return InputFault(code, detail, offer.pointer + field if offer.pointer else "")


def _pack_price(offer: Offer) -> Decimal:
    """What the pack costs with discount, delivery, rebate and duty; exact, as a division by 100 is."""
    price = offer.price
    if offer.discount_percent:
        price -= price * offer.discount_percent / HUNDRED
    if offer.delivery or offer.rebate or offer.duty_amount:
        price += offer.delivery - offer.rebate + offer.duty_amount
    if price < 0:
        raise _fault(offer, "offer_below_zero", "Discount and rebate exceed the price of the offer.")
    return price


def _pack_fraction(offer: Offer, terms: Terms, residue: Decimal) -> tuple[Decimal, Decimal]:
    """Numerator and denominator of the net cost per base unit, so that there is one division in all."""
    price, units, usable = _pack_price(offer), offer.units, offer.size
    if offer.free_units:
        units += offer.free_units
    if residue:
        usable -= residue
        if usable <= 0:
            detail = "The residue left in a bottle is not less than its size."
            raise _fault(offer, "residue_exceeds_size", detail, "/pack/size")
    if offer.currency != terms.currency:
        price *= rate_between(offer.currency, terms.currency, terms.rates, terms.day)
    if not offer.tax_included:
        return price, units * usable
    if offer.tax_rate_percent is None:
        detail = "A price that includes tax needs tax_rate_percent."
        raise _fault(offer, "tax_rate_missing", detail, "/tax_rate_percent")
    return price * HUNDRED, (HUNDRED + offer.tax_rate_percent) * units * usable


def unit_cost(offer: Offer, currency: str, rates: Iterable[Rate], day: date, residue: Decimal = ZERO) -> Decimal | None:
    """Net cost of one base unit of an offer in ``currency``; ``None`` where duty is suspended and not stated.

    cost = (price x (1 - discount / 100) + delivery - rebate + duty) / (1 + tax / 100)
    / ((count + free_units) x (size - residue)) x rate

    Money in the offer's currency, sizes and ``residue`` (left in each unit) in its base units, tax only where the
    price includes it. Valid for size above residue. Reference: common practice, no source.

    >>> offer = Offer("q1", "rum", "A", Decimal(6), Decimal(700), "ml", Decimal(141), "EUR")
    >>> str(unit_cost(offer, "EUR", (), date(2026, 11, 25)))[:12]
    '0.0335714285'
    """
    if offer.duty_unknown:
        return None
    with localcontext(EXACT):
        numerator, denominator = _pack_fraction(offer, Terms(currency, day, rates=tuple(rates)), residue)
        return numerator / denominator


def _per_base(kept: KeptItem, base: str) -> Decimal | None:
    return ONE if base == kept.base else kept.per_base.get(base)


def _residue(offer: Offer, kept: KeptItem) -> Decimal:
    """What stays in each unit of the pack, in the offer's base; 0 for pieces and where no density is known."""
    if not kept.residue_ml or offer.base == "ml":
        return kept.residue_ml
    g, ml = _per_base(kept, offer.base), _per_base(kept, "ml")
    if offer.base != "g" or g is None or ml is None:
        return ZERO
    return kept.residue_ml * g / ml


def _kept_cost(offer: Offer, kept: KeptItem, terms: Terms) -> Decimal | None:
    """Cost per unit of the item's own base, or ``None`` where duty or the conversion is unknown."""
    factor = _per_base(kept, offer.base)
    if factor is None or offer.duty_unknown:
        return None
    numerator, denominator = _pack_fraction(offer, terms, _residue(offer, kept))
    return numerator / denominator if factor is ONE else numerator * factor / denominator


def exact_cost(choice: Choice) -> Fraction | None:
    """The unit cost of a choice as the fraction that its 60 digits stand for; ``None`` where it is not known."""
    if choice.unit_cost is None or choice.offer is None:
        return None
    with localcontext(EXACT):
        residue = _residue(choice.offer, choice.kept)
        numerator, denominator = _pack_fraction(choice.offer, choice.terms, residue)
    factor = _per_base(choice.kept, choice.offer.base)
    assert factor is not None
    return Fraction(numerator) * Fraction(factor) / Fraction(denominator)


def _gap(offer: Offer, kept: KeptItem) -> tuple[str, str]:
    """Field that is missing for an offer's cost, and the reason in words."""
    if offer.duty_unknown:
        return "duty", "cost unknown: duty is suspended and its amount is not given"
    field = "density_g_per_ml" if {offer.base, kept.base} == {"ml", "g"} else "pieces"
    return field, f"offered by {offer.base}, kept by {kept.base}, and nothing converts the two"


def _pool(offers: Sequence[Offer], kept: KeptItem, terms: Terms) -> Sequence[Offer]:
    """The offers to compare: those valid on the day that ``choose`` lets in."""
    day, choose = terms.day, terms.choose
    named = None if isinstance(choose, str) else choose.get(kept.item)
    if named is not None:
        return (_named_offer(named, offers, kept, terms),)
    if len(offers) == 1:
        return offers if offers[0].is_valid(day) else ()
    valid = [offer for offer in offers if offer.is_valid(day)]
    if choose == "preferred":
        return [offer for offer in valid if offer.preferred] or valid
    return valid


def _named_offer(named: str, offers: Sequence[Offer], kept: KeptItem, terms: Terms) -> Offer:
    found = [offer for offer in offers if offer.id == named]
    pointer = f"/pricing/choose/{kept.item}"
    if not found:
        detail = f"No offer of item {kept.item} has this id; name one of its offers."
        raise InputFault("offer_unknown", detail, pointer)
    for offer in found:
        if offer.is_valid(terms.day):
            return offer
    raise InputFault("offer_not_valid", f"Offer {named} is not valid on the day of the calculation.", pointer)


def _cheapest(pool: Sequence[Offer], costs: Sequence[Decimal | None]) -> int:
    """Position of the cheapest offer; costs are compared snapped, since equal fractions may differ in digit 60."""

    def rank(position: int) -> tuple[bool, Decimal, str, int, int]:
        cost, offer = costs[position], pool[position]
        return cost is None, ZERO if cost is None else snapped(cost), offer.supplier, offer.order, position

    return min(range(len(pool)), key=rank)


def chosen_offer(offers: Sequence[Offer], kept: KeptItem, terms: Terms) -> Choice:
    """The offer among those of one item that the item is costed by.

    ``cheapest``: least per unit of the item's base, ties by supplier, then order. ``preferred``: the same among the
    preferred ones, among all where none is preferred. An offer named by id is taken as it is. Offers whose cost is
    unknown are not compared; where the pool has no other, the first of them is taken and its cost is unknown.
    """
    with localcontext(EXACT):
        return choice_in_exact(offers, kept, terms)


def chosen_offers(
    offers: Mapping[str, Sequence[Offer]], kept_items: Iterable[KeptItem], terms: Terms
) -> dict[str, Choice]:
    """The choice for each item of a drink, by item; ``offers`` are listed by item too."""
    with localcontext(EXACT):
        return {kept.item: choice_in_exact(offers.get(kept.item, ()), kept, terms) for kept in kept_items}


def choice_in_exact(offers: Sequence[Offer], kept: KeptItem, terms: Terms) -> Choice:
    """As :func:`chosen_offer`, for callers that have entered the context of money for all of a drink."""
    pool = _pool(offers, kept, terms)
    base = kept.base
    if not pool:
        gap = ((kept.item, "offer"),)
        return Choice(base, None, ZERO, gap, None, None, offers, pool, (), kept, terms)
    costs = [_kept_cost(offer, kept, terms) for offer in pool]
    best = _cheapest(pool, costs) if len(pool) > 1 else 0
    offer, cost = pool[best], costs[best]
    if cost is None:
        gap = ((kept.item, _gap(offer, kept)[0]),)
        return Choice(base, None, ZERO, gap, None, offer, offers, pool, costs, kept, terms)
    size = offer.size - _residue(offer, kept) if kept.residue_ml else offer.size
    if offer.base != base:
        size /= kept.per_base[offer.base]
    return Choice(base, cost, cost, (), size, offer, offers, pool, costs, kept, terms)
