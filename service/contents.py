"""What an evaluated drink is made of in bought things: what of its cost hangs on which offer, and how much one serve
takes of each item and part."""

from collections.abc import Iterable, Iterator, Sequence
from decimal import ROUND_CEILING, Decimal, localcontext
from itertools import chain

from msgspec import Struct
from msgspec.structs import replace

from service.choosing import Choice
from service.costing import GROUPS
from service.costtree import PricedLine
from service.evaluate import Evaluation
from service.line import exact
from service.margins.bought import Part, Used
from service.margins.moves import Need, price_share
from service.margins.waste import Stored
from service.money import EXACT, HUNDRED, ONE, ZERO, snapped
from service.useby import lives


def needs(found: Evaluation) -> tuple[Need, ...]:
    """What of the pour cost of one serve each offer makes, allowances taken in; the sum is the pour cost.

    What is free has no offer and is not listed. A part's cost is shared out by the costs of its lines.
    """
    assert found.cost is not None
    asked = found.request.pricing
    over_pour = ZERO if asked is None else asked.allowances.over_pour_percent
    spillage = ZERO if asked is None else asked.allowances.spillage_percent
    rows: list[Need] = []
    with localcontext(EXACT):
        for line in found.cost.lines:
            group = GROUPS.get(line.line.role)
            if group is None or line.cost.cost is None:
                continue
            poured = line.cost.line.by_volume and group == "ingredients"
            factor = (HUNDRED + spillage + (over_pour if poured else ZERO)) / HUNDRED
            rows += _of_line(found, line, line.cost.cost * factor / found.resolved.drink.serves)
    return tuple(rows)


def _of_line(found: Evaluation, line: PricedLine, cost: Decimal) -> Iterator[Need]:
    if not cost:
        return
    if isinstance(line.unit, Choice):
        assert line.unit.offer is not None
        share = price_share(line.unit.offer)
        yield Need(line.priced_from, line.unit.offer.id, cost, cost * share)
        return
    assert found.cost is not None
    product = found.resolved.products.get(line.line.ref)
    inner = found.cost.preparation_lines.get(line.line.ref if product is None else product.preparation, ())
    known = [(row, row.cost.cost) for row in inner if row.cost.cost]
    whole = sum((part for _, part in known if part is not None), ZERO)
    for row, part in known:
        if part is not None:
            yield from _of_line(found, row, cost * part / whole)


class Contents(Struct, frozen=True):
    """What one serve takes, and the parts behind it in the order they are made; ``unknown`` have no known amount."""

    uses: tuple[Used, ...]
    parts: tuple[Part, ...]
    unknown: tuple[str, ...]


def contents(found: Evaluation) -> Contents:
    """What one serve takes of bought items and parts, by spec alone: no over-pour and no spillage.

    Items are in the base that their offer is sold in; a juice that is priced from its fruit is that fruit.
    """
    assert found.cost is not None
    unknown: list[str] = []
    with localcontext(EXACT):
        uses = tuple(_used(found.cost.lines, found.resolved.drink.serves, unknown))
        parts = []
        for prep_id, made in found.resolved.preparations.items():
            lines = tuple(_used(found.cost.preparation_lines[prep_id], 1, unknown))
            outputs = {one: found.resolved.products[one].quantity for one in made.spec.products}
            outputs = outputs or {prep_id: exact(made.yield_ml) * exact(made.substance.gas_factor)}
            parts.append(Part(prep_id, outputs, lines))
    return Contents(uses, tuple(parts), tuple(dict.fromkeys(unknown)))


def _used(lines: Sequence[PricedLine], serves: int, unknown: list[str]) -> Iterator[Used]:
    for line in lines:
        quantity = line.cost.line.quantity
        if quantity is None:
            unknown.append(line.line.ref)
            continue
        each = quantity / serves
        unit = line.unit
        if line.line.whole_unit and unit.unit_size:
            each = snapped(each / unit.unit_size).to_integral_value(ROUND_CEILING) * unit.unit_size
        if isinstance(unit, Choice) and unit.offer is not None:
            base = unit.offer.base
            per = ONE if base == unit.base else unit.kept.per_base.get(base)
            if per is None:
                unknown.append(line.line.ref)
                continue
            yield Used(line.priced_from, base, each * per)
        else:
            yield Used(line.line.ref, unit.base, each)


def stored(found: Evaluation, made: Contents) -> tuple[Stored, ...]:
    """What is kept behind one serve: the products of its parts, and what stays in the packs that are opened for it.

    A part keeps as long as its shelf life and what is in it let it, counted from the day it is made; a pack opened for
    a single serve and what costs nothing are not kept.
    """
    assert found.cost is not None
    fresh = {
        ref: replace(one, spec=replace(one.spec, made_on=None)) for ref, one in found.resolved.preparations.items()
    }
    life = lives(fresh, found.resolved.preparation_lines, found.resolved.items, found.day)
    rows = [row for row in chain(found.cost.lines, *found.cost.preparation_lines.values()) if _is_kept(row)]
    with localcontext(EXACT):
        costs = {row.line.ref: row.unit for row in rows}
        products = {output: part for part in made.parts for output in part.outputs}
        kept = [
            Stored(
                ref, costs[ref].base, part.outputs[ref], life[ref].days if ref in life else None, costs[ref].unit_cost,
                part.id,
            )
            for ref, part in products.items() if ref in costs
        ]  # fmt: skip
        return (*kept, *_opened_packs(found, rows))


def _is_kept(row: PricedLine) -> bool:
    return row.line.role in GROUPS and not row.line.whole_unit


def _opened_packs(found: Evaluation, rows: Iterable[PricedLine]) -> Iterator[Stored]:
    """Bought items in the base of their offer, each once; a pack holds what can be poured of it, a piece is one."""
    met = set()
    for row in rows:
        unit = row.unit
        if not isinstance(unit, Choice) or unit.offer is None or row.priced_from in met:
            continue
        base = unit.offer.base
        per = ONE if base == unit.base else unit.kept.per_base.get(base)
        if per is None:
            continue  # Its amount is not known, and contents name it.
        met.add(row.priced_from)
        item = found.resolved.items.get(row.line.ref)
        size = ONE if base == "each" else None if unit.unit_size is None else unit.unit_size * per
        cost = None if unit.unit_cost is None else unit.unit_cost / per
        yield Stored(row.priced_from, base, size, None if item is None else item.open_life_days, cost)
