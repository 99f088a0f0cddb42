"""Strength as the contract writes it: figures, menu and label texts, claims, standard drinks."""

from decimal import Decimal

from service import labelling
from service.alcohol import Strength
from service.bands import Bands
from service.evaluate import Evaluation
from service.labelcheck import label_checks
from service.report.bands import alcohol_band, label_check_rows
from service.report.claims import claim_rows, only_item
from service.report.figures import Json, missing_rows, shown
from service.rules import Rules

PACKED = ("packed_for_direct_sale", "prepacked")
"""Ways of selling that put a label on the drink; what is poured or sold at a distance is named on a menu."""


def alcohol_section(evaluation: Evaluation) -> Json:
    """The strength of one serve and what each jurisdiction makes of it."""
    alcohol = evaluation.alcohol
    own = alcohol.strength
    house = evaluation.request.house
    sold_as = "poured" if house is None else house.sold_as
    rules = evaluation.rules
    row: Json = {
        "complete": not own.missing and own.abv_percent is not None,
        "missing": missing_rows(own.missing),
        "abv_percent": shown(own.abv_percent),
        "abv_percent_undiluted": shown(own.abv_percent_undiluted),
        "ethanol_ml": shown(own.ethanol_ml),
        "ethanol_g": shown(own.ethanol_g),
        "us_proof": shown(own.us_proof, 1, 2),
        "at_least": None if own.ethanol_g is not None else {"ethanol_g": shown(own.known_ethanol_g)},
        "range": _range(evaluation),
        "heated": [
            {
                "treatment": row.retention.text,
                "retained_percent": row.retention.retained_percent,
                "ethanol_g": shown(row.ethanol_g),
                "abv_percent": shown(row.abv_percent),
                "source": row.retention.source,
                "standing": row.retention.standing,
            }
            for row in alcohol.heated
        ],
        "moment": "At the moment of handing over; ice that melts later is not in it.",
        "menu_text": [] if sold_as in PACKED else [_menu_text(evaluation, regime) for regime in rules],
        "label": [_label_text(evaluation, regime) for regime in rules] if sold_as in PACKED else [],
        "statements": [row for regime in rules for row in _statements(evaluation, regime, sold_as)],
        "claims": claim_rows(evaluation, rules),
        "standard_drinks": [drinks for regime in rules if (drinks := _standard_drinks(evaluation, regime)) is not None],
    }
    if evaluation.bands is not None:
        row["band"] = alcohol_band(evaluation, evaluation.bands)
        row["label_check"] = _label_check(evaluation, evaluation.bands) if sold_as in PACKED else []
    return row


def _label_check(evaluation: Evaluation, found: Bands) -> list[Json]:
    """Whether the strength that a package prints holds."""
    abv = found.figures["abv_percent"]
    half_width = None if abv is None else abv.high - abv.figure
    item = only_item(evaluation)
    return label_check_rows(label_checks(evaluation.rules, evaluation.day, evaluation.alcohol, half_width, item))


def _range(evaluation: Evaluation) -> Json | None:
    low, high = evaluation.alcohol.low, evaluation.alcohol.high
    if low is None or high is None:
        return None

    def ends(name: str) -> list[float | None]:
        return [shown(getattr(low, name)), shown(getattr(high, name))]

    return {"abv_percent": ends("abv_percent"), "ethanol_g": ends("ethanol_g"), "ethanol_ml": ends("ethanol_ml")}


def _menu_text(evaluation: Evaluation, regime: Rules) -> Json:
    alcohol = evaluation.alcohol
    high = None if alcohol.high is None else alcohol.high.abv_percent
    low: Strength = alcohol.strength if alcohol.low is None else alcohol.low
    unknown = alcohol.high is not None and high is None
    found = labelling.menu_text(regime, None if unknown else low.abv_percent, alcohol.uncertainty_percent, high)
    return {"jurisdiction": regime.code, "text": found.text, "reason": found.reason, "standing": found.standing}


def _label_text(evaluation: Evaluation, regime: Rules) -> Json:
    found = labelling.label_text(regime, evaluation.alcohol.abv_upper_percent)
    return {
        "jurisdiction": regime.code,
        "text": found.text,
        "reason": found.reason,
        "source": found.source,
        "standing": found.standing,
    }


def _statements(evaluation: Evaluation, regime: Rules, sold_as: str) -> list[Json]:
    return [
        {
            "jurisdiction": regime.code,
            "code": row.key,
            "binding": row.binding,
            "who": row.who,
            "text": row.text,
            "source": row.source,
            "standing": row.standing,
        }
        for row in labelling.statements(regime, evaluation.alcohol.abv_upper_percent, sold_as)
    ]


def _standard_drinks(evaluation: Evaluation, regime: Rules) -> Json | None:
    alcohol = evaluation.alcohol
    own = alcohol.strength
    found = labelling.standard_drink_count(regime, own.ethanol_g)
    if found is None:
        return None
    row: Json = {
        "jurisdiction": regime.code,
        "grams_each": _float(found.grams_each),
        "grams_low": _float(found.grams_low),
        "grams_high": _float(found.grams_high),
        "count": _count(found.count),
        "count_low": _count(found.count_low),
        "count_high": _count(found.count_high),
        "text": found.text,
        "source": found.source,
        "standing": found.standing,
        "note": found.note,
        "range": None,
    }
    if alcohol.low is not None and alcohol.high is not None:
        # One end of the range is as a rule the drink as it is poured, and that is counted already.
        ends = [
            found if end is own else labelling.standard_drink_count(regime, end.ethanol_g)
            for end in (alcohol.low, alcohol.high)
        ]
        row["range"] = [_end(ends[0], "count_low"), _end(ends[1], "count_high")]
    return row


def _end(found: labelling.DrinkCount | None, bound: str) -> float | None:
    """One end over the alternatives: of the count, or of the outer bound where the country's drink is a range."""
    if found is None:
        return None
    return _count(found.count if found.grams_each is not None else getattr(found, bound))


def _float(figure: Decimal | None) -> float | None:
    return None if figure is None else float(figure)


def _count(figure: Decimal | None) -> float | None:
    return None if figure is None else shown(float(figure), 4)
