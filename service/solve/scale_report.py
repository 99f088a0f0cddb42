"""A scaled drink as the contract writes it."""

from datetime import date, timedelta
from decimal import Decimal

from service.line import ResolvedLine
from service.mixture import Mixture
from service.money import EXACT, money_text
from service.report.figures import Json, missing_rows, shown
from service.solve.making import PartToMake
from service.solve.meta import meta_of
from service.solve.scale import Measured, Purchase, Scaled

MAKING_NOTE = (
    "Shelf lives are as stated or common practice, not a safety assessment: parts of dairy, egg, nut, coffee or plant "
    "matter need time and temperature control. Local food codes decide."
)
CARBONATION_NOTE = (
    "Pressure vessels burst: keep to the maker's pressure and fill line, and leave the headroom that it asks for."
)
TOP_NOTE = (
    "Topped up in each glass at the serve, and neither in the batch nor in the container, where its gas would go: "
    "{names}. The amounts are for all serves."
)
FOAM_NOTE = "Put on each glass at the serve, and neither in the batch nor in the container: {names} (foam)."


def scale_answer(found: Scaled) -> Json:
    """The answer of POST /v1/scale; money only where the key sees it."""
    drink = found.request.drink
    body: Json = {
        "drink": {"id": drink.id, "name": drink.name, "serves": drink.serves},
        "factor": shown(float(found.factor), 6, 8),
        "serves": shown(float(found.serves), 4, 8),
        "whole_serves": int(found.serves.quantize(Decimal("1e-9"), context=EXACT)),
        "batch": _batch(found),
        "lines": [_line(row.line, row.amount, in_batch=row.in_batch) for row in found.lines],
        "water": None if found.water is None else _amount(found.water),
        "parts": [_part(number, row, found) for number, row in enumerate(found.parts, 1)],
        "needs": [
            {"item": item, "base": base, "quantity": shown(float(quantity), 2, 6)}
            for (item, base), quantity in found.needs.items()
        ],
        "unknown_needs": list(found.unknown_needs),
        "freezer": _freezer(found),
        "serve_on": found.serve_on.isoformat(),
        "batch_from": _day(found.serve_on, found.batch_from_days),
        "notes": _notes(found),
        "advisories": [
            {"code": row.code, "level": row.level, "text": row.text, "deferral": row.deferral}
            for row in found.evaluation.cautions
        ],
        "warnings": [
            {"code": row.code, "detail": row.detail, "item": row.item} for row in found.evaluation.warnings
        ],
    }  # fmt: skip
    body["meta"] = meta_of(found.evaluation)
    if found.evaluation.cost is not None:
        body["purchases"] = [_purchase(row) for row in found.purchases]
        body["cost"] = _cost(found)
    return body


def _notes(found: Scaled) -> list[str]:
    notes = []
    for role, text in (("top", TOP_NOTE), ("pour", FOAM_NOTE)):
        names = dict.fromkeys(
            row.line.substance.name for row in found.lines if row.line.role == role and not row.in_batch
        )
        if names:
            notes.append(text.format(names=", ".join(names)))
    if found.parts:
        notes.append(MAKING_NOTE)
    if found.request.headroom_percent:
        notes.append(CARBONATION_NOTE)
    if found.water_missing:
        notes.append("How much water the ice gives is not known; it is left to the ice.")
    return notes


def _day(serve_on: date, days: int | None) -> str | None:
    return None if days is None else (serve_on - timedelta(days=days)).isoformat()


def _batch(found: Scaled) -> Json:
    batch, measured = found.batch, found.measured
    return {
        "volume_ml": shown(batch.volume_ml),
        "volume_measured_ml": shown(measured.volume_ml),
        "mass_g": shown(batch.mass_g),
        "abv_percent": shown(batch.abv_percent),
        "abv_measured_percent": shown(measured.abv_percent),
        "serve_ml": shown(batch.volume_ml / float(found.serves)) if found.serves else None,
        "usable_ml": shown(found.usable_ml),
        "holds": None if found.usable_ml is None else measured.volume_ml <= found.usable_ml * (1 + 1e-9),
        "water": found.request.water,
        "missing": missing_rows(_missing(batch)),
    }


def _missing(batch: Mixture) -> tuple[tuple[str, str], ...]:
    return batch.missing("abv_percent")


def _amount(amount: Measured) -> Json:
    return {
        "unit": amount.base,
        "exact": shown(float(amount.exact), 4, 8),
        "rounded": shown(float(amount.rounded), 4, 8),
        "step": None if amount.step is None else float(amount.step),
        "error_percent": shown(amount.error_percent, 2),
    }


def _line(line: ResolvedLine, amount: Measured | None, *, in_batch: bool) -> Json:
    return {
        "item": line.ref,
        "name": line.substance.name,
        "role": line.role,
        "read_as": line.amount.read_as,
        "in_batch": in_batch,
        "amount": None if amount is None else _amount(amount),
    }


def _part(number: int, row: PartToMake, found: Scaled) -> Json:
    life = row.life
    return {
        "order": number,
        "id": row.id,
        "name": row.name,
        "needed_ml": shown(row.needed_ml),
        "batch_ml": shown(row.yield_ml),
        "batches": shown(float(row.batches), 4, 6),
        "lines": [
            {
                "item": line.ref,
                "strained_out": line.strained_out,
                "amounts": [
                    {"unit": base, "quantity": shown(float(quantity), 2, 6)} for base, quantity in amounts.items()
                ],
            }
            for line, amounts in row.lines
        ],
        "uses": list(row.uses),
        "life_days": None if life is None else life.days,
        "limited_by": None if life is None else life.reason,
        "made_on": None if row.made_on is None else row.made_on.isoformat(),
        "make_from": None if row.make_from is None else row.make_from.isoformat(),
        "make_by": row.make_by.isoformat(),
        "storage": row.storage,
        "minutes_a_batch": shown(row.minutes),
        "past_use": life is not None
        and row.make_from is None
        and life.days < (found.serve_on - found.evaluation.day).days,
    }


def _freezer(found: Scaled) -> Json | None:
    row = found.freezer
    if row is None:
        return None
    return {
        "set_c": row.set_c,
        "freezing_point_c": shown(row.freezing_point_c, 1),
        "limit_c": shown(row.limit_c, 1),
        "verdict": row.verdict,
        "note": row.note,
        "missing": missing_rows(row.missing),
    }


def _purchase(row: Purchase) -> Json:
    offer = row.offer
    return {
        "item": row.item,
        "offer": offer.id,
        "supplier": offer.supplier,
        "pack": {"count": format(offer.units, "f"), "size": format(offer.size, "f"), "unit": offer.base},
        "unit": row.base,
        "need": shown(float(row.need), 2, 6),
        "packs": row.packs,
        "left": shown(float(row.left), 2, 6),
        "price": {"amount": money_text(EXACT.multiply(offer.price, Decimal(row.packs)), offer.currency),
                  "currency": offer.currency},
    }  # fmt: skip


def _cost(found: Scaled) -> Json:
    """What the serves cost together, and what the packs come to in the currency of the cost."""
    cost = found.evaluation.cost
    assert cost is not None
    currency, pour = cost.currency, cost.serve.pour_cost
    total = None if pour is None or not currency else money_text(EXACT.multiply(pour, found.serves), currency)
    least = money_text(EXACT.multiply(cost.serve.at_least, found.serves), currency) if currency else None
    return {
        "currency": currency or None,
        "complete": cost.serve.complete,
        "missing": missing_rows(cost.serve.missing),
        "pour_cost": total,
        "at_least": least,
        "packs": _packs(found, currency),
    }


def _packs(found: Scaled, currency: str) -> str | None:
    """The packs at their listed prices, before discount and delivery; ``None`` where not all are in one currency."""
    if not currency or not _all_bought(found) or any(row.offer.currency != currency for row in found.purchases):
        return None
    total = sum((EXACT.multiply(row.offer.price, Decimal(row.packs)) for row in found.purchases), Decimal(0))
    return money_text(total, currency)


def _all_bought(found: Scaled) -> bool:
    """Whether every bought item that costs something is among the purchases."""
    bought = {(row.item, row.base) for row in found.purchases}
    items = found.evaluation.resolved.items
    free = {item for item, held in items.items() if held.kind in ("water", "ice")} | {"water"}
    return not found.unknown_needs and all(need in bought or need[0] in free for need in found.needs)
