"""What a change of supplier prices does to drinks: the new cost, who falls under target, where it breaks even.

The cost of a drink is linear in the price of each offer as long as the same offers are chosen: what of it scales with
the price is ``price_part``; delivery, rebate and duty of a pack stay as they are.
"""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal, localcontext

from msgspec import Struct
from msgspec.structs import replace

from service.choosing import Offer
from service.money import EXACT, HUNDRED, ONE, ZERO
from service.pricing import Target


class Need(Struct, frozen=True):
    """What one bought item costs in one serve; ``price_part`` of it scales with the price of ``offer``."""

    item: str
    offer: str
    cost: Decimal
    price_part: Decimal


class Change(Struct, frozen=True):
    """A change by ``percent`` of all offers that fit every word given; no word at all is every offer."""

    percent: Decimal
    item: str | None = None
    kind: str | None = None
    supplier: str | None = None


def price_share(offer: Offer) -> Decimal:
    """The share of an offer's pack cost that scales with its price.

    price x (1 - discount / 100) / (that + delivery - rebate + duty); 1 where nothing else is in it, 0 for a free pack.
    """
    with localcontext(EXACT):
        price = offer.price * (HUNDRED - offer.discount_percent) / HUNDRED
        pack = price + offer.delivery - offer.rebate + offer.duty_amount
        return price / pack if pack > 0 else ZERO


def changed(
    offers: Iterable[Offer],
    stated: Mapping[str, Decimal],
    changes: Sequence[Change],
    kinds: Mapping[str, str],
) -> dict[str, Offer]:
    """The offers whose price is another one, by id.

    A price stated for an offer by its id stands; else the changes that fit it are applied one after the other.
    """
    found: dict[str, Offer] = {}
    for offer in offers:
        price = stated.get(offer.id)
        if price is None:
            price = offer.price
            for change in changes:
                if _fits(change, offer, kinds.get(offer.item)):
                    price = EXACT.divide(EXACT.multiply(price, EXACT.add(HUNDRED, change.percent)), HUNDRED)
        if price != offer.price:
            found[offer.id] = replace(offer, price=price)
    return found


def _fits(change: Change, offer: Offer, kind: str | None) -> bool:
    return (
        change.item in (None, offer.item)
        and change.supplier in (None, offer.supplier)
        and (change.kind is None or change.kind == kind)
    )


def allowed_cost(net: Decimal, target: Target) -> tuple[Decimal, str]:
    """The highest cost of a serve at which a net price meets every target, and the target that bounds it.

    net x (1 - margin / 100); net x share / 100; net / (1 + markup / 100); net - cash margin. It is what
    :meth:`Target.net_price` asks, turned round.

    >>> allowed_cost(Decimal(10), Target(gross_margin_percent=Decimal(78)))
    (Decimal('2.2'), 'gross_margin_percent')
    """
    bounds: list[tuple[Decimal, str]] = []
    with localcontext(EXACT):
        if target.gross_margin_percent is not None:
            bounds.append((net * (HUNDRED - target.gross_margin_percent) / HUNDRED, "gross_margin_percent"))
        if target.pour_cost_percent is not None:
            bounds.append((net * target.pour_cost_percent / HUNDRED, "pour_cost_percent"))
        if target.markup_percent is not None:
            bounds.append((net * HUNDRED / (HUNDRED + target.markup_percent), "markup_percent"))
        if target.cash_margin is not None:
            bounds.append((net - target.cash_margin, "cash_margin"))
    return min(bounds, key=lambda bound: bound[0])


class Sensitivity(Struct, frozen=True):
    """One offer in one drink; ``per_percent`` is what 1 % more on its price adds to the cost of a serve.

    ``breaks_even_at`` is the price of the offer's whole pack at which the drink just meets its target, all else as it
    is; ``None`` where no price of it alone does: it would have to be below 0, or there is no target.
    """

    item: str
    offer: str
    cost: Decimal
    per_percent: Decimal
    price: Decimal
    breaks_even_at: Decimal | None


def sensitivities(
    needs: Iterable[Need], prices: Mapping[str, Decimal], cost: Decimal, allowed: Decimal | None
) -> tuple[Sensitivity, ...]:
    """How a drink's cost hangs on each offer that it uses, the heaviest first; ``prices`` are of whole packs.

    per_percent = price part / 100; breaks even at price x (1 + (allowed cost - cost) / price part), exact since cost
    is linear in price. Reference: arithmetic.
    """
    parts: dict[tuple[str, str], tuple[Decimal, Decimal]] = {}
    for need in needs:
        held = parts.get((need.item, need.offer), (ZERO, ZERO))
        parts[need.item, need.offer] = EXACT.add(held[0], need.cost), EXACT.add(held[1], need.price_part)
    found = []
    with localcontext(EXACT):
        for (item, offer), (costs, scales) in parts.items():
            breaks = None
            if allowed is not None and scales > 0:
                factor = ONE + (allowed - cost) / scales
                breaks = prices[offer] * factor if factor >= 0 else None
            found.append(Sensitivity(item, offer, costs, scales / HUNDRED, prices[offer], breaks))
    return tuple(sorted(found, key=lambda row: (-row.per_percent, row.item, row.offer)))
