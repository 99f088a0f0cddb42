"""A drink as a guest asks for it: its modifiers done in the order of ``with``, to a spec as one would write it by hand.

Nothing below knows of modifiers: what comes out is a plain drink. Where a fault of it lies in what a modifier brought,
:meth:`Modified.at_origin` points to the modifier.
"""

import difflib
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from msgspec import Struct, field

from schemas.drink import Amount, Drink, Line, Modifier, Replacement, Scaling
from service.errors import InputFault, InputFaults
from service.scaling import INEXACT, PART_WORDS, parts_in, parts_of_value, scaled_text, scaled_value

MOST_LINES = 60
"""As many lines as any drink may have."""

MOST_ML_OR_G = 100_000
"""The bound of the measured water and of its ice, which the contract sets on what is written."""

NAMED = 5
"""How many ids a refusal lists where none is near."""


class Modified(Struct, frozen=True):
    """The modified drink, which has no modifiers; the sum that they add to a price, ``None`` where none states one.

    ``places`` maps pointers into the modified drink to the pointer of what brought it; where the flag is false, the
    rest of a longer pointer has no sense there and is dropped.
    """

    drink: Drink
    price_delta: Decimal | None
    places: Mapping[str, tuple[str, bool]]

    def at_origin(self, fault: InputFault) -> InputFault:
        """A fault of the modified drink at its place in the request."""
        place = fault.pointer
        while place and place not in self.places:
            place = place.rpartition("/")[0]
        if not place:
            return fault
        origin, keeps_rest = self.places[place]
        rest = fault.pointer[len(place) :] if keeps_rest else ""
        return InputFault(fault.code, fault.detail, origin + rest)


class _Row(Struct):
    """A line on its way: the items that it has had, and where it and its changed fields come from."""

    line: Line
    place: str
    names: set[str]
    changed: dict[str, tuple[str, bool]] = field(default_factory=dict)


def modified(drink: Drink, ids: Sequence[str]) -> Modified:
    """The drink with the modifiers of these ids done one after the other.

    A line that was given another item is still found by the item it had, so that double and another spirit may come in
    either order. Removing what an earlier modifier took away is nothing to do; replacing or scaling it is refused.
    Raises ``InputFault`` or ``InputFaults`` with pointers into the request.
    """
    known = {modifier.id: (number, modifier) for number, modifier in enumerate(drink.modifiers)}
    unknown = [_unknown(item_id, known, f"/with/{place}") for place, item_id in enumerate(ids) if item_id not in known]
    _raise(unknown)
    spec = _Spec(drink)
    for place, item_id in enumerate(ids):
        spec.take(*known[item_id], f"/with/{place}")
    _raise(spec.faults)
    return spec.modified()


def _unknown(item_id: str, known: Mapping[str, object], pointer: str) -> InputFault:
    if not known:
        return InputFault("modifier_unknown", "The drink has no modifiers.", pointer)
    near = difflib.get_close_matches(item_id, list(known), n=3, cutoff=0.5)
    words = f"nearest: {', '.join(near)}" if near else f"it has: {_listed(known)}"
    return InputFault("modifier_unknown", f"The drink has no modifier of this id; {words}.", pointer)


def _listed(ids: Mapping[str, object]) -> str:
    names = list(ids)
    return ", ".join([*names[:NAMED], "..."] if len(names) > NAMED else names)


def _raise(faults: Sequence[InputFault]) -> None:
    if len(faults) == 1:
        raise faults[0]
    if faults:
        raise InputFaults(faults)


class _Spec:
    """The lines and the water of a drink while its modifiers are done, and the faults found on the way."""

    def __init__(self, drink: Drink) -> None:
        self._drink = drink
        self._rows = [_Row(line, f"/drink/lines/{number}", {line.item}) for number, line in enumerate(drink.lines)]
        self._gone: set[str] = set()
        self._whole = Fraction(1)
        self._price_delta: Decimal | None = None
        self._price_place = ""
        self.faults: list[InputFault] = []

    def take(self, number: int, modifier: Modifier, asked_at: str) -> None:
        """One modifier: removes, replaces, scales and adds."""
        place = f"/drink/modifiers/{number}"
        for index, item_id in enumerate(modifier.remove):
            self._remove(item_id, f"{place}/remove/{index}")
        for index, replacement in enumerate(modifier.replace):
            self._replace(replacement, f"{place}/replace/{index}")
        if isinstance(modifier.scale, Decimal):
            self._scale_whole(modifier.scale, f"{place}/scale")
        else:
            for index, scaling in enumerate(modifier.scale):
                self._scale(scaling, f"{place}/scale/{index}")
        self._rows += [_Row(line, f"{place}/add/{index}", {line.item}) for index, line in enumerate(modifier.add)]
        if not self._rows:
            detail = "Nothing is left of the drink; a modifier has to leave a line or to add one."
            self.faults.append(InputFault("modifier_leaves_nothing", detail, asked_at))
        if len(self._rows) > MOST_LINES:
            detail = f"With this modifier the drink has more than {MOST_LINES} lines."
            self.faults.append(InputFault("too_many_lines", detail, asked_at))
        if modifier.price_delta is not None:
            self._price_delta = (self._price_delta or Decimal(0)) + modifier.price_delta
            self._price_place = f"{place}/price_delta"

    def _remove(self, item_id: str, pointer: str) -> None:
        left = [row for row in self._rows if row.line.item != item_id]
        if len(left) == len(self._rows):
            if item_id not in self._gone:
                self.faults.append(self._missing(pointer))
            return
        for row in self._rows:
            if row.line.item == item_id:
                self._gone |= row.names
        self._rows = left

    def _missing(self, pointer: str) -> InputFault:
        has = _listed(dict.fromkeys(row.line.item for row in self._rows))
        return InputFault(
            "modifier_item_missing", f"No line of the drink has this item; its lines have: {has}.", pointer
        )

    def _found(self, item_id: str, pointer: str) -> list[_Row]:
        """The rows that have or had an item; a fault is kept where there is none."""
        rows = [row for row in self._rows if item_id in row.names]
        if not rows and item_id in self._gone:
            detail = "An earlier modifier of with has removed this item."
            self.faults.append(InputFault("modifier_conflict", detail, pointer))
        elif not rows:
            self.faults.append(self._missing(pointer))
        return rows

    def _replace(self, replacement: Replacement, pointer: str) -> None:
        for row in self._found(replacement.item, pointer + "/item"):
            self._gone |= row.names
            row.names.add(replacement.with_)
            changes: dict[str, object] = {"item": replacement.with_, "alternatives": ()}
            row.changed["item"] = (pointer + "/with", False)
            # An amount that suits the one item may not suit the other: a wheel of a spirit.
            row.changed["amount"] = (pointer + "/with", False)
            if replacement.amount is not None:
                changes["amount"] = replacement.amount
                row.changed["amount"] = (pointer + "/amount", True)
            row.line = row.line.model_copy(update=changes)

    def _scale_whole(self, factor: Decimal, pointer: str) -> None:
        exact = Fraction(factor)
        self._whole *= exact
        for row in self._rows:
            self._scale_row(row, exact, pointer)
        water = self._drink.method.water
        if water is not None and max(water.ml or 0.0, water.ice_g or 0.0) * self._whole > MOST_ML_OR_G:
            detail = f"The measured water or ice would be over {MOST_ML_OR_G:,} ml or g."
            self.faults.append(InputFault("out_of_range", detail, pointer))

    def _scale(self, scaling: Scaling, pointer: str) -> None:
        if scaling.item is not None:
            rows = self._found(scaling.item, pointer + "/item")
            if rows and all(_fills(row.line) for row in rows):
                detail = "A line that fills the glass has no amount of its own to scale."
                self.faults.append(InputFault("fill_scaled", detail, pointer + "/item"))
        else:
            rows = [row for row in self._rows if row.line.role == scaling.role]
            if not rows:
                detail = "No line of the drink has this role."
                self.faults.append(InputFault("modifier_item_missing", detail, pointer + "/role"))
        for row in rows:
            self._scale_row(row, Fraction(scaling.factor), pointer + "/factor")

    def _scale_row(self, row: _Row, factor: Fraction, pointer: str) -> None:
        """A line times a factor, with what stays of a rinse; what fills the glass goes on filling it."""
        line = row.line
        try:
            changes: dict[str, object] = {"amount": _scaled(line.amount, factor)}
        except InputFault as fault:
            place = pointer if fault.code == INEXACT else row.place + "/amount" + fault.pointer
            self.faults.append(InputFault(fault.code, fault.detail, place))
            return
        if line.residue_ml is not None:
            changes["residue_ml"] = line.residue_ml * float(factor)
        if not _fills(line):
            row.changed["amount"] = (pointer, False)
        row.line = line.model_copy(update=changes)

    def modified(self) -> Modified:
        """The drink that came of it, with the place of everything in it."""
        places: dict[str, tuple[str, bool]] = {}
        for number, row in enumerate(self._rows):
            pointer = f"/drink/lines/{number}"
            places[pointer] = (row.place, True)
            for name, origin in row.changed.items():
                places[f"{pointer}/{name}"] = origin
            if "amount" in row.changed:
                places[f"{pointer}/residue_ml"] = (row.changed["amount"][0], False)
        if self._price_place:
            places["/pricing/menu_price"] = (self._price_place, False)
        changes = {
            "lines": tuple(row.line for row in self._rows),
            "parts_total": self._parts_total(),
            "method": self._method(),
            "modifiers": (),
            "gluten_mg_per_kg": None,  # it was measured of the drink as it is written
            "egg_yolk_g_per_l": None,  # so was this
        }
        return Modified(self._drink.model_copy(update=changes), self._price_delta, places)

    def _method(self) -> object:
        """The method; water measured for the whole spec grows and shrinks with the whole spec alone."""
        method, factor = self._drink.method, float(self._whole)
        water = method.water
        if water is None or factor == 1:
            return method
        scaled = {name: getattr(water, name) for name in ("ml", "ice_g")}
        changes = {name: figure * factor for name, figure in scaled.items() if figure is not None}
        return method.model_copy(update={"water": water.model_copy(update=changes)})

    def _parts_total(self) -> Amount | None:
        """The volume that lines in parts share out, so that one part is what it was, however many there are now."""
        total = self._drink.parts_total
        before = sum((_parts(line.amount) for line in self._drink.lines), Fraction(0))
        after = sum((_parts(row.line.amount) for row in self._rows), Fraction(0))
        if total is None or before == after or not before or not after:
            return total
        try:
            return _scaled(total, after / before)
        except InputFault as fault:
            raise fault.at("/drink/parts_total") from None


def _fills(line: Line) -> bool:
    return isinstance(line.amount, str) and line.amount.strip().lower() == "fill"


def _scaled(amount: Amount, factor: Fraction) -> Amount:
    if isinstance(amount, str):
        return scaled_text(amount, factor)
    try:
        return amount.model_copy(update={"value": scaled_value(amount.value, factor)})
    except InputFault as fault:
        raise fault.at("/value") from None


def _parts(amount: Amount) -> Fraction:
    """Parts of a line; what cannot be read is refused where amounts are read."""
    try:
        if isinstance(amount, str):
            return parts_in(amount)
        return parts_of_value(amount.value) if amount.unit.strip().lower() in PART_WORDS else Fraction(0)
    except InputFault:
        return Fraction(0)
