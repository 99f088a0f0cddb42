"""Every figure's steps with their source, so that an inspector can redo the sum by hand."""

from collections.abc import Iterator, Mapping
from decimal import Decimal

from service import labelling
from service.choosing import Choice, Offer
from service.costtree import DrinkCost, PricedLine
from service.evaluate import Evaluation
from service.mixture import ACID, POLYOL, Mixture
from service.money import half_up
from service.nutrition import ENERGY_BASIS, basis_on, energy
from service.report.figures import Json, shown

DENSITY = "OIML R 22 (ethanol and water), ICUMSA (sucrose), handbook densities (acids, salt); 20 C"
CONSERVED = "conservation of mass"
MONEY_PLACES = 9


def trace(evaluation: Evaluation, *, with_money: bool) -> list[Json]:
    """Rows in the order in which the figures arise; money only where it was asked for."""
    rows = [*_amounts(evaluation), *_preparations(evaluation), *_build(evaluation), *_strength(evaluation)]
    if evaluation.nutrition is not None:
        rows += _energy(evaluation)
    if evaluation.sulphites is not None:
        rows += _sulphites(evaluation)
    if with_money and evaluation.cost is not None:
        rows += _cost(evaluation, evaluation.cost)
        rows += _price(evaluation)
    return rows


def _row(figure: str, formula: str, inputs: Mapping[str, object], value: object, unit: str, source: str) -> Json:
    plain = {name: shown(one, 6, 8) if isinstance(one, float) else one for name, one in inputs.items()}
    result = shown(value, 6, 8) if isinstance(value, float) else value
    return {"figure": figure, "formula": formula, "inputs": plain, "value": result, "unit": unit, "source": source}


def _amounts(evaluation: Evaluation) -> Iterator[Json]:
    for line in evaluation.lines:
        part = line.part
        if part is None:
            continue
        made = line.substance
        inputs: dict[str, object] = {
            "read_as": line.amount.read_as,
            "density_g_per_ml": made.density_g_per_ml,
            "gas_factor": made.gas_factor,
            "serves": evaluation.request.drink.serves,
        }
        inputs |= {f"{name}_per_{made.basis}": amount for name, amount in made.contents.items()}
        sources = "; ".join(dict.fromkeys(fact.source for item in made.leaves.bought.values() for fact in item.facts))
        if part.mass_g is not None:
            figure, value, unit = "mass_g", part.mass_g, "g"
            formula = "mass = volume / gas_factor x density, or the mass as written; per serve"
        elif part.volume_ml is not None:
            figure, value, unit = "volume_ml", part.volume_ml * made.gas_factor, "ml"
            formula = "volume as written; per serve"
        else:
            continue
        yield _row(f"lines/{line.number}/{figure}", formula, inputs, value, unit, sources or "the request")


def _preparations(evaluation: Evaluation) -> Iterator[Json]:
    for prep_id, made in evaluation.resolved.preparations.items():
        spec = made.spec
        inputs: dict[str, object] = {
            "lines": [
                {
                    "item": line.substance.id,
                    "mass_g": None if line.part is None else shown(line.part.mass_g, 6, 8),
                    "strained_out": line.strained_out,
                    "absorbs_ml": line.absorbs_ml,
                }
                for line in spec.lines
            ],
            "steps": [
                {"kind": step.kind, "keeps": dict(step.keeps), "measured": dict(step.measured)} for step in spec.steps
            ],
            "loss_percent": spec.loss_percent,
            "computed_ml": made.computed_ml,
        }
        formula = "volume of what is not strained out, less absorbs_ml, after the steps, less the loss or as measured"
        yield _row(f"preparations/{prep_id}/yield_ml", formula, inputs, made.yield_ml, "ml", DENSITY)
        yield from _of_batch(f"preparations/{prep_id}", made.batch)
        wet = made.with_fruit_water
        if wet is not None:
            formula = "as yield_ml, with all water of the fresh fruit that is strained out"
            figure = f"preparations/{prep_id}/with_fruit_water"
            yield _row(f"{figure}/yield_ml", formula, {"computed_ml": wet.computed_ml}, wet.yield_ml, "ml", DENSITY)
            yield from _of_batch(figure, wet.mixture)


def _of_batch(place: str, batch: Mixture) -> Iterator[Json]:
    inputs = {**_grams(batch), "volume_ml": batch.volume_ml}
    formula = "% vol = 100 x ethanol_g / 0.789239 / volume_ml"
    yield _row(f"{place}/abv_percent", formula, inputs, batch.abv_percent, "% vol", CONSERVED)
    if batch.mass_g and batch.knows("sugars_g"):
        brix = 100.0 * batch.content("sugars") / batch.mass_g
        inputs = {"sugars_g": batch.content("sugars"), "mass_g": batch.mass_g}
        yield _row(f"{place}/brix", "100 x sugars_g / mass_g", inputs, brix, "g/100 g", CONSERVED)


def _grams(mix: Mixture) -> dict[str, object]:
    return {f"{name}_g" if not name.endswith("_mg") else name: amount for name, amount in mix.contents.items()}


def _build(evaluation: Evaluation) -> Iterator[Json]:
    build, dilution = evaluation.build, evaluation.build.dilution
    base = build.base
    formula = "V = V_EW(ethanol, water) + sum of solute mass x apparent specific volume + what stated densities add"
    inputs = {**_grams(base), "from_stated_densities_ml": base.excess_ml}
    yield _row("serve/dilution/base_ml", formula, inputs, base.volume_ml, "ml", DENSITY)
    if dilution.fraction is not None:
        regressions = {
            "shaken_regression": "fraction = -1.567 a^2 + 1.742 a + 0.203",
            "stirred_regression": "fraction = -1.21 a^2 + 1.246 a + 0.145",
        }
        formula = regressions.get(dilution.model, f"water as {dilution.model.replace('_', ' ')}")
        strength = base.abv_percent if base.volume_ml > 0 else None
        yield _row(
            "serve/dilution/fraction", formula, {"a": None if strength is None else strength / 100.0},
            dilution.fraction, "",
            dilution.source,
        )  # fmt: skip
        inputs = {"fraction": dilution.fraction, "base_ml": dilution.base_ml}
        yield _row(
            "serve/water_added_ml", "water = fraction x base_ml", inputs, dilution.water_ml, "ml", dilution.source
        )
    if build.liquid is not None:
        inputs = {**_grams(build.liquid), "from_stated_densities_ml": build.liquid.excess_ml}
        yield _row(
            "serve/liquid_ml", "V of everything in the glass, as above", inputs, build.liquid.volume_ml, "ml", DENSITY
        )
    if build.washline_percent is not None:
        glass = evaluation.request.drink.serve.glass_ml
        inputs = {
            "liquid_ml": None if build.liquid is None else build.liquid.volume_ml, "foam_ml": build.foam_ml,
            "foam_liquid_ml": build.foam_liquid_ml, "ice_displaced_ml": build.ice_displaced_ml, "glass_ml": glass,
        }  # fmt: skip
        formula = (
            "100 x (liquid - foam_liquid + foam + ice_displaced) / glass; floating ice displaces its mass of water"
        )
        yield _row("serve/washline_percent", formula, inputs, build.washline_percent, "%", "Archimedes' principle")


def _strength(evaluation: Evaluation) -> Iterator[Json]:
    own, build = evaluation.alcohol.strength, evaluation.build
    volume = None if build.liquid is None else build.liquid.volume_ml
    inputs = {"ethanol_g": own.known_ethanol_g, "liquid_ml": volume}
    yield _row(
        "alcohol/abv_percent", "100 x ethanol_g / 0.789239 / liquid_ml", inputs, own.abv_percent, "% vol",
        "OIML R 22: ethanol 789.239 kg/m3 at 20 C",
    )  # fmt: skip
    for regime in evaluation.rules:
        counted = labelling.standard_drink_count(regime, own.ethanol_g)
        if counted is None or counted.count is None or regime.standard_drink is None:
            continue
        inputs = {
            "ethanol_g": own.ethanol_g,
            "density_g_per_ml": float(regime.standard_drink.density_g_per_ml),
            "grams_each": None if counted.grams_each is None else float(counted.grams_each),
        }
        formula = "ethanol_g / 0.789239 x density of the regime / grams_each"
        yield _row(f"alcohol/standard_drinks/{regime.code}", formula, inputs, float(counted.count), "", counted.source)


def _energy(evaluation: Evaluation) -> Iterator[Json]:
    found = evaluation.nutrition
    assert found is not None
    regimes = {ENERGY_BASIS: basis_on(evaluation.day)}
    regimes |= {regime.code: regime for regime in evaluation.rules}
    drink = found.drink
    acids = sum(
        amount for name, amount in drink.contents.items() if name.startswith(ACID) and name != ACID + "phosphoric"
    )
    grams: dict[str, object] = {
        "carbohydrate_without_polyols_g": max(drink.content("carbohydrate") - drink.polyols_g, 0.0),
        "organic_acids_g": acids,
        "protein_g": drink.content("protein"),
        "fat_g": drink.content("fat"),
        "ethanol_g": drink.ethanol_g,
        "fibre_g": drink.content("fibre"),
    }
    grams |= {f"{name[len(POLYOL) :]}_g": amount for name, amount in drink.contents.items() if name.startswith(POLYOL)}
    for code, regime in regimes.items():
        figures = energy(drink, regime)
        for unit, table, value in (
            ("kJ", regime.energy.kj, figures.energy_kj if figures.energy_kj is not None else figures.at_least_kj),
            (
                "kcal",
                regime.energy.kcal,
                figures.energy_kcal if figures.energy_kcal is not None else figures.at_least_kcal,
            ),
        ):
            factors = {f"{name}_{unit.lower()}_per_g": float(factor) for name, factor in table.items()}
            formula = "sum of grams x factor" if table else "kJ / 4.18"
            yield _row(
                f"nutrition/{code}/energy_{unit.lower()}",
                formula,
                {**grams, **factors},
                value,
                unit,
                regime.energy.source,
            )


def _sulphites(evaluation: Evaluation) -> Iterator[Json]:
    found = evaluation.sulphites
    assert found is not None
    drink = evaluation.build.liquid or evaluation.build.undiluted
    inputs = {"sulphites_mg": drink.content("sulphites_mg"), "volume_ml": drink.volume_ml}
    yield _row(
        "allergens/sulphites_mg_per_l", "1000 x known sulphites_mg / volume_ml", inputs, found.known_mg_per_l, "mg/l",
        "total SO2 of the drink ready for consumption, Regulation (EU) 1169/2011 Annex II 12",
    )  # fmt: skip


def _text(amount: Decimal | None) -> str | None:
    return None if amount is None else format(half_up(amount, MONEY_PLACES), "f")


def _cost(evaluation: Evaluation, cost: DrinkCost) -> Iterator[Json]:
    for prep_id, lines in cost.preparation_lines.items():
        for priced in lines:
            yield _line(f"preparations/{prep_id}/lines/{priced.line.number}/cost", priced, cost.currency)
        unit = cost.preparations.get(prep_id)
        made = evaluation.resolved.preparations[prep_id]
        inputs = {
            "lines": [_text(priced.cost.cost) for priced in lines],
            "yield_ml": made.yield_ml,
            "gas_factor": made.substance.gas_factor,
        }
        value = None if unit is None else _text(unit.unit_cost)
        yield _row(
            f"preparations/{prep_id}/cost_per_ml",
            "sum of lines / (yield x gas_factor)",
            inputs,
            value,
            cost.currency,
            "contract, arithmetic 3",
        )
    for priced in cost.lines:
        yield _line(f"lines/{priced.line.number}/cost", priced, cost.currency, evaluation.request.drink.serves)
    asked = evaluation.request.pricing
    serve = cost.serve
    inputs = {
        "ingredients": _text(serve.ingredients), "garnish": _text(serve.garnish),
        "over_pour_percent": None if asked is None else format(asked.allowances.over_pour_percent, "f"),
        "spillage_percent": None if asked is None else format(asked.allowances.spillage_percent, "f"),
        "allowances": _text(serve.allowances), "serves": evaluation.request.drink.serves,
    }  # fmt: skip
    formula = "ingredients + garnish + lines by volume x over_pour + (ingredients + garnish) x spillage"
    yield _row("cost/pour_cost", formula, inputs, _text(serve.pour_cost), cost.currency, "contract, arithmetic 3")


def _line(figure: str, priced: PricedLine, currency: str, serves: int = 1) -> Json:
    unit = priced.unit
    quantity = priced.cost.line.quantity
    inputs: dict[str, object] = {
        "quantity": None if quantity is None else format(half_up(quantity, MONEY_PLACES), "f"),
        "per": unit.base,
        "unit_cost": _text(unit.unit_cost),
        "whole_unit": priced.line.whole_unit,
        "serves": serves,
    }
    if isinstance(unit, Choice) and unit.offer is not None:
        inputs["offer"] = _offer(unit.offer)
    return _row(
        figure,
        "quantity x unit_cost / serves",
        inputs,
        None if priced.cost.cost is None else _text(priced.cost.cost / serves),
        currency,
        "contract, offers",
    )


def _offer(offer: Offer) -> Json:
    return {
        "id": offer.id, "price": format(offer.price, "f"), "currency": offer.currency,
        "count": format(offer.units, "f"),
        "size": format(offer.size, "f"), "base": offer.base, "tax_included": offer.tax_included,
        "tax_rate_percent": None if offer.tax_rate_percent is None else format(offer.tax_rate_percent, "f"),
        "discount_percent": format(offer.discount_percent, "f"), "delivery": format(offer.delivery, "f"),
        "rebate": format(offer.rebate, "f"), "duty": format(offer.duty_amount, "f"),
        "free_units": format(offer.free_units, "f"),
        "formula": "(price x (1 - discount) + delivery - rebate + duty) / (1 + tax if included) "
        "/ (size x (count + free units))",
    }  # fmt: skip


def _price(evaluation: Evaluation) -> Iterator[Json]:
    asked, found = evaluation.request.pricing, evaluation.price
    if asked is None or found is None or found.suggestion is None or evaluation.cost is None:
        return
    target = asked.target
    inputs: dict[str, object] = {
        "pour_cost": _text(evaluation.cost.serve.pour_cost),
        "target": None if target is None else {name: format(one, "f") for name, one in target if one is not None},
        "determined_by": found.suggestion.determined_by,
    }
    formula = (
        "net at the target x tax factor: cost / (1 - margin), cost / share, cost x (1 + markup), cost + cash margin"
    )
    unrounded = format(found.suggestion.unrounded, "f")
    yield _row("price/unrounded", formula, inputs, unrounded, asked.currency, "contract, arithmetic 4")
