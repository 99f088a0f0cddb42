"""A made part as the contract writes it."""

from service.line import exact
from service.mixture import Part
from service.money import EXACT, money_text
from service.physics.acidity import NOTE as ACID_NOTE
from service.physics.mixing import UNVALIDATED
from service.report.figures import Json, missing_rows, shown
from service.solve.make_part import MadePart
from service.solve.meta import meta_of
from service.solve.question import acid_mmol


def make_part_answer(found: MadePart) -> Json:
    """The answer of POST /v1/make-part; money only where the key sees it."""
    made, batch = found.prepared, found.prepared.batch
    per_100 = 100.0 / batch.volume_ml
    knows_acids, knows_sugars = batch.knows("acids_g"), batch.knows("sugars_g")
    body: Json = {
        "id": found.request.id,
        "kind": found.request.part.kind,
        "amounts": [
            {
                "item": one.item,
                "unit": one.substance.basis,
                "quantity": shown(one.base),
                "mass_g": shown(Part(one.substance, one.base).mass_g),
                "volume_ml": shown(Part(one.substance, one.base).volume_ml),
                "strained_out": one.strained_out,
            }
            for one in found.ingredients
        ],
        "yield_ml": shown(made.yield_ml),
        "with_gas_ml": shown(made.yield_ml * made.substance.gas_factor),
        "mass_g": shown(batch.mass_g),
        "contraction_ml": shown(found.contraction_ml),
        "figures": {
            "abv_percent": shown(batch.abv_percent),
            "brix": shown(100.0 * batch.content("sugars") / batch.mass_g) if batch.mass_g and knows_sugars else None,
            "sugars_g_per_100_ml": shown(batch.content("sugars") * per_100) if knows_sugars else None,
            "acid_g_per_100_ml": shown(batch.acids_g * per_100) if knows_acids else None,
            "acid_mmol_per_100_ml": shown(acid_mmol(batch) * per_100) if knows_acids else None,
            "salt_g_per_100_ml": shown(batch.content("salt") * per_100) if batch.knows("salt_g") else None,
            "density_g_per_ml": shown(made.substance.density_g_per_ml, 4),
            "missing": missing_rows(batch.missing("abv_percent", "sugars_g", "acids_g", "salt_g")),
        },
        "keeping": {
            "days": found.keeping.days,
            "storage": found.keeping.storage,
            "text": found.keeping.text,
            "cautions": list(found.keeping.cautions),
            "source": found.keeping.source,
            "deferral": found.keeping.deferral,
        },
        "preparation": found.preparation.model_dump(mode="json", by_alias=True, exclude_defaults=True),
        "advisories": [
            {"code": row.code, "level": row.level, "text": row.text, "deferral": row.deferral}
            for row in found.evaluation.cautions
        ],
        "warnings": [
            {"code": row.code, "detail": row.detail, "item": row.item} for row in found.evaluation.warnings
        ],
        "notes": _notes(found),
    }  # fmt: skip
    body["meta"] = meta_of(found.evaluation)
    if found.evaluation.cost is not None:
        body["cost"] = _cost(found)
    return body


def _notes(found: MadePart) -> list[str]:
    notes = ["Volumes are at 20 C; masses are surer than volumes, so weigh where you can."]
    batch = found.prepared.batch
    if found.target_mmol_per_ml is not None or batch.acids_g:
        notes.append(ACID_NOTE)
    abv = batch.abv_percent
    if abv is not None and abv > 20 and batch.content("sugars") > 0.1 * batch.volume_ml:
        notes.append(f"Density of ethanol with sugar: {UNVALIDATED}.")
    return notes


def _cost(found: MadePart) -> Json:
    """What the batch costs, and a litre of it."""
    cost = found.evaluation.cost
    assert cost is not None
    unit = cost.preparations.get(found.request.id)
    currency = cost.currency
    known = unit is not None and unit.unit_cost is not None and bool(currency)
    batch_ml = exact(found.prepared.yield_ml * found.prepared.substance.gas_factor)
    batch = litre = None
    if known:
        assert unit is not None and unit.unit_cost is not None
        batch = money_text(EXACT.multiply(unit.unit_cost, batch_ml), currency)
        litre = money_text(unit.unit_cost * 1000, currency)
    missing = () if unit is None else unit.missing
    return {"currency": currency or None, "batch": batch, "litre": litre, "missing": missing_rows(missing)}
