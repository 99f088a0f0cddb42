"""The way out: results become the answer of the contract, a JSON object in a fixed order. Built once, rounded once."""

from service.costing import shares
from service.evaluate import Evaluation
from service.line import ResolvedLine
from service.mixture import Mixture, Part
from service.report.alcohol import alcohol_section
from service.report.allergens import allergens_section
from service.report.bands import cost_bands, energy_band
from service.report.cautions import advisory_rows
from service.report.duties import SECTIONS as LABEL_SECTIONS
from service.report.duties import duty_rows
from service.report.figures import Json, missing_rows, shown
from service.report.measured import measured_section
from service.report.money import cost_section, exact_text, price_section
from service.report.nutrition import nutrition_section
from service.report.pack import pack_section
from service.report.trace import trace
from service.report.wording import Wording, labels
from service.rules import rules
from service.useby import UseBy

CONTRACT = "1.0"


def answer(evaluation: Evaluation, request_sha256: str, wording: Wording | None = None) -> Json:
    """The answer to one evaluation; sections that were not asked for are absent.

    ``wording`` puts the texts that guests read into a language; machine-readable values are the same in every one.
    """
    wording = wording or Wording()
    drink = evaluation.request.drink
    with_money = evaluation.cost is not None and "cost" in evaluation.sections
    body: Json = {
        "drink": {"id": drink.id, "name": drink.name, "serves": drink.serves},
        "serve": _serve(evaluation),
        "lines": _lines(evaluation, with_money),
        "preparations": _preparations(evaluation, with_money),
    }
    if with_money:
        assert evaluation.cost is not None
        cost = cost_section(evaluation.cost)
        if evaluation.bands is not None:
            cost["band"] = cost_bands(evaluation.bands.cost, evaluation.cost.currency)
        body["cost"] = cost
    if "price" in evaluation.sections:
        body["price"] = None if evaluation.price is None else price_section(evaluation, evaluation.price)
    if "alcohol" in evaluation.sections:
        body["alcohol"] = alcohol_section(evaluation, wording)
    if evaluation.nutrition is not None:
        nutrition = nutrition_section(evaluation, evaluation.nutrition)
        if evaluation.bands is not None:
            nutrition["band"] = energy_band(evaluation.bands)
        body["nutrition"] = nutrition
    if evaluation.declarations is not None:
        body["allergens"] = allergens_section(evaluation, evaluation.declarations, wording)
    if evaluation.sections & LABEL_SECTIONS:
        body["duties"] = duty_rows(evaluation, wording)
        body |= pack_section(evaluation, body, wording)
    body["advisories"] = advisory_rows(evaluation, wording)
    if evaluation.balance is not None:
        body["balance"] = _balance(evaluation)
    if evaluation.measured is not None:
        body["measured"] = measured_section(evaluation.measured)
    body["use_by"] = _use_by(evaluation.use_by)
    body["assumptions"] = _assumptions(evaluation)
    body["warnings"] = [{"code": row.code, "detail": row.detail, "item": row.item} for row in evaluation.warnings]
    if evaluation.request.trace:
        body["trace"] = trace(evaluation, with_money=with_money)
    if wording.marked:
        body["labels"] = labels(wording)
    body["meta"] = _meta(evaluation, request_sha256)
    return body


def _assumptions(evaluation: Evaluation) -> list[Json]:
    """Assumptions of one kind and wording once, with the items they are about."""
    items: dict[tuple[str, str], list[str]] = {}
    for row in evaluation.assumptions:
        about = items.setdefault((row.code, row.detail), [])
        if row.item is not None:
            about.append(row.item)
    return [{"code": code, "detail": detail, "items": about} for (code, detail), about in items.items()]


def _serve(evaluation: Evaluation) -> Json:
    build = evaluation.build
    liquid, dilution = build.liquid, build.dilution
    return {
        "undiluted_ml": shown(build.undiluted.volume_ml) if build.volume_known else None,
        "water_added_ml": shown(dilution.water_ml),
        "liquid_ml": None if liquid is None else shown(liquid.volume_ml),
        "foam_ml": shown(build.foam_ml),
        "mass_g": None if liquid is None else shown(liquid.mass_g),
        "ice_displaced_ml": shown(build.ice_displaced_ml),
        "washline_percent": shown(build.washline_percent, 1),
        "dilution": {
            "fraction": shown(dilution.fraction, 4),
            "base_ml": shown(dilution.base_ml),
            "model": dilution.model,
            "in_range": dilution.in_range,
            "source": dilution.source,
        },
        "missing": missing_rows(build.missing),
    }


def _lines(evaluation: Evaluation, with_money: bool) -> list[Json]:
    rows = []
    for line in evaluation.lines:
        part = line.part
        strength_known = part is not None and "abv_percent" not in part.substance.unknown.fields
        row: Json = {
            "item": line.ref,
            "name": line.substance.name,
            "role": line.role,
            "source": line.substance.origin,
            "read_as": line.amount.read_as,
            "volume_ml": shown(_volume(line, part)),
            "mass_g": None if part is None else shown(part.mass_g),
            "ethanol_g": shown(part.content("ethanol")) if part is not None and strength_known else None,
        }
        if line.alternatives:
            row["alternatives"] = [made.id for made in line.alternatives]
        rows.append(row)
    if with_money:
        assert evaluation.cost is not None
        _add_costs(evaluation, rows)
    return rows


def _volume(line: ResolvedLine, part: Part | None) -> float | None:
    """Volume as poured, with the gas of a foam."""
    if part is None or part.volume_ml is None:
        return None
    return part.volume_ml * line.substance.gas_factor


def _add_costs(evaluation: Evaluation, rows: list[Json]) -> None:
    cost = evaluation.cost
    assert cost is not None
    serves = evaluation.request.drink.serves
    poured = [index for index, priced in enumerate(cost.lines) if priced.line.role != "consumable"]
    split = dict(zip(poured, shares([cost.lines[index].cost.cost for index in poured]), strict=True))
    for index, (row, priced) in enumerate(zip(rows, cost.lines, strict=True)):
        amount = priced.cost.cost
        share = split.get(index)
        row["cost"] = None if amount is None or (not cost.currency and amount) else exact_text(amount / serves)
        row["cost_share_percent"] = None if share is None else format(share, "f")
        row["offer"] = priced.offer
        row["choice"] = priced.reason
        row["priced_from"] = priced.priced_from


def _preparations(evaluation: Evaluation, with_money: bool) -> list[Json]:
    rows = []
    for prep_id, made in evaluation.resolved.preparations.items():
        batch, wet = made.batch, made.with_fruit_water
        row: Json = {
            "id": prep_id,
            "name": made.spec.name,
            "source": made.spec.origin,
            "computed_ml": shown(made.computed_ml),
            "yield_ml": shown(made.yield_ml),
            "density_g_per_ml": shown(made.substance.density_g_per_ml, 4),
            **_strengths(batch),
            "with_fruit_water": None if wet is None else {"yield_ml": shown(wet.yield_ml), **_strengths(wet.mixture)},
            "use_by": _use_by(evaluation.lives.get(prep_id)),
            "storage": made.spec.storage,
        }
        if with_money:
            assert evaluation.cost is not None
            unit = evaluation.cost.preparations.get(prep_id)
            row["cost_per_ml"] = None if unit is None else exact_text(unit.unit_cost, 9)
        rows.append(row)
    return rows


def _strengths(batch: Mixture) -> Json:
    """Strength, Brix, sugars and acids of a batch."""
    per_100 = 100.0 / batch.volume_ml
    sugars = batch.content("sugars")
    knows_sugars = batch.knows("sugars_g")
    return {
        "abv_percent": shown(batch.abv_percent),
        "brix": shown(100.0 * sugars / batch.mass_g) if batch.mass_g and knows_sugars else None,
        "sugars_g_per_100_ml": shown(sugars * per_100) if knows_sugars else None,
        "acid_g_per_100_ml": shown(batch.acids_g * per_100) if batch.knows("acids_g") else None,
    }


def _use_by(life: UseBy | None) -> Json | None:
    return None if life is None else {"days": life.days, "path": list(life.path), "reason": life.reason}


def _balance(evaluation: Evaluation) -> Json:
    found = evaluation.balance
    assert found is not None
    at_least = None
    if found.missing and found.at_least is not None:
        sugars, acids = found.at_least
        at_least = {"sugars_g_per_100_ml": shown(sugars), "acid_g_per_100_ml": shown(acids)}
    return {
        "sugars_g_per_100_ml": shown(found.sugars_g_per_100_ml),
        "acid_g_per_100_ml": shown(found.acid_g_per_100_ml),
        "sugar_to_acid": shown(found.sugar_to_acid, 1, 2),
        "abv_percent": shown(found.abv_percent),
        "complete": not found.missing,
        "missing": missing_rows(found.missing),
        "at_least": at_least,
    }


def _meta(evaluation: Evaluation, request_sha256: str) -> Json:
    rounding: Json = {"money": "half_up", "price": None, "price_step": None, "price_ending": None}
    asked = evaluation.request.pricing
    if asked is not None:
        steps = asked.round
        rounding["price"] = (
            "half_up" if steps is None else "up" if steps.ending is not None else steps.mode or "nearest"
        )
        if steps is not None:
            rounding["price_step"] = None if steps.to is None else format(steps.to, "f")
            rounding["price_ending"] = steps.ending
    return {
        "contract": CONTRACT,
        "rules_version": rules().version,
        "reference_version": evaluation.reference_version,
        "as_of": evaluation.day.isoformat(),
        "rounding": rounding,
        "request_sha256": request_sha256,
        "note": "Not legal advice: local codes and licensed practice decide.",
    }
