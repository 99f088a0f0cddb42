"""One drink asked and answered, as the tests of its readers want it: no HTTP, one fixed day."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from schemas.evaluation import EvaluationRequest
from service.evaluate import evaluate
from service.reference import reference
from service.report import answer
from service.report.delta import answer_with_delta
from service.variation import variation

DAY = date(2026, 11, 25)

NOTHING: Mapping[str, Any] = {
    "sugars_g": 0, "carbohydrate_g": 0, "protein_g": 0, "fat_g": 0, "saturates_g": 0, "fibre_g": 0, "salt_g": 0,
    "acids_g": {}, "polyols_g": {}, "caffeine_mg": 0, "quinine_mg": 0, "sulphites_mg": 0, "glycyrrhizin_mg": 0,
}  # fmt: skip
"""A composition that is known to hold nothing but water and the alcohol stated elsewhere."""


def thing(item_id: str = "thing", /, **facts: Any) -> dict[str, Any]:
    """An ingredient of which everything is known and that holds nothing, save for ``facts``; ``per_100`` adds to it.

    A fact of ``None`` is left out of the request.
    """
    per_100 = {"basis": "ml", **NOTHING, **facts.pop("per_100", {})}
    whole = {"name": item_id, "abv_percent": 0, "allergens_declared": "complete", "animal_origin": "none"}
    stated = {"id": item_id, **whole, "per_100": per_100, **facts}
    return {name: fact for name, fact in stated.items() if fact is not None}


def poured(item_id: str = "thing", amount: str = "100 ml", **more: Any) -> dict[str, Any]:
    """One line."""
    return {"item": item_id, "amount": amount, **more}


def request_of(
    lines: Sequence[Any], things: Sequence[Any] = (), codes: Sequence[str] = ("EU",), **more: Any
) -> dict[str, Any]:
    """A request body: ``drink`` in ``more`` adds to the drink, the rest to the request."""
    drink = {"id": "drink", "name": "Drink", "lines": list(lines), **more.pop("drink", {})}
    return {"drink": drink, "ingredients": list(things), "jurisdictions": list(codes), **more}


def answer_to(body: Mapping[str, Any], day: date = DAY) -> dict[str, Any]:
    """The answer to a body."""
    request = EvaluationRequest.model_validate(body)
    return dict(answer(evaluate(request, day, ["EU"], reference()), "0" * 64))


def asked(lines: Sequence[Any], things: Sequence[Any] = (), codes: Sequence[str] = ("EU",), **more: Any) -> Any:
    """The answer to one drink."""
    return answer_to(request_of(lines, things, codes, **more))


def declared(found: Any, code: str) -> Any:
    """The allergen declaration of one jurisdiction."""
    return next(row for row in found["allergens"]["declarations"] if row["jurisdiction"] == code)


def states(found: Any, code: str) -> dict[str, set[str]]:
    """The keys of one declaration by state."""
    row = declared(found, code)
    return {state: set(row[state]) for state in ("contains", "may_contain", "unknown")}


def cautions(found: Any) -> set[str]:
    """Codes of the advisories."""
    return {row["code"] for row in found["advisories"]}


def varied(body: Mapping[str, Any], day: date = DAY) -> dict[str, Any]:
    """The answer to a body whose ``with`` names modifiers."""
    request = EvaluationRequest.model_validate(body)
    return dict(answer_with_delta(variation(request, day, ["EU"], reference()), "0" * 64))
