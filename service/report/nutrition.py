"""Energy and nutrients as the contract writes them, per serve, per 100 ml and as each regime declares them."""

from service.evaluate import Evaluation
from service.labelling import declared_nutrition
from service.nutrition import ENERGY_BASIS, EnergyFigures, Nutrition, basis_on, declared_figures, energy
from service.report.figures import Json, missing_rows, shown
from service.rules import Rules


def nutrition_section(evaluation: Evaluation, found: Nutrition) -> Json:
    """Energy by the factors of the Union, nutrients, each regime's energy and declaration."""
    basis = basis_on(evaluation.day)
    plain = energy(found.drink, basis)
    missing = (*found.missing, *evaluation.build.missing)
    volume = found.volume_ml
    per_100 = 100.0 / volume if volume else None
    figures = {
        regime.code: plain if regime.energy is basis.energy else energy(found.drink, regime)
        for regime in evaluation.rules
    }
    return {
        "complete": not missing and plain.energy_kcal is not None,
        "missing": missing_rows(missing),
        "factors": ENERGY_BASIS,
        "per_serve": _amounts(found, plain, 1.0),
        "per_100_ml": {} if per_100 is None else _amounts(found, plain, per_100),
        "by_jurisdiction": [_energy(regime, figures[regime.code], volume) for regime in evaluation.rules],
        "heated_energy_kcal": _heated(evaluation, plain, basis),
        "declared": [
            row for regime in evaluation.rules for row in _declared(regime, found, figures[regime.code], per_100)
        ],
        "declared_by": [
            {
                "jurisdiction": regime.code,
                "source": regime.nutrition.source,
                "standing": regime.nutrition.standing,
                "daily_values": regime.nutrition.daily_values or None,
            }
            for regime in evaluation.rules
            if regime.nutrition is not None
        ],
    }


def _amounts(found: Nutrition, plain: EnergyFigures, share: float) -> Json:
    row: Json = {
        "energy_kj": _times(plain.energy_kj, share),
        "energy_kcal": _times(plain.energy_kcal, share),
    }
    row |= {name: _times(amount, share) for name, amount in found.nutrients.items()}
    least: Json = {}
    if plain.energy_kcal is None:
        least = {"energy_kj": _times(plain.at_least_kj, share), "energy_kcal": _times(plain.at_least_kcal, share)}
    least |= {name: _times(found.known[name], share) for name, amount in found.nutrients.items() if amount is None}
    row["at_least"] = least
    return row


def _times(figure: float | None, share: float) -> float | None:
    return None if figure is None else shown(figure * share)


def _energy(regime: Rules, figures: EnergyFigures, volume: float | None) -> Json:
    per_100 = None if not volume else 100.0 / volume
    row: Json = {
        "jurisdiction": regime.code,
        "energy_kj": shown(figures.energy_kj),
        "energy_kcal": shown(figures.energy_kcal),
        "per_100_ml": None,
        "source": regime.energy.source,
        "standing": regime.energy.standing,
    }
    if per_100 is not None:
        row["per_100_ml"] = {
            "energy_kj": _times(figures.energy_kj, per_100),
            "energy_kcal": _times(figures.energy_kcal, per_100),
        }
    return row


def _heated(evaluation: Evaluation, plain: EnergyFigures, basis: Rules) -> list[float] | None:
    """Energy of one serve with the least and the most alcohol that published factors leave in what is heated."""
    heated = evaluation.alcohol.heated
    if not heated or plain.energy_kcal is None:
        return None
    whole = evaluation.alcohol.strength.ethanol_g or 0.0
    per_g = float(basis.energy.kcal["ethanol"])
    lost = sorted(per_g * (whole - row.ethanol_g) for row in heated)
    return [float(shown(plain.energy_kcal - lost[-1]) or 0.0), float(shown(plain.energy_kcal - lost[0]) or 0.0)]


def _declared(regime: Rules, found: Nutrition, figures: EnergyFigures, per_100: float | None) -> list[Json]:
    """The rows of a regime on the bases that its table names."""
    if regime.nutrition is None:
        return []
    code = regime.code
    rows: list[Json] = []
    for basis in regime.nutrition.bases:
        share = 1.0 if basis == "per_serve" else per_100
        # Of 100 ml of a volume that nobody knows every figure is unknown, and every row says so.
        amounts = {} if share is None else declared_figures(found, figures, share)
        for row in declared_nutrition(regime, amounts, basis):
            value = row.value
            rows.append(
                {
                    "jurisdiction": code,
                    "nutrient": row.nutrient,
                    "label": row.label,
                    "basis": basis,
                    "unrounded": shown(row.unrounded, 6, 6),
                    "value": None if value is None else float(value),
                    "unit": row.unit,
                    "text": row.text,
                    "daily_value_percent": row.daily_value_percent,
                }
            )
    return rows
