"""Words about what a drink holds, as the contract writes them."""

from functools import partial

from service.evaluate import Evaluation
from service.foodclaims import FoodClaimWords, food_claim
from service.nutritionrules import FoodClaim
from service.report.figures import Json
from service.report.wording import Wording


def food_claim_rows(evaluation: Evaluation, wording: Wording) -> list[Json]:
    """Every such word of each jurisdiction, allowed by what was measured or refused."""
    rows = []
    for regime in evaluation.rules:
        for claim in regime.food_claims:
            measured = getattr(evaluation.request.drink, claim.measure)
            found = food_claim(claim, measured)
            text, marks = wording.marks(partial(_text, claim, measured, wording))
            rows.append(
                {
                    "jurisdiction": regime.code,
                    "word": claim.word,
                    "allowed": found.allowed,
                    "measure": claim.measure,
                    "limit": float(claim.limit),
                    "figure": None if found.figure is None else float(found.figure),
                    "text": text,
                    "source": claim.source,
                    "standing": claim.standing,
                    **marks,
                    **wording.condition(claim.condition),
                }
            )
    return rows


def _text(claim: FoodClaim, measured: float | None, wording: Wording) -> str:
    if wording.english:
        return food_claim(claim, measured).text
    allowed, refused, unknown = (wording.word(f"claim.measured_{key}") for key in ("allowed", "refused", "unknown"))
    words = FoodClaimWords(allowed, refused, unknown, wording.language.number, wording.sentence)
    return food_claim(claim, measured, words).text
