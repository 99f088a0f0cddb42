"""What a scaled drink needs of every part and every bought item, and in which order and when the parts are made."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from decimal import Decimal

from msgspec import Struct

from service.evaluate import Evaluation
from service.line import ResolvedLine, exact
from service.money import EXACT
from service.useby import UseBy

Needs = dict[tuple[str, str], Decimal]
"""Quantities by item and base (ml, g, each)."""


class PartToMake(Struct, frozen=True):
    """One part: liquid needed and so many batches of the written recipe, its lines for all of them, and when.

    ``make_from`` is the first day on which it may be made and still be alive on the day of service (``None``: no life
    is known), ``make_by`` the last one. ``made_on`` is stated where it stands ready.
    """

    id: str
    name: str
    needed_ml: float
    yield_ml: float
    batches: Decimal
    lines: tuple[tuple[ResolvedLine, Mapping[str, Decimal]], ...]
    life: UseBy | None
    make_from: date | None
    make_by: date
    made_on: date | None
    storage: str | None
    minutes: float | None
    uses: tuple[str, ...]


def quantities(evaluation: Evaluation, line: ResolvedLine, factor: Decimal) -> dict[str, Decimal]:
    """The line's quantity in every base, for the whole spec times ``factor``; a fill as far as it is known."""
    found = line.quantities
    part = evaluation.build.fill.get(line.number) if line.pointer.startswith("/drink") else None
    if not found and part is not None:
        serves = evaluation.request.drink.serves
        found = {"ml": EXACT.multiply(exact(part.base * part.substance.gas_factor), Decimal(serves))}
    return {base: EXACT.multiply(one, factor) for base, one in found.items()}


def base_of(line: ResolvedLine, found: Mapping[str, Decimal]) -> str | None:
    """The base in which the need of a line counts: what the item is kept in, where it can be told."""
    if line.substance.basis in found:
        return line.substance.basis
    return next(iter(found), None)


def needs_of(evaluation: Evaluation, factor: Decimal) -> tuple[dict[str, Decimal], Needs, list[str]]:
    """Batches of each part, quantities of each bought item, and items of unknown quantity, for ``factor`` specs."""
    resolved = evaluation.resolved
    batches = dict.fromkeys(resolved.preparations, Decimal(0))
    bought: Needs = {}
    unknown: list[str] = []

    def take(line: ResolvedLine, found: Mapping[str, Decimal]) -> None:
        product = resolved.products.get(line.ref)
        made = resolved.preparations.get(line.ref)
        if product is not None:
            owner = resolved.preparations[product.preparation].spec.id
            if product.base in found:
                batches[owner] = max(batches[owner], EXACT.divide(found[product.base], product.quantity))
            else:
                unknown.append(line.ref)
        elif made is not None:
            if "ml" in found:
                with_gas = EXACT.multiply(exact(made.yield_ml), exact(made.substance.gas_factor))
                batches[line.ref] += EXACT.divide(found["ml"], with_gas)
            else:
                unknown.append(line.ref)
        else:
            base = base_of(line, found)
            if base is None:
                unknown.append(line.ref)
            else:
                bought[line.ref, base] = bought.get((line.ref, base), Decimal(0)) + found[base]

    for line in evaluation.lines:
        take(line, quantities(evaluation, line, factor))
    for prep_id in reversed(list(resolved.preparations)):
        for line in resolved.preparation_lines[prep_id]:
            take(line, {base: EXACT.multiply(one, batches[prep_id]) for base, one in line.quantities.items()})
    return batches, bought, list(dict.fromkeys(unknown))


def parts_to_make(evaluation: Evaluation, batches: Mapping[str, Decimal], serve_on: date) -> list[PartToMake]:
    """The parts in the order in which they are made, each with its days."""
    resolved = evaluation.resolved
    rows = []
    for prep_id, made in resolved.preparations.items():
        if not batches[prep_id]:
            continue
        lines = resolved.preparation_lines[prep_id]
        life = evaluation.lives.get(prep_id)
        made_on = made.spec.made_on
        undated = life is not None and not _dated(prep_id, resolved.preparation_lines, resolved.preparations)
        make_from = serve_on - timedelta(days=life.days) if life is not None and undated else None
        with_gas = made.yield_ml * made.substance.gas_factor
        rows.append(
            PartToMake(
                prep_id, made.spec.name, float(batches[prep_id]) * with_gas, with_gas, batches[prep_id],
                tuple(
                    (line, {base: EXACT.multiply(one, batches[prep_id]) for base, one in line.quantities.items()})
                    for line in lines
                ),
                life, make_from, serve_on, made_on, made.spec.storage, made.spec.minutes,
                tuple(dict.fromkeys(line.ref for line in lines if line.ref in resolved.preparations)),
            )
        )  # fmt: skip
    return rows


def _dated(prep_id: str, lines: Mapping[str, Sequence[ResolvedLine]], preparations: Mapping[str, object]) -> bool:
    """Whether a part, or one in it, stands ready since a stated day, so that no day of making counts back."""
    waiting, seen = [prep_id], set()
    while waiting:
        one = waiting.pop()
        if one in seen:
            continue
        seen.add(one)
        if preparations[one].spec.made_on is not None:  # type: ignore[attr-defined]  # Prepared; kept loose for the walk
            return True
        waiting += [line.ref for line in lines[one] if line.ref in preparations]
    return False
