"""Alcohol and energy of a whole pack as the contract writes them, and which of it a label panel prints."""

from decimal import Decimal

from service.duties import APPLIES, duties
from service.evaluate import Evaluation
from service.labelling import DrinkCount, standard_drink_count
from service.lawful import lawful_decimal, nearest_multiple
from service.nutrition import energy
from service.report.alcohol import count_words
from service.report.duties import sale_of
from service.report.figures import Json, shown
from service.report.wording import Wording
from service.rulekinds import Statement
from service.rules import Rules

_TENTH, _ONE = Decimal("0.1"), Decimal(1)


def contents_rows(evaluation: Evaluation, net_ml: float | None, wording: Wording) -> list[Json]:
    """Each jurisdiction's row; nothing is known of a pack without a net quantity, or with one of several contents."""
    return [_row(evaluation, regime, _packs(evaluation, net_ml), wording) for regime in evaluation.rules]


def _packs(evaluation: Evaluation, net_ml: float | None) -> float | None:
    """How many serves the pack holds; ``None`` where that is not known, or where alternatives make it another drink."""
    liquid = evaluation.build.liquid
    if net_ml is None or liquid is None or liquid.volume_ml <= 0 or evaluation.alcohol.low is not None:
        return None
    return net_ml / liquid.volume_ml


def _row(evaluation: Evaluation, regime: Rules, packs: float | None, wording: Wording) -> Json:
    liquid = evaluation.build.liquid
    ethanol_g = _times(evaluation.alcohol.strength.ethanol_g, packs)
    figures = None if liquid is None else energy(liquid, regime)
    kj = None if figures is None else _times(figures.energy_kj, packs)
    kcal = None if figures is None else _times(figures.energy_kcal, packs)
    counted = standard_drink_count(regime, ethanol_g)
    text = None if counted is None or ethanol_g is None else _counted(regime, ethanol_g, counted, wording)
    known: dict[str, str | None] = {
        "standard_drinks": text,
        "ethanol_g": _figure(ethanol_g, _TENTH, "g", wording),
        "energy": _energy(kj, kcal, wording),
    }
    return {
        "jurisdiction": regime.code,
        "ethanol_g": shown(ethanol_g),
        "standard_drinks": None if counted is None or counted.count is None else shown(float(counted.count), 4),
        "standard_drinks_text": text,
        "energy_kj": shown(kj),
        "energy_kcal": shown(kcal),
        "printed": [
            {"what": what, "text": known[what], "lang": wording.language.code, "duty": duty.key,
             "standing": duty.standing}
            for duty in _printing(evaluation, regime)
            for what in duty.prints
        ],
    }  # fmt: skip


def _times(figure: float | None, packs: float | None) -> float | None:
    return None if figure is None or packs is None else figure * packs


def _printing(evaluation: Evaluation, regime: Rules) -> list[Statement]:
    """Duties and guidance in force that print figures of the whole pack."""
    asked = [one for one in regime.statements if one.prints]
    if not asked:
        return []
    found = duties(regime, sale_of(evaluation, regime, asked))
    return [row.statement for row in found if row.applies == APPLIES and row.statement.prints]


def _counted(regime: Rules, ethanol_g: float | None, found: DrinkCount, wording: Wording) -> str:
    if wording.english:
        return found.text
    words = count_words(wording, regime)
    own = standard_drink_count(regime, ethanol_g, words, wording.word("heading.not_known"))
    return found.text if own is None else own.text


def _energy(kj: float | None, kcal: float | None, wording: Wording) -> str | None:
    """kJ and kcal, each to the nearest whole one, as the guidance of the Union on declared energy has them."""
    if kcal is None:
        return None
    found = [_figure(kj, _ONE, "kJ", wording), _figure(kcal, _ONE, "kcal", wording)]
    return " / ".join(one for one in found if one is not None)


def _figure(figure: float | None, step: Decimal, unit: str, wording: Wording) -> str | None:
    """To the nearest ``step``; more than nothing that would be none of it is less than it."""
    if figure is None:
        return None
    rounded = nearest_multiple(lawful_decimal(figure), step)
    less, told = ("<", step) if figure > 0 and not rounded else ("", rounded)
    return f"{less}{wording.language.number(f'{told:f}')} {unit}"
