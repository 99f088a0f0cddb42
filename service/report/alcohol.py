"""Strength as the contract writes it: figures, menu and label texts, claims, standard drinks."""

from decimal import Decimal

from service import labelling
from service.alcohol import Strength
from service.evaluate import Evaluation
from service.report.figures import Json, missing_rows, shown
from service.rules import Rules
from service.substance import NO_ALCOHOL_BY_KIND

DOUBTFUL_KINDS = frozenset(("mixer", "syrup", "juice", "dairy", "spice", "acid"))
"""Kinds that hold no alcohol as a rule and now and then do: kombucha, kefir, extracts, vinegars."""


def alcohol_section(evaluation: Evaluation) -> Json:
    """The strength of one serve and what each jurisdiction makes of it."""
    alcohol = evaluation.alcohol
    own = alcohol.strength
    house = evaluation.request.house
    sold_as = "poured" if house is None else house.sold_as
    rules = evaluation.rules
    return {
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
        "menu_text": [_menu_text(evaluation, regime) for regime in rules] if sold_as == "poured" else [],
        "label": [] if sold_as == "poured" else [_label_text(evaluation, regime) for regime in rules],
        "statements": [row for regime in rules for row in _statements(evaluation, regime, sold_as)],
        "claims": [row for regime in rules for row in _claims(evaluation, regime)],
        "standard_drinks": [row for regime in rules if (row := _standard_drinks(evaluation, regime)) is not None],
    }


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


def _claims(evaluation: Evaluation, regime: Rules) -> list[Json]:
    return [
        {
            "jurisdiction": regime.code,
            "word": row.word,
            "allowed": row.allowed,
            "comparator": row.comparator,
            "limit_percent": float(row.limit),
            "figure_percent": None if row.figure is None else float(row.figure),
            "text": row.text,
            "source": row.source,
            "standing": row.standing,
        }
        for row in labelling.claims(
            regime, evaluation.alcohol.abv_upper_percent, _only_kind(evaluation), _taken_as_none(evaluation)
        )
    ]


def _taken_as_none(evaluation: Evaluation) -> tuple[str, ...]:
    """Ids of the caller's and the catalogue's items in the liquid whose strength is 0 by their kind alone."""
    found: dict[str, None] = {}
    for line in evaluation.lines:
        if line.role not in ("pour", "top", "rinse"):
            continue
        for made in (line.substance, *line.alternatives):
            for assumption in made.assumptions:
                if assumption.code == NO_ALCOHOL_BY_KIND and assumption.item is not None:
                    leaf = made.leaves.get(assumption.item)
                    if leaf is not None and leaf.item.origin != "reference" and leaf.item.kind in DOUBTFUL_KINDS:
                        found.setdefault(leaf.item.id)
    return tuple(found)


def _only_kind(evaluation: Evaluation) -> str | None:
    """The kind of product where the whole drink is one, such as a glass of wine; ``None`` for a mixed drink."""
    poured = [line for line in evaluation.lines if line.role in ("pour", "top", "rinse")]
    if len(poured) != 1 or poured[0].alternatives or evaluation.build.dilution.water_ml != 0:
        return None
    return poured[0].substance.kind


def _standard_drinks(evaluation: Evaluation, regime: Rules) -> Json | None:
    found = labelling.standard_drink_count(regime, evaluation.alcohol.strength.ethanol_g)
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
    alcohol = evaluation.alcohol
    if alcohol.low is not None and alcohol.high is not None:
        ends = [labelling.standard_drink_count(regime, end.ethanol_g) for end in (alcohol.low, alcohol.high)]
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
