"""Bands as the contract writes them: floats for physics, decimal text for money."""

from collections.abc import Sequence

from service import labelling
from service.bands import Band, Bands, Contribution, CostSpread
from service.evaluate import Evaluation
from service.labelcheck import LabelCheck
from service.money import half_up, money_text
from service.report.figures import Json, shown
from service.rules import Rules
from service.uncertainty import COVERAGE

NOTE = (
    "Linear propagation (JCGM 100:2008), k = 2; one item errs alike on all its lines, pours err independently, and a "
    "house-made part is taken as made to its spec. Composition other than strength and acids is taken as stated."
)


def alcohol_band(evaluation: Evaluation, found: Bands) -> Json:
    """The band on the strength and the standard drinks over the band on the ethanol."""
    ethanol = found.figures["ethanol_g"]
    return {
        "abv_percent": _band(found.figures["abv_percent"]),
        "ethanol_g": _band(ethanol),
        "standard_drinks": [row for regime in evaluation.rules if (row := _drinks(regime, ethanol)) is not None],
        "not_varied": [{"item": row.item, "input": row.input, "reason": row.reason} for row in found.not_varied],
        "note": NOTE,
    }


def energy_band(found: Bands) -> Json:
    """The band on the energy of one serve."""
    return {name: _band(found.figures[name]) for name in ("energy_kj", "energy_kcal")}


def cost_bands(found: CostSpread | None, currency: str) -> Json:
    """The band on the pour cost."""
    if found is None or not currency:
        return {"pour_cost": None}
    band = found.band
    row: Json = {
        "low": money_text(band.low, currency),
        "high": money_text(band.high, currency),
        "standard_uncertainty": format(half_up(band.standard, 6), "f"),
        "coverage": COVERAGE,
    }
    return {"pour_cost": row | _shares(found.contributions)}


def label_check_rows(checks: Sequence[LabelCheck]) -> list[Json]:
    """Whether each printed strength holds."""
    return [
        {
            "jurisdiction": row.jurisdiction,
            "printed_percent": None if row.printed_percent is None else float(row.printed_percent),
            "tolerance_percent": None if row.tolerance_percent is None else float(row.tolerance_percent),
            "band_percent": [shown(row.low_percent), shown(row.high_percent)],
            "verdict": row.verdict,
            "text": row.text,
            "source": row.source,
            "standing": row.standing,
        }
        for row in checks
    ]


def _drinks(regime: Rules, ethanol: Band | None) -> Json | None:
    """Standard drinks at both ends of the ethanol; ``None`` where the jurisdiction has no standard drink."""
    if regime.standard_drink is None:
        return None
    ends = (None, None) if ethanol is None else (ethanol.low, ethanol.high)
    low, high = (labelling.standard_drink_count(regime, grams) for grams in ends)
    assert low is not None and high is not None
    return {"jurisdiction": regime.code, "low": _count(low, "count_low"), "high": _count(high, "count_high")}


def _count(found: labelling.DrinkCount, bound: str) -> float | None:
    figure = found.count if found.grams_each is not None else getattr(found, bound)
    return None if figure is None else shown(float(figure), 4)


def _band(band: Band | None) -> Json | None:
    if band is None:
        return None
    row: Json = {
        "low": shown(band.low),
        "high": shown(band.high),
        "standard_uncertainty": shown(band.standard),
        "coverage": COVERAGE,
    }
    return row | _shares(band.contributions)


def _shares(contributions: Sequence[Contribution]) -> Json:
    """The input that makes most of a width, and every one with its tolerance."""
    rows = [_share(row) for row in contributions]
    driver = {key: rows[0][key] for key in ("item", "input", "share_percent")} if rows else None
    return {"driver": driver, "contributions": rows}


def _share(row: Contribution) -> Json:
    key, tolerance = row.input.key, row.input.tolerance
    return {
        "item": row.input.item,
        "line": key.line if key.kind == "pour" else None,
        "input": key.kind,
        "tool": row.input.tool,
        "half_width": shown(tolerance.half_width),
        "unit": tolerance.unit,
        "distribution": tolerance.distribution,
        "share_percent": shown(row.share_percent, 1, 2),
        "source": tolerance.source,
        "standing": tolerance.standing,
    }
