"""POST /v1/compare: two to eight drinks side by side, each held against the first."""

from collections.abc import Sequence
from decimal import Decimal

from msgspec import Struct

from schemas.evaluation import EvaluationRequest
from service.errors import InputFault, InputFaults
from service.evaluate import Evaluation
from service.line import exact
from service.money import EXACT, money_text
from service.nutrition import basis_on, energy
from service.report.figures import Json, missing_rows, shown
from service.solve.meta import meta_of
from service.solve.question import Desk, acid_mmol, begun

STATES = ("contains", "may_contain", "unknown")

LOST_NOTE = "Lost is held against the first drink and says nothing of traces: it is not to be read as free of it."


class Compared(Struct, frozen=True):
    """One drink of a comparison."""

    evaluation: Evaluation
    minutes: Decimal | None


def compared(drinks: Sequence[tuple[EvaluationRequest, Desk]]) -> tuple[Compared, ...]:
    """The drinks evaluated, each at its desk, so that days and venues may differ.

    Raises every fault of the first that has one, with its place in the request.
    """
    rows = []
    for number, (asked, desk) in enumerate(drinks):
        place = f"/drinks/{number}"
        try:
            _, evaluation = begun(asked, desk)
        except InputFault as fault:
            raise fault.at(place) from None
        except InputFaults as faults:
            raise InputFaults([fault.at(place) for fault in faults.faults]) from None
        rows.append(Compared(evaluation, minutes_of(evaluation)))
    return tuple(rows)


def minutes_of(evaluation: Evaluation) -> Decimal | None:
    """Minutes of work in one serve: its own as far as pricing states them, and its share of each part's batch.

    ``None`` where no minutes are stated at all, or the amount of a part that takes some is not known.
    """
    resolved, pricing = evaluation.resolved, evaluation.request.pricing
    own = pricing.labour.minutes if pricing is not None and pricing.labour is not None else None
    stated = own is not None
    per_ml: dict[str, Decimal] = {}
    for prep_id, made in resolved.preparations.items():
        stated = stated or made.spec.minutes is not None
        total = exact(made.spec.minutes or 0.0)
        for line in resolved.preparation_lines[prep_id]:
            each = per_ml.get(line.ref)
            if each and "ml" not in line.quantities:
                return None
            total += EXACT.multiply(each, line.quantities["ml"]) if each else Decimal(0)
        per_ml[prep_id] = EXACT.divide(total, exact(made.yield_ml * made.substance.gas_factor))
    whole = Decimal(0)
    for line in evaluation.lines:
        each = per_ml.get(line.ref)
        if each and "ml" not in line.quantities:
            return None
        whole += EXACT.multiply(each, line.quantities["ml"]) if each else Decimal(0)
    if not stated or any(product in {line.ref for line in evaluation.lines} for product in resolved.products):
        return None
    return EXACT.divide(whole, Decimal(evaluation.request.drink.serves)) + (own or Decimal(0))


def compare_answer(rows: tuple[Compared, ...]) -> Json:
    """The answer of POST /v1/compare; money only where the key sees it."""
    first = rows[0]
    return {
        "drinks": [_row(row, first) for row in rows],
        "notes": [LOST_NOTE, "Figures are of one serve as handed over; a cost in another currency is not compared."],
        "meta": meta_of(first.evaluation),
    }


def _row(row: Compared, first: Compared) -> Json:
    evaluation = row.evaluation
    build, drink = evaluation.build, evaluation.request.drink
    liquid, consumed = build.liquid, evaluation.consumed
    plain_energy = energy(consumed, basis_on(evaluation.day))
    life = evaluation.use_by
    body: Json = {
        "id": drink.id,
        "name": drink.name,
        "abv_percent": shown(evaluation.alcohol.strength.abv_percent),
        "ethanol_g": shown(evaluation.alcohol.strength.ethanol_g),
        "undiluted_ml": shown(build.undiluted.volume_ml) if build.volume_known else None,
        "water_added_ml": shown(build.dilution.water_ml),
        "liquid_ml": None if liquid is None else shown(liquid.volume_ml),
        "sugars_g": shown(consumed.content("sugars")) if consumed.knows("sugars_g") else None,
        "acid_g": shown(consumed.acids_g) if consumed.knows("acids_g") else None,
        "acid_mmol": shown(acid_mmol(consumed)) if consumed.knows("acids_g") else None,
        "energy_kcal": shown(plain_energy.energy_kcal, 0),
        "minutes": None if row.minutes is None else shown(float(row.minutes), 1, 2),
        "use_by_days": None if life is None else life.days,
        "missing": missing_rows(
            (*consumed.missing("abv_percent", "sugars_g", "acids_g"), *plain_energy.missing, *build.missing)
        ),
        "allergens": _allergens(evaluation, first.evaluation),
        "advisories": [caution.code for caution in evaluation.cautions],
    }
    if evaluation.cost is not None:
        body["money"] = _money(evaluation)
    return body


def _money(evaluation: Evaluation) -> Json:
    cost, price = evaluation.cost, evaluation.price
    assert cost is not None
    currency, pour = cost.currency, cost.serve.pour_cost
    suggestion = None if price is None else price.suggestion
    return {
        "currency": currency or None,
        "complete": cost.serve.complete,
        "pour_cost": None if pour is None or not currency else money_text(pour, currency),
        "suggested_price": None if suggestion is None else money_text(suggestion.suggested, currency),
    }


def _states(evaluation: Evaluation, code: str) -> dict[str, str]:
    """The state of each allergen in one jurisdiction, the strongest first."""
    found: dict[str, str] = {}
    for declared in evaluation.declarations or ():
        if declared.rules.code == code:
            for state in STATES:
                found.update((key, state) for key in getattr(declared, state) if key not in found)
    return found


def _allergens(evaluation: Evaluation, first: Evaluation) -> list[Json]:
    """By jurisdiction: what is declared, what the first drink did not declare, and what only the first declared."""
    rows: list[Json] = []
    firsts = {declared.rules.code for declared in first.declarations or ()}
    for declared in evaluation.declarations or ():
        code = declared.rules.code
        states = _states(evaluation, code)
        before = _states(first, code) if code in firsts else None
        rows.append({
            "jurisdiction": code,
            **{state: list(getattr(declared, state)) for state in STATES},
            "partly_unknown": [key for key in declared.open_groups if key in declared.contains],
            "gained": None if before is None else [key for key in states if key not in before],
            "lost": None if before is None else [key for key in before if key not in states],
        })  # fmt: skip
    return rows
