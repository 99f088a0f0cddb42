"""The way in: a spec and what it names become resolved lines and finished preparations.

Units are read once, preparations become substances in the order they are made, every fault gets its pointer.
"""

from collections.abc import Callable, Mapping, Sequence
from decimal import Decimal

from msgspec import Struct

from schemas.drink import Drink
from schemas.drink import Line as DrinkLine
from schemas.preparation import Preparation
from schemas.preparation import PreparationLine as WrittenLine
from service.amounts import Amount, Measures, shown
from service.choosing import Offer
from service.errors import InputFault, InputFaults
from service.graph import making_order
from service.item import Item
from service.line import ResolvedLine, amount_of, part_of, pieces_of, quantities_of
from service.lookup import Lookup, Place
from service.mixture import Part, Substance
from service.money import EXACT
from service.preparation import Prepared, Warn, prepared
from service.products import Product, products_of
from service.specification import spec_of
from service.substance import BY_MASS, DENSITY_ASSUMED, by_volume, substance


class Resolved(Struct, frozen=True):
    """A drink with its lines read, and every preparation it needs, in the order they are made."""

    drink: Drink
    lines: tuple[ResolvedLine, ...]
    preparations: Mapping[str, Prepared]
    preparation_lines: Mapping[str, tuple[ResolvedLine, ...]]
    products: Mapping[str, Product]
    items: Mapping[str, Item]
    warnings: tuple[Warn, ...]


class Resolver:
    """Resolves one request; keeps each substance and each preparation so that it is computed once."""

    def __init__(
        self,
        lookup: Lookup,
        measures: Measures,
        offers: Mapping[str, Sequence[Offer]],
        reference_substance: Callable[[Item], Substance],
    ) -> None:
        self._lookup = lookup
        self._measures = measures
        self._offers = offers
        self._reference_substance = reference_substance
        self._substances: dict[str, Substance] = {}
        self._prepared: dict[str, Prepared] = {}
        self._preparation_lines: dict[str, tuple[ResolvedLine, ...]] = {}
        self._products: dict[str, Product] = {}
        self._items: dict[str, Item] = {}
        self._by_mass: dict[str, bool] = {}
        self._warnings: list[Warn] = []

    def resolved(self, drink: Drink) -> Resolved:
        """The drink resolved; raises every fault found in its lines at once."""
        roots: list[tuple[str, str]] = []
        for index, line in enumerate(drink.lines):
            roots.append((line.item, f"/drink/lines/{index}/item"))
            for number, alternative in enumerate(line.alternatives):
                roots.append((alternative, f"/drink/lines/{index}/alternatives/{number}"))
        try:
            order = making_order(roots, self._lookup)
        except InputFault as unknown:
            raise self._with_amounts(drink, [unknown]) from None
        except InputFaults as unknown:
            raise self._with_amounts(drink, unknown.faults) from None
        for place in order:
            self._prepare(place)
        lines = self._drink_lines(drink)
        return Resolved(
            drink, lines, self._prepared, self._preparation_lines, self._products, self._items, tuple(self._warnings)
        )

    def _with_amounts(self, drink: Drink, found: Sequence[InputFault]) -> InputFault | InputFaults:
        """Faults found before the lines were read, with those of the amounts of bought items that are known."""
        faults = list(found)
        if any(fault.code != "item_unknown" for fault in faults):
            return faults[0] if len(faults) == 1 else InputFaults(faults)
        for number, line in enumerate(drink.lines):
            if self._lookup.preparation(line.item) is None and self._lookup.item(line.item) is not None:
                try:
                    self._amount(line.amount, self._substance(line.item), f"/drink/lines/{number}/amount")
                except InputFault as fault:
                    faults.append(fault)
        return faults[0] if len(faults) == 1 else InputFaults(faults)

    def _substance(self, item_id: str) -> Substance:
        known = self._substances.get(item_id)
        if known is not None:
            return known
        item = self._lookup.item(item_id)
        if item is None:
            raise InputFault("item_unknown", "No item has this id.")
        self._items[item_id] = item
        if item.origin == "reference":
            made = self._reference_substance(item)
        else:
            try:
                made = substance(item)
            except InputFault as fault:
                raise fault.at(self._lookup.pointer(item_id)) from None
        self._substances[item_id] = made
        self._warnings += [
            Warn(row.code, row.detail, row.item) for row in made.assumptions if row.code == DENSITY_ASSUMED
        ]
        return made

    def _kept_by_mass(self, made: Substance) -> bool:
        known = self._by_mass.get(made.id)
        if known is None:
            bases = {offer.base for offer in self._offers.get(made.id, ())}
            item = self._items.get(made.id)
            by_kind = item is not None and item.kind in BY_MASS and item.density_g_per_ml is None
            known = self._by_mass[made.id] = by_kind or ("g" in bases and "ml" not in bases)
        return known

    def _amount(self, written: object, made: Substance, pointer: str) -> Amount:
        try:
            amount = amount_of(written, self._measures, by_mass=self._kept_by_mass(made), pieces=pieces_of(made))
        except InputFault as fault:
            raise fault.at(pointer) from None
        if amount.disagreement is not None:
            self._warnings.append(Warn("measures_disagree", amount.disagreement, made.id))
        return amount

    def _read(
        self, lines: Sequence[DrinkLine | WrittenLine], pointer: str, faults: list[InputFault]
    ) -> list[tuple[Amount, Substance] | None]:
        """The amount and substance of each line; ``None`` where it has a fault, which is kept."""
        read: list[tuple[Amount, Substance] | None] = []
        for number, line in enumerate(lines):
            try:
                made = self._substance(line.item)
                read.append((self._amount(line.amount, made, f"{pointer}/lines/{number}/amount"), made))
            except InputFault as fault:
                faults.append(fault)
                read.append(None)
        return read

    def _drink_lines(self, drink: Drink) -> tuple[ResolvedLine, ...]:
        faults: list[InputFault] = []
        read = self._read(drink.lines, "/drink", faults)
        self._check_fill(drink, read, faults)
        per_part = self._per_part([row[0] for row in read if row], drink.parts_total, "/drink", faults)
        serves = drink.serves
        lines: list[ResolvedLine] = []
        for number, (line, row) in enumerate(zip(drink.lines, read, strict=True)):
            if row is None:
                continue
            pointer = f"/drink/lines/{number}"
            try:
                alternatives = tuple([self._substance(alternative) for alternative in line.alternatives])
            except InputFault as fault:
                faults.append(fault)
                continue
            amount, made = _in_ml(*row, per_part)
            alternatives = _poured_as(amount, alternatives)
            part, quantities = _quantified(amount, made, pointer, line.role, serves, faults)
            lines.append(
                ResolvedLine(
                    number, pointer, made.id, line.role, amount, made, part, quantities, False, 0.0,
                    (line.residue_ml or 0.0) / serves, line.eaten, alternatives, line.charge == "whole_unit",
                )
            )  # fmt: skip
        _raise(faults)
        return tuple(lines)

    def _check_fill(
        self, drink: Drink, read: Sequence[tuple[Amount, Substance] | None], faults: list[InputFault]
    ) -> None:
        fills = [index for index, row in enumerate(read) if row is not None and row[0].dimension == "fill"]
        for number, index in enumerate(fills):
            pointer = f"/drink/lines/{index}"
            if drink.lines[index].role != "top":
                faults.append(InputFault("fill_role", "fill is for a line of role top.", pointer + "/amount"))
            if number:
                faults.append(InputFault("fill_twice", "fill may stand on one line only.", pointer + "/amount"))
            if drink.serve.glass_ml is None and drink.serve.line_ml is None:
                detail = "fill needs serve.glass_ml or serve.line_ml to fill to."
                faults.append(InputFault("fill_without_glass", detail, pointer + "/amount"))

    def _per_part(
        self, amounts: Sequence[Amount], total: object | None, pointer: str, faults: list[InputFault]
    ) -> Decimal | None:
        """Millilitres of one part; ``None`` where no line is in parts."""
        parts = sum((amount.quantity for amount in amounts if amount.dimension == "part"), Decimal(0))
        if total is None:
            if parts:
                detail = "Lines in parts need parts_total, the volume they share out."
                faults.append(InputFault("parts_total_missing", detail, pointer + "/parts_total"))
            return None
        try:
            whole = amount_of(total, self._measures, by_mass=False, pieces=())
        except InputFault as fault:
            faults.append(fault.at(pointer + "/parts_total"))
            return None
        if whole.dimension != "volume":
            faults.append(
                InputFault(
                    "parts_total_not_volume", "parts_total is a volume, such as 90 ml.", pointer + "/parts_total"
                )
            )
            return None
        return EXACT.divide(whole.quantity, parts) if parts else None

    def _prepare(self, place: Place) -> None:
        preparation = place.preparation
        faults: list[InputFault] = []
        lines = self._preparation_rows(preparation, place.pointer, faults)
        _raise(faults)
        try:
            made = prepared(spec_of(preparation, lines, place, self._measures))
        except InputFault as fault:
            raise fault.at(place.pointer) from None
        self._warnings.extend(made.warnings)
        self._prepared[preparation.id] = made
        self._preparation_lines[preparation.id] = lines
        self._substances[preparation.id] = made.substance
        products = products_of(preparation, made, lines, place.pointer, self._lookup, self._measures)
        for product, made_of in products:
            self._products[product.id] = product
            self._substances[product.id] = made_of

    def _preparation_rows(
        self, preparation: Preparation, pointer: str, faults: list[InputFault]
    ) -> tuple[ResolvedLine, ...]:
        read = self._read(preparation.lines, pointer, faults)
        per_part = self._per_part([row[0] for row in read if row], preparation.parts_total, pointer, faults)
        lines: list[ResolvedLine] = []
        for number, (line, row) in enumerate(zip(preparation.lines, read, strict=True)):
            if row is None:
                continue
            place = f"{pointer}/lines/{number}"
            if row[0].dimension == "fill":
                detail = "fill is for one line of role top in a drink."
                faults.append(InputFault("fill_role", detail, place + "/amount"))
                continue
            role = "garnish" if line.strained_out else "pour"
            try:
                alternatives = tuple([self._substance(alternative) for alternative in line.alternatives])
            except InputFault as fault:
                faults.append(fault)
                continue
            amount, made = _in_ml(*row, per_part)
            alternatives = _poured_as(amount, alternatives)
            part, quantities = _quantified(amount, made, place, role, 1, faults)
            lines.append(
                ResolvedLine(
                    number, place, made.id, role, amount, made, part, quantities, line.strained_out,
                    line.absorbs_ml or 0.0, 0.0, False, alternatives, line.charge == "whole_unit",
                )
            )  # fmt: skip
        return tuple(lines)


def _in_ml(amount: Amount, made: Substance, per_part: Decimal | None) -> tuple[Amount, Substance]:
    """An amount in parts as the volume it comes to; any other as it is."""
    if amount.dimension == "part" and per_part is not None:
        ml = EXACT.multiply(amount.quantity, per_part)
        amount = Amount("volume", ml, None, f"{amount.read_as} = {shown(ml)} ml")
    return amount, by_volume(made) if amount.dimension == "volume" else made


def _poured_as(amount: Amount, alternatives: tuple[Substance, ...]) -> tuple[Substance, ...]:
    """The alternatives as they stand on a line of this amount: by volume where it is one."""
    if amount.dimension not in ("volume", "fill"):
        return alternatives
    return tuple([by_volume(made) for made in alternatives])


def _quantified(
    amount: Amount, made: Substance, pointer: str, role: str, serves: int, faults: list[InputFault]
) -> tuple[Part | None, dict[str, Decimal]]:
    """The amount for physics (one serve) and in every base (the whole spec); a fault is kept with its pointer."""
    if amount.dimension in ("fill", "part"):
        return None, {}
    quantities = quantities_of(amount, made)
    needed = role not in ("garnish", "consumable")
    try:
        part = part_of(amount, made, quantities, serves)
    except InputFault as fault:
        if needed:
            faults.append(fault.at(pointer + "/amount"))
        return None, quantities
    if part is None and needed:
        detail = f"A piece of {made.id} has no known mass: give pieces.each_g, or the amount by mass or volume."
        faults.append(InputFault("piece_mass_unknown", detail, pointer + "/amount"))
    return part, quantities


def _raise(faults: Sequence[InputFault]) -> None:
    if len(faults) == 1:
        raise faults[0]
    if faults:
        raise InputFaults(faults)
