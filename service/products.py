"""Joint products: several things that one batch gives, such as juice and peel, each with its share of the cost."""

from collections.abc import Sequence
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from schemas.preparation import Output, Preparation
from service.amounts import Measures
from service.errors import InputFault
from service.item import Item
from service.leaves import leaves_of_product
from service.line import ResolvedLine, amount_of, quantities_of
from service.lookup import Lookup, outputs_of
from service.mixture import Substance
from service.preparation import OVER_YIELD, Prepared
from service.substance import substance

BASES = {"volume": "ml", "mass": "g", "piece": "each"}
"""What a product's amount is in, by its dimension."""


class Product(Struct, frozen=True):
    """One of several products of a preparation: its quantity in ``base`` (ml, g or each) and share of the cost."""

    id: str
    preparation: str
    quantity: Decimal
    base: str
    cost_share_percent: Decimal


def products_of(
    preparation: Preparation,
    made: Prepared,
    lines: Sequence[ResolvedLine],
    pointer: str,
    lookup: Lookup,
    measures: Measures,
) -> list[tuple[Product, Substance]]:
    """The products of a preparation at ``pointer`` with what they are; none where it gives itself alone."""
    outputs = outputs_of(preparation)
    if not outputs:
        return []
    where = f"{pointer}/outputs" if preparation.outputs is not None else f"{pointer}/yield/outputs"
    if sum((output.cost_share_percent for output in outputs), Decimal(0)) != 100:
        raise InputFault("cost_shares", "The cost shares of the products are exactly 100 together.", where)
    found: list[tuple[Product, Substance]] = []
    weights: list[Decimal] = []
    for index, output in enumerate(outputs):
        held = _substance(output.id, made, lookup)
        product, weight_g = _product(output, preparation.id, held, measures, f"{where}/{index}/amount")
        found.append((product, held))
        weights.append(weight_g)
    _check_weights(preparation.id, weights, lines, where)
    return found


def _substance(product_id: str, made: Prepared, lookup: Lookup) -> Substance:
    """What a product is: its composition by an ingredient entry, its allergens those of the whole."""
    item = lookup.item(product_id)
    try:
        base = substance(item or Item(product_id, product_id, origin=made.spec.origin))
    except InputFault as fault:
        raise fault.at(lookup.pointer(product_id)) from None
    unknown = base.unknown if item is not None else base.unknown.with_pairs([(product_id, "abv_percent")])
    return replace(base, leaves=leaves_of_product(product_id, made.substance.leaves), unknown=unknown)


def _product(
    output: Output, prep_id: str, held: Substance, measures: Measures, pointer: str
) -> tuple[Product, Decimal]:
    """The product and its mass in grams, 0 where that is not known."""
    try:
        amount = amount_of(output.amount, measures, by_mass=held.basis == "g", pieces=held.pieces.keys())
    except InputFault as fault:
        raise fault.at(pointer) from None
    unit = BASES.get(amount.dimension)
    if unit is None:
        raise InputFault("yield_unreadable", "A product's amount is a volume, a mass or pieces.", pointer)
    weight_g = quantities_of(amount, held).get("g", Decimal(0))
    return Product(output.id, prep_id, amount.quantity, unit, output.cost_share_percent), weight_g


def _check_weights(prep_id: str, weights: Sequence[Decimal], lines: Sequence[ResolvedLine], where: str) -> None:
    """Refuses products that weigh more than the lines; one of unknown weight counts nothing."""
    masses = [None if line.part is None else line.part.mass_g for line in lines]
    known = [mass for mass in masses if mass is not None]
    if len(known) == len(masses) and float(sum(weights)) > sum(known) * OVER_YIELD:
        detail = f"The products of {prep_id} weigh over 2 % more than its lines; check the lines and the amounts."
        raise InputFault("yield_exceeds_inputs", detail, where)
