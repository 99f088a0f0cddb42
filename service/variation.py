"""A drink and the same drink as a guest asks for it: two evaluations of two plain specs, side by side."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal

from msgspec import Struct

from schemas.evaluation import EvaluationRequest
from schemas.offer import Money
from schemas.pricing import Pricing
from service.errors import InputFault, InputFaults
from service.evaluate import Evaluation, evaluate
from service.lookup import EMPTY_CATALOGUE, Catalogue
from service.modifiers import Modified, modified
from service.offers import sum_of
from service.reference import Reference


class Variation(Struct, frozen=True):
    """The drink as it is written and as it is asked for; what its modifiers add to a price, ``None`` without any."""

    ids: tuple[str, ...]
    base: Evaluation
    modified: Evaluation
    price_delta: Decimal | None


def variation(
    request: EvaluationRequest,
    day: date,
    jurisdictions: Sequence[str],
    reference: Reference,
    catalogue: Catalogue = EMPTY_CATALOGUE,
) -> Variation:
    """Both evaluations of a request whose ``with`` names modifiers. Arguments and faults are those of ``evaluate``.

    A fault of the drink as it is written comes first; one that a modifier brings points to the modifier.
    """
    plain = request.model_copy(update={"with_": (), "trace": False})
    base = evaluate(plain, day, jurisdictions, reference, catalogue)
    changed = modified(request.drink, request.with_)
    varied = request.model_copy(
        update={"with_": (), "drink": changed.drink, "pricing": _pricing(request.pricing, changed)}
    )
    try:
        found = evaluate(varied, day, jurisdictions, reference, catalogue)
    except InputFault as fault:
        raise changed.at_origin(fault) from None
    except InputFaults as faults:
        raise InputFaults([changed.at_origin(fault) for fault in faults.faults]) from None
    return Variation(request.with_, base, found, changed.price_delta)


def _pricing(pricing: Pricing | None, changed: Modified) -> Pricing | None:
    """The pricing with the menu price that the modifiers make of it."""
    if pricing is None or pricing.menu_price is None or changed.price_delta is None:
        return pricing
    price = sum_of(pricing.menu_price) + changed.price_delta
    if price < 0:
        detail = "With this the menu price would be below 0."
        raise changed.at_origin(InputFault("price_below_zero", detail, "/pricing/menu_price"))
    written = pricing.menu_price
    return pricing.model_copy(
        update={"menu_price": written.model_copy(update={"amount": price}) if isinstance(written, Money) else price}
    )
