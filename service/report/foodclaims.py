"""Words about what a drink holds, as the contract writes them."""

from functools import partial

from service.evaluate import Evaluation
from service.foodclaims import FoodClaimWords, food_claim
from service.nutritionrules import FoodClaim
from service.report.figures import Json
from service.report.wording import Wording


def food_claim_rows(evaluation: Evaluation, wording: Wording) -> list[Json]:
    """Every such word of each jurisdiction, allowed by what was measured or refused.

    What was measured is the drink as it is poured: of one that may be poured with something else nothing was.
    """
    rows = []
    varies = _varies(evaluation)
    for regime in evaluation.rules:
        for claim in regime.food_claims:
            measured = None if varies else getattr(evaluation.request.drink, claim.measure)
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
                }
            )
    return rows


def _varies(evaluation: Evaluation) -> bool:
    inside = [row for rows in evaluation.resolved.preparation_lines.values() for row in rows]
    return any(line.alternatives for line in evaluation.lines) or any(row.alternatives for row in inside)


def _text(claim: FoodClaim, measured: float | None, wording: Wording) -> str:
    if wording.english:
        return food_claim(claim, measured).text
    allowed, refused, unknown = (wording.word(f"claim.measured_{key}") for key in ("allowed", "refused", "unknown"))
    words = FoodClaimWords(allowed, refused, unknown, wording.language.number, wording.sentence)
    return food_claim(claim, measured, words).text
