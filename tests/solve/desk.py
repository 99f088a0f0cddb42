"""Questions asked at the desk without HTTP, on one fixed day."""

from datetime import date
from typing import Any

from schemas.part import MakePartRequest
from schemas.solve import CompareRequest, ReformulateRequest, ScaleRequest, SubstituteRequest
from service.lookup import EMPTY_CATALOGUE
from service.reference import reference
from service.solve.compare import compare_answer, compared
from service.solve.make_part import made_part
from service.solve.make_part_report import make_part_answer
from service.solve.question import Desk
from service.solve.reformulate import reformulated
from service.solve.reformulate_report import reformulate_answer
from service.solve.scale import scaled_drink
from service.solve.scale_report import scale_answer
from service.solve.substitute import substituted
from service.solve.substitute_report import substitute_answer

DAY = date(2026, 11, 25)


def desk(sees_costs: bool = True) -> Desk:
    """A desk with nothing stored."""
    return Desk(DAY, ("EU",), reference(), EMPTY_CATALOGUE, sees_costs)


def scaled(body: Any, sees_costs: bool = True) -> Any:
    return scale_answer(scaled_drink(ScaleRequest.model_validate(body), desk(sees_costs)))


def side_by_side(*bodies: Any, sees_costs: bool = True) -> Any:
    return compare_answer(
        compared([(one, desk(sees_costs)) for one in CompareRequest.model_validate({"drinks": list(bodies)}).drinks])
    )


def swapped(body: Any, sees_costs: bool = True) -> Any:
    return substitute_answer(substituted(SubstituteRequest.model_validate(body), desk(sees_costs)))


def reformed(body: Any, sees_costs: bool = True) -> Any:
    return reformulate_answer(reformulated(ReformulateRequest.model_validate(body), desk(sees_costs)))


def part_of(part: Any, sees_costs: bool = True, **more: Any) -> Any:
    body = {"id": "mine", "name": "Mine", "part": part, **more}
    return make_part_answer(made_part(MakePartRequest.model_validate(body), desk(sees_costs)))
