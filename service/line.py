"""One line with its amount read: how much of a substance, in every base that can be told, exactly."""

from collections.abc import Collection, Mapping
from decimal import Decimal
from functools import lru_cache
from types import MappingProxyType

from msgspec import Struct

from service.amounts import Amount, Measures, read_amount, read_pair
from service.errors import InputFault
from service.item import Piece
from service.mixture import Part, Substance
from service.money import EXACT
from service.pieces import EACH

LEAST = 1e-30
"""Grams or millilitres below which an amount is refused."""


class ResolvedLine(Struct, frozen=True):
    """One line, ``number`` being its place among the lines.

    ``quantities`` maps ml (with gas), g and each to the quantity of the whole spec, where it can be told.

    ``part`` is the same amount for physics (``None``: a piece of unknown mass, or a fill that is not yet
    known).
    """

    number: int
    pointer: str
    ref: str
    role: str
    amount: Amount
    substance: Substance
    part: Part | None
    quantities: Mapping[str, Decimal]
    strained_out: bool = False
    absorbs_ml: float = 0.0
    residue_ml: float = 0.0
    eaten: bool = False
    alternatives: tuple[Substance, ...] = ()
    whole_unit: bool = False


def amount_of(written: object, measures: Measures, *, by_mass: bool, pieces: Collection[str]) -> Amount:
    """The amount of a line, written as text or as a pair of value and unit."""
    if isinstance(written, str):
        return read_amount(written, measures, by_mass=by_mass, pieces=pieces)
    value = written.value  # type: ignore[attr-defined]  # the schema allows text or a pair
    if isinstance(value, float):
        value = _decimal(value)
    try:
        return read_pair(value, written.unit, measures, by_mass=by_mass, pieces=pieces)  # type: ignore[attr-defined]  # as above
    except InputFault as fault:
        place = fault.pointer or ("/unit" if fault.code.startswith("unit") or "piece" in fault.code else "/value")
        raise InputFault(fault.code, fault.detail, place) from None


def pieces_of(substance: Substance) -> tuple[str, ...]:
    """The pieces that a substance is counted in; ``each`` is one of them where the mass of a whole one is known."""
    return tuple(substance.pieces) if substance.each_g is None else (EACH, *substance.pieces)


def _decimal(value: float) -> Decimal:
    """The shortest decimal that reads as ``value``."""
    return Decimal(format(Decimal(repr(value)), "f"))


def exact(figure: float) -> Decimal:
    """A physical figure as a decimal of 17 digits, for money."""
    return Decimal(repr(figure))


def quantities_of(amount: Amount, substance: Substance) -> dict[str, Decimal]:
    """The amount in ml (with gas), g and each, where the substance tells how."""
    found: dict[str, Decimal] = {}
    if amount.dimension == "volume":
        found["ml"] = amount.quantity
    elif amount.dimension == "mass":
        found["g"] = amount.quantity
    elif amount.dimension == "piece":
        _of_pieces(found, amount, substance)
    factors = per_gram(substance)
    if "g" not in found and "ml" in found and "ml" in factors:
        found["g"] = EXACT.divide(found["ml"], factors["ml"])
    if "g" in found:
        for base, factor in factors.items():
            if base not in found:
                found[base] = EXACT.multiply(found["g"], factor)
    return found


def _of_pieces(found: dict[str, Decimal], amount: Amount, substance: Substance) -> None:
    name = amount.piece or "each"
    piece = Piece(share=1.0) if name == "each" else substance.pieces.get(name)
    if piece is None:
        return
    if piece.share is not None:
        found["each"] = EXACT.multiply(amount.quantity, exact(piece.share))
        if substance.each_g is not None:
            found["g"] = EXACT.multiply(found["each"], exact(substance.each_g))
    elif piece.g is not None:
        found["g"] = EXACT.multiply(amount.quantity, exact(piece.g))


def per_gram(substance: Substance) -> Mapping[str, Decimal]:
    """Millilitres (with gas) and pieces of one gram, where they can be told."""
    return _per_gram(substance.density_g_per_ml, substance.gas_factor, substance.bulk_g_per_ml, substance.each_g)


@lru_cache(maxsize=4096)
def _per_gram(
    density_g_per_ml: float | None, gas_factor: float, bulk_g_per_ml: float | None, each_g: float | None
) -> Mapping[str, Decimal]:
    factors: dict[str, Decimal] = {}
    if density_g_per_ml is not None:
        factors["ml"] = EXACT.divide(exact(gas_factor), exact(density_g_per_ml))
    elif bulk_g_per_ml is not None:
        factors["ml"] = EXACT.divide(Decimal(1), exact(bulk_g_per_ml))
    if each_g is not None:
        factors["each"] = EXACT.divide(Decimal(1), exact(each_g))
    return MappingProxyType(factors)


def part_of(amount: Amount, substance: Substance, quantities: Mapping[str, Decimal], serves: int) -> Part | None:
    """The amount for one serve as a part; ``None`` for a piece of unknown mass.

    Raises ``InputFault("density_unknown")`` where mass and volume would have to be turned into each other.
    """
    if substance.basis == "g":
        if "g" in quantities:
            return Part(substance, _enough(float(quantities["g"]) / serves))
        if amount.dimension == "volume":
            raise _density_unknown(substance)
        return None
    if "ml" in quantities:
        return Part(substance, _enough(float(quantities["ml"]) / substance.gas_factor / serves))
    if amount.dimension == "piece" and "g" not in quantities:
        return None
    raise _density_unknown(substance)


def _enough(base: float) -> float:
    """``base`` unless it is so small that sums with it lose their sense; only a piece of next to no mass comes here."""
    if base < LEAST:
        raise InputFault("amount_too_small", "This amount is less than any thing weighs; check the mass of a piece.")
    return base


def _density_unknown(substance: Substance) -> InputFault:
    return InputFault(
        "density_unknown",
        f"Mass and volume of {substance.id} cannot be turned into each other: give density_g_per_ml, its strength and "
        "composition, or the amount the other way.",
    )
