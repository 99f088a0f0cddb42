"""Words about what a drink holds, as the contract writes them."""

from collections.abc import Sequence
from functools import partial

from service.allergens import Declaration, may_be_brought
from service.evaluate import Evaluation
from service.foodclaims import FoodClaimWords, food_claim
from service.nutritionrules import FoodClaim
from service.report.figures import Json
from service.report.wording import Wording


def food_claim_rows(evaluation: Evaluation, declarations: Sequence[Declaration], wording: Wording) -> list[Json]:
    """Every such word of each jurisdiction, allowed by what was measured or refused.

    What was measured is the drink as it is poured: of one that may be poured with something else nothing was. Where
    a part or a tool may bring what was measured, or nobody knows whether a part does, the word is refused.
    """
    rows = []
    varies = _varies(evaluation)
    for regime, declared in zip(evaluation.rules, declarations, strict=True):
        for claim in regime.food_claims:
            measured = None if varies else getattr(evaluation.request.drink, claim.measure)
            traces = may_be_brought(declared, evaluation.leaves.values(), claim.traces)
            found = food_claim(claim, measured, traces=traces)
            text, marks = wording.marks(partial(_text, claim, measured, traces, wording))
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


def _varies(evaluation: Evaluation) -> bool:
    inside = [row for rows in evaluation.resolved.preparation_lines.values() for row in rows]
    return any(line.alternatives for line in evaluation.lines) or any(row.alternatives for row in inside)


def _text(claim: FoodClaim, measured: float | None, traces: bool, wording: Wording) -> str:
    if wording.english:
        return food_claim(claim, measured, traces=traces).text
    allowed, refused, unknown, traced = (
        wording.word(f"claim.measured_{key}") for key in ("allowed", "refused", "unknown", "traces")
    )
    words = FoodClaimWords(allowed, refused, unknown, traced, wording.language.number, wording.sentence)
    return food_claim(claim, measured, traces=traces, words=words).text
