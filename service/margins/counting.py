"""What a count found, in base units of the item: whole packs, single units, part-full ones by weight or in tenths."""

from decimal import Decimal, localcontext

from msgspec import Struct

from service.errors import InputFault
from service.money import EXACT, ZERO

TEN = Decimal(10)


class Counted(Struct, frozen=True):
    """What stands on the shelf. ``size`` is one unit in base units, ``per_pack`` units are in a pack.

    ``tenths`` are the levels of part-full units, each 0 to 10; ``weights`` their masses in g with their container of
    ``tare_g``, which need ``g_per_unit``: the mass of one base unit (its density where that is ml, 1 where it is g).
    ``loose`` is what was measured in base units.
    """

    size: Decimal
    per_pack: Decimal = Decimal(1)
    packs: Decimal = ZERO
    units: Decimal = ZERO
    loose: Decimal = ZERO
    tenths: tuple[Decimal, ...] = ()
    weights: tuple[Decimal, ...] = ()
    tare_g: Decimal | None = None
    g_per_unit: Decimal | None = None


def counted(found: Counted) -> Decimal:
    """The quantity in base units.

    packs x per pack x size + units x size + loose + sum of tenths / 10 x size + sum of (weight - tare) / density.
    A bottle that weighs less than its tare, or holds over 5 % more than its size, was read wrong and is refused.

    >>> str(counted(Counted(Decimal(700), Decimal(6), Decimal(2), Decimal(1), tenths=(Decimal(4),))))
    '9380.0'
    """
    with localcontext(EXACT):
        whole = (found.packs * found.per_pack + found.units) * found.size + found.loose
        for level in found.tenths:
            if not 0 <= level <= TEN:
                raise InputFault("tenths_out_of_range", "A level is 0 to 10 tenths.", "/tenths")
            whole += level / TEN * found.size
        for weight in found.weights:
            whole += _by_weight(weight, found)
        return whole


def _by_weight(weight_g: Decimal, found: Counted) -> Decimal:
    if found.tare_g is None:
        raise InputFault("tare_missing", "State the mass of the empty container in tare_g.", "/tare_g")
    if not found.g_per_unit:
        detail = "A part-full container is weighed by density, and that of this item is not known."
        raise InputFault("density_missing", detail, "/density_g_per_ml")
    content = EXACT.divide(EXACT.subtract(weight_g, found.tare_g), found.g_per_unit)
    if content < 0:
        raise InputFault("weight_below_tare", "The container weighs less than when it is empty.", "/weights_g")
    if content > EXACT.multiply(found.size, Decimal("1.05")):
        raise InputFault("weight_over_full", "The container weighs more than when it is full.", "/weights_g")
    return content
