"""Strength as the contract writes it: figures, menu and label texts, claims, standard drinks."""

from decimal import Decimal

from service import labelling, strengthwords
from service.alcohol import STATED_UNCERTAINTY_PERCENT, Strength
from service.bands import Bands
from service.evaluate import Evaluation
from service.labelcheck import label_checks
from service.pack import PACKED, sold_as
from service.report.bands import alcohol_band, label_check_rows
from service.report.claims import claim_rows, only_item, upper_percent
from service.report.figures import Json, missing_rows, shown
from service.report.legalnames import legal_name_rows
from service.report.wording import Wording
from service.rules import Rules


def alcohol_section(evaluation: Evaluation, wording: Wording) -> Json:
    """The strength of one serve and what each jurisdiction makes of it."""
    alcohol = evaluation.alcohol
    own = alcohol.strength
    how = sold_as(evaluation.request)
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
        "menu_text": [] if how in PACKED else [_menu_text(evaluation, regime, wording) for regime in rules],
        "label": [label_text_row(evaluation, regime, wording) for regime in rules] if how in PACKED else [],
        "statements": [row for regime in rules for row in statement_rows(evaluation, regime, how, wording)],
        "claims": claim_rows(evaluation, rules, wording),
        "standard_drinks": [
            drinks for regime in rules if (drinks := _standard_drinks(evaluation, regime, wording)) is not None
        ],
    }
    named = legal_name_rows(evaluation)
    if named:
        row["legal_names"] = named
    if evaluation.bands is not None:
        row["band"] = alcohol_band(evaluation, evaluation.bands)
        row["label_check"] = _label_check(evaluation, evaluation.bands) if how in PACKED else []
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


def _menu_text(evaluation: Evaluation, regime: Rules, wording: Wording) -> Json:
    alcohol = evaluation.alcohol
    high = None if alcohol.high is None else alcohol.high.abv_percent
    low: Strength = alcohol.strength if alcohol.low is None else alcohol.low
    unknown = alcohol.high is not None and high is None
    abv = None if unknown else low.abv_percent
    doubt, basis = _doubt(evaluation)
    most = None if evaluation.bands is None else upper_percent(evaluation)
    found = strengthwords.menu_text(regime, abv, doubt, high, most_percent=most)
    text, marks = found.text, wording.marks(lambda: found.text)[1]
    if not wording.english and text is not None:

        def said() -> str | None:
            return strengthwords.menu_text(regime, abv, doubt, high, _menu_words(wording), most).text

        text, marks = wording.marks(said)
    row: Json = {
        "jurisdiction": regime.code,
        "text": text,
        **_reason(found.reason, wording),
        "standing": found.standing,
    }
    return {**row, "uncertainty_percent": shown(doubt), "uncertainty_from": basis, **marks}


def _doubt(evaluation: Evaluation) -> tuple[float, str]:
    """How uncertain the strength is in % vol, for its words on a menu, and whether by its own band or as assumed.

    The band gives the standard uncertainty (JCGM 100:2008, 7.2), at least that of rounding to half a percent, since a
    poured drink is not known to a tenth. Where an input is in no band, what is assumed stands if it is wider.
    """
    assumed = evaluation.alcohol.uncertainty_percent
    bands = evaluation.bands
    band = None if bands is None else bands.figures["abv_percent"]
    if bands is None or band is None:
        return assumed, "assumed"
    own = max(band.standard, STATED_UNCERTAINTY_PERCENT)
    return (assumed, "assumed") if bands.not_varied and assumed > own else (own, "band")


def _menu_words(wording: Wording) -> strengthwords.MenuWords:
    pattern, under, none, to, under_figure = (
        wording.word(f"menu.{key}") for key in ("about", "under", "none", "to", "under_figure")
    )
    return strengthwords.MenuWords(pattern, under, none, to, under_figure, wording.language.number)


def label_text_row(evaluation: Evaluation, regime: Rules, wording: Wording) -> Json:
    """The strength as a package of the jurisdiction states it."""
    upper = evaluation.alcohol.abv_upper_percent
    found = strengthwords.label_text(regime, upper)
    number = wording.language.number
    text, marks = wording.marks(
        lambda: strengthwords.label_text(regime, upper, lambda key: wording.label(regime, key), number).text
    )
    return {
        "jurisdiction": regime.code,
        "text": text,
        **_reason(found.reason, wording),
        "source": found.source,
        "standing": found.standing,
        **marks,
    }


def _reason(reason: str | None, wording: Wording) -> Json:
    """Why there is no text, and the language that it is said in."""
    text, marks = wording.marks(lambda: None if reason is None else wording.sentence(reason))
    return {"reason": text, **({"reason_lang": marks["lang"]} if marks else {})}


def statement_rows(evaluation: Evaluation, regime: Rules, how: str, wording: Wording) -> list[Json]:
    """The duties that a strength so sold calls for, official texts in the language where they are held in it."""
    rows: list[Json] = []
    for row in labelling.statements(regime, evaluation.alcohol.abv_upper_percent, how):
        text = wording.official(regime, row)
        marks: Json = {"lang": text.lang, "fallback": text.fallback} if wording.marked else {}
        rows.append(
            {
                "jurisdiction": regime.code,
                "code": row.key,
                "binding": row.binding,
                "who": row.who,
                "text": text.text,
                "source": row.source,
                "standing": row.standing,
                **marks,
            }
        )
    return rows


def count_words(wording: Wording, regime: Rules) -> labelling.CountWords:
    """How a jurisdiction's standard drinks are counted in the language."""
    drink = regime.standard_drink
    assert drink is not None
    nouns = {noun: wording.word(f"noun.{noun.replace(' ', '_')}") for noun in (drink.noun, drink.noun_plural)}
    count, at_most, to = (wording.word(f"count.{key}") for key in ("count", "at_most", "to"))
    grams, under_gram = (wording.word(f"count.{key}") for key in ("grams", "under_gram"))
    spoken = wording.language
    return labelling.CountWords(count, at_most, to, grams, under_gram, nouns, spoken.number, spoken.singular)


def _count_text(evaluation: Evaluation, regime: Rules, english: str, wording: Wording) -> tuple[str | None, Json]:
    """The standard drinks in words and the marks of the language."""
    if wording.english or regime.standard_drink is None:
        return english, wording.marks(lambda: english)[1]

    def said() -> str | None:
        grams, words = evaluation.alcohol.strength.ethanol_g, count_words(wording, regime)
        unknown = wording.word("heading.not_known")
        found = labelling.standard_drink_count(regime, grams, words, unknown, _ends_g(evaluation))
        return None if found is None else found.text

    return wording.marks(said)


def _ends_g(evaluation: Evaluation) -> tuple[float | None, float | None] | None:
    """The least and the most ethanol that may be poured; ``None`` without alternatives."""
    low, high = evaluation.alcohol.low, evaluation.alcohol.high
    return None if low is None or high is None else (low.ethanol_g, high.ethanol_g)


def _standard_drinks(evaluation: Evaluation, regime: Rules, wording: Wording) -> Json | None:
    alcohol = evaluation.alcohol
    own = alcohol.strength
    found = labelling.standard_drink_count(regime, own.ethanol_g, ends_g=_ends_g(evaluation))
    if found is None:
        return None
    text, marks = _count_text(evaluation, regime, found.text, wording)
    row: Json = {
        "jurisdiction": regime.code,
        "grams_each": _float(found.grams_each),
        "grams_low": _float(found.grams_low),
        "grams_high": _float(found.grams_high),
        "count": _count(found.count),
        "count_low": _count(found.count_low),
        "count_high": _count(found.count_high),
        "text": text,
        "source": found.source,
        "standing": found.standing,
        "note": found.note,
        "range": None,
        **marks,
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
