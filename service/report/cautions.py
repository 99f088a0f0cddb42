"""Cautions as the contract writes them, each in the language asked for as far as it has the words."""

from service import labelling
from service.advisories import Caution
from service.evaluate import Evaluation
from service.language import ADVISORY
from service.report.alcohol import count_words
from service.report.figures import Json
from service.report.wording import Wording

OVER_LIMIT = "over_house_limit"


def advisory_rows(evaluation: Evaluation, wording: Wording) -> list[Json]:
    """Every caution in the order of the evaluation."""
    return [_row(evaluation, caution, wording) for caution in evaluation.cautions]


def _row(evaluation: Evaluation, caution: Caution, wording: Wording) -> Json:
    text, marks = wording.marks(lambda: _text(evaluation, caution, wording))
    deferral, whom = wording.marks(lambda: wording.sentence(caution.deferral))
    row: Json = {
        "code": caution.code, "level": caution.level, "text": text, "deferral": deferral, "source": caution.source,
        "standing": caution.standing, "jurisdictions": list(caution.jurisdictions), "items": list(caution.items),
        **marks,
    }  # fmt: skip
    return row | ({"deferral_lang": whom["lang"]} if whom else {})


def _text(evaluation: Evaluation, caution: Caution, wording: Wording) -> str:
    """The caution in words; in English where the language has none for it."""
    if wording.english:
        return caution.text
    blanks = {name: _figure(blank.figure, blank.how, wording) for name, blank in caution.blanks.items()}
    code = caution.code
    if code == OVER_LIMIT:
        drinks = _drinks(evaluation, caution.jurisdictions[0], wording)
        code, blanks = (f"{code}_unknown", blanks) if drinks is None else (code, {**blanks, "drinks": drinks})
    for key in (f"caution.{code}", f"{ADVISORY}.{code}"):
        if key in wording.language.english:
            return wording.say(key, **blanks)
    return wording.untranslated(caution.text)


def _figure(figure: str, how: str | None, wording: Wording) -> str:
    if figure == labelling.NOT_KNOWN:
        return wording.word("claim.not_known")
    written = wording.language.number(figure) if figure.replace(".", "", 1).isdigit() else figure
    return written if how is None else wording.say(f"caution.{how}", n=written)


def _drinks(evaluation: Evaluation, code: str, wording: Wording) -> str | None:
    """The standard drinks of the strongest serve in words; ``None`` where they are not known."""
    regime = next(one for one in evaluation.rules if one.code == code)
    found = labelling.standard_drink_count(regime, evaluation.alcohol.ethanol_upper_g, count_words(wording, regime))
    return None if found is None or (found.count is None and found.count_high is None) else found.text
