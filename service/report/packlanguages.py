"""A label in each of the languages that a jurisdiction asks for, side by side, whichever language the answer is in."""

from service.duties import APPLIES, duties
from service.evaluate import Evaluation
from service.evidence import STALE
from service.language import OWN, STATEMENT, language
from service.report.alcohol import label_text_row
from service.report.allergens import statement
from service.report.duties import official_text, sale_of
from service.report.figures import Json
from service.report.wording import Wording
from service.rules import Rules


def language_rows(evaluation: Evaluation) -> list[Json]:
    """One row for each language of each jurisdiction that asks for several; empty where none does."""
    return [
        {
            "jurisdiction": regime.code,
            "lang": code,
            "texts": _texts(evaluation, regime, code),
            "source": regime.label_languages.source,
            "standing": regime.label_languages.standing,
        }
        for regime in evaluation.rules
        if regime.label_languages is not None
        for code in regime.label_languages.languages
    ]


def _texts(evaluation: Evaluation, regime: Rules, code: str) -> list[Json]:
    return [
        _strength(evaluation, regime, code),
        *_allergens(evaluation, regime, code),
        *_stated(evaluation, regime, code),
    ]


def _strength(evaluation: Evaluation, regime: Rules, code: str) -> Json:
    wording = Wording(code, language(code))
    row = label_text_row(evaluation, regime, wording)
    if row["text"] is None:
        return {"what": "strength", "text": row["reason"], "lang": row["reason_lang"], "standing": OWN}
    used = [found.standing for found in wording.used.values()]
    return {
        "what": "strength", "text": row["text"], "lang": row["lang"], "standing": used[0] if used else row["standing"]
    }  # fmt: skip


def _allergens(evaluation: Evaluation, regime: Rules, code: str) -> list[Json]:
    """The declaration where allergens were asked for; its sentences are our own, its names those of the law."""
    stale = [row for row in evaluation.standings if row.state == STALE]
    for found in evaluation.declarations or ():
        if found.rules.code == regime.code:
            wording = Wording(code, language(code))
            text, marks = wording.marks(lambda: statement(found, evaluation.leaves, stale, wording))  # noqa: B023
            return [{"what": "allergens", "text": text, "lang": marks["lang"], "standing": OWN}]
    return []


def _stated(evaluation: Evaluation, regime: Rules, code: str) -> list[Json]:
    """Official texts that are due; one that is not held in the language is in the one it is held in."""
    official = [one for one in regime.statements if one.binding == "text"]
    if not official:
        return []
    wording = Wording(code, language(code))
    found = duties(regime, sale_of(evaluation, regime, official))
    due = [row for row in found if row.applies == APPLIES and row.statement in official]
    texts = [(row, wording.official(regime, row.statement)) for row in due]
    return [
        {"what": STATEMENT, "text": official_text(row, one, wording), "lang": one.lang, "standing": one.standing}
        for row, one in texts
    ]
