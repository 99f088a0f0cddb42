"""Names that a law keeps, as the contract writes them: of the drink and of the parts that state one."""

from collections.abc import Iterator, Mapping

from service.evaluate import Evaluation
from service.legalnames import NameRow, Span, name_rows, sugars_as_invert
from service.mixture import Mixture
from service.preparation import Prepared
from service.report.figures import Json, shown

Figures = Mapping[str, Span | None]


def legal_name_rows(evaluation: Evaluation) -> list[Json]:
    """Every stated name under the rules of every jurisdiction; empty where none is stated."""
    return [
        _json(item, name, regime.code, row)
        for item, name, figures in _named(evaluation)
        for regime in evaluation.rules
        for row in name_rows(regime, name, figures)
    ]


def _named(evaluation: Evaluation) -> Iterator[tuple[str, str, Figures]]:
    """What states a name: its id, the name and the figures that are known of it."""
    drink = evaluation.request.drink
    if drink.legal_name is not None:
        yield drink.id, drink.legal_name, _of_drink(evaluation, drink.egg_yolk_g_per_l)
    for prep_id, made in evaluation.resolved.preparations.items():
        if made.spec.legal_name is not None:
            yield prep_id, made.spec.legal_name, _of_part(made)


def _of_drink(evaluation: Evaluation, yolk: float | None) -> Figures:
    """The drink as handed over; with alternatives its strength is a range, and of its sugars nothing is known."""
    alcohol, liquid = evaluation.alcohol, evaluation.build.liquid
    low = (alcohol.low or alcohol.strength).abv_percent
    high = alcohol.abv_upper_percent
    return {
        "abv_percent": None if low is None or high is None else (low, high),
        "sugars_g_per_l": None if alcohol.low is not None else sugars_as_invert(_sugars(liquid)),
        "egg_yolk_g_per_l": _stated(yolk),
    }


def _of_part(made: Prepared) -> Figures:
    """The batch; where other choices or the water of fruit make another of it, strength and sugars are not known."""
    own = made.substance
    varies = own.weaker is not None or own.stronger is not None or bool(own.others)
    abv = None if varies else made.batch.abv_percent
    return {
        "abv_percent": None if abv is None else (abv, abv),
        "sugars_g_per_l": None if varies else sugars_as_invert(_sugars(made.batch)),
        "egg_yolk_g_per_l": _stated(made.spec.egg_yolk_g_per_l),
    }


def _sugars(liquid: Mixture | None) -> float | None:
    """Grams of sugars in a litre; ``None`` where a part's sugars or the volume are not known."""
    if liquid is None or liquid.volume_ml <= 0 or liquid.missing("sugars_g", "amount"):
        return None
    return 1000.0 * liquid.content("sugars") / liquid.volume_ml


def _stated(figure: float | None) -> Span | None:
    return None if figure is None else (figure, figure)


def _json(item: str, name: str, code: str, row: NameRow) -> Json:
    rule = row.rule
    return {
        "item": item,
        "legal_name": name,
        "jurisdiction": code,
        "word": None if rule is None else rule.word,
        "verdict": row.verdict,
        "limits": [
            {
                "figure": one.limit.figure,
                "comparator": one.limit.comparator,
                "limit": float(one.limit.limit),
                "low": None if one.found is None else shown(one.found[0]),
                "high": None if one.found is None else shown(one.found[1]),
                "meets": one.meets,
            }
            for one in row.limits
        ],
        "text": row.text,
        "lang": "en",
        "source": "" if rule is None else f"{rule.source}, {rule.detail}" if rule.detail else rule.source,
        "standing": "" if rule is None else rule.standing,
    }
