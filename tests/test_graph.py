"""Preparations in one another: order, circles, depth, diamonds, ids that name nothing."""

import time
from datetime import date
from itertools import pairwise
from typing import Any

from schemas.evaluation import EvaluationRequest
from service.evaluate import evaluate
from service.reference import reference
from tests.asked import answered, body_of, evaluation, faults, preparation, refused


def chain(levels: int) -> list[dict[str, Any]]:
    """``part`` made of level-1 made of level-2 ... made of water."""
    ids = ["part", *(f"level-{number}" for number in range(1, levels)), "water"]
    return [preparation([{"item": below, "amount": "100 ml"}]) | {"id": above} for above, below in pairwise(ids)]


def asked(parts: list[dict[str, Any]]) -> dict[str, Any]:
    return body_of([{"item": "part", "amount": "10 ml"}], preparations=parts)


def test_sixteen_levels_are_made() -> None:
    assert answered(asked(chain(16)))["serve"]["liquid_ml"] == 10.0


def test_seventeen_levels_are_refused_whatever_their_order() -> None:
    for parts in (chain(17), chain(17)[::-1]):
        [fault] = faults(asked(parts))
        assert fault.code == "too_deep"
        place = int(fault.pointer.removeprefix("/preparations/"))
        assert parts[place]["id"] == "part"


def test_a_circle_is_refused_with_its_path() -> None:
    parts = chain(3)
    parts[2]["lines"].append({"item": "level-1", "amount": "1 ml"})
    [fault] = faults(asked(parts))
    assert (fault.code, fault.pointer) == ("cycle", "/preparations/1")
    assert "level-1 -> level-2 -> level-1" in fault.detail


def test_a_part_of_itself_is_refused() -> None:
    [fault] = faults(asked([preparation([{"item": "part", "amount": "10 ml"}])]))
    assert (fault.code, fault.pointer) == ("cycle", "/preparations/0")
    assert "part -> part" in fault.detail


def test_a_circle_through_a_joint_product_is_refused() -> None:
    outputs = [{"id": "product", "amount": "50 ml", "cost_share_percent": "100"}]
    part = preparation([{"item": "product", "amount": "10 ml"}], **{"yield": {"outputs": outputs}})
    assert [code for code, _ in refused(asked([part]))] == ["cycle"]


def test_a_circle_of_five_hundred_is_refused_within_a_tenth_of_a_second() -> None:
    ids = [f"p-{number}" for number in range(500)]
    parts = [preparation([{"item": ids[(n + 1) % 500], "amount": "1 ml"}]) | {"id": ids[n]} for n in range(500)]
    body = body_of([{"item": "p-0", "amount": "1 ml"}], preparations=parts)
    began = time.process_time()
    [fault] = faults(body)
    assert time.process_time() - began < 0.1
    assert fault.code == "cycle"
    assert len(fault.detail) < 300


def diamond(rungs: int) -> list[dict[str, Any]]:
    """Each rung names the one below twice, so that 2 ** rungs paths lead to the ground."""
    parts = []
    for rung in range(rungs):
        below = f"rung-{rung + 1}" if rung + 1 < rungs else "white-sugar"
        unit = "10 ml" if rung + 1 < rungs else "10 g"
        lines = [{"item": below, "amount": unit}, {"item": below, "amount": unit}]
        parts.append(preparation(lines) | {"id": "part" if rung == 0 else f"rung-{rung}"})
    return parts


def test_a_diamond_is_computed_once() -> None:
    assert len(evaluation(asked(diamond(15))).resolved.preparations) == 15


def wide_diamond() -> list[dict[str, Any]]:
    """Fifteen levels of four parts, each of which names all four below it four times: 16 ** 15 = 2 ** 60 paths
    and more."""
    parts = []
    for level in range(15):
        for place in range(4):
            if level < 14:
                lines = [{"item": f"l-{level + 1}-{below}", "amount": "1 ml"} for below in range(4) for _ in range(4)]
            else:
                lines = [{"item": "water", "amount": "1 ml"}]
            name = "part" if (level, place) == (0, 0) else f"l-{level}-{place}"
            parts.append(preparation(lines) | {"id": name})
    return parts


def test_more_than_two_to_the_sixty_paths_are_computed_once_each() -> None:
    request = EvaluationRequest.model_validate(asked(wide_diamond()))
    took = []
    for _ in range(5):
        began = time.process_time()
        found = evaluate(request, date(2026, 11, 25), ["EU"], reference())
        took.append(time.process_time() - began)
    assert len(found.resolved.preparations) == 57
    assert min(took) < 0.05  # the best of five: other work on the machine only ever adds


def every_line() -> dict[str, Any]:
    """Nearly 4000 lines: 360 items of which nothing is known, 430 parts of eight parts each, all on fresh fruit."""
    things = [{"id": f"thing-{number}", "name": "Thing", "kind": "liqueur"} for number in range(360)]
    ground = [
        preparation([{"item": thing["id"], "amount": "1 ml"} for thing in things[60 * group : 60 * group + 60]])
        | {"id": f"ground-{group}"}
        for group in range(6)
    ]
    below, parts = [row["id"] for row in ground], list(ground)
    for level in range(14):
        ids = [f"p-{level}-{place}" for place in range(31)]
        for place, name in enumerate(ids):
            lines: list[dict[str, Any]] = [
                {"item": below[(place + number) % len(below)], "amount": "1 ml"} for number in range(7)
            ]
            lines.append({"item": "lemon", "amount": "1 g", "strained_out": True})
            parts.append(preparation(lines) | {"id": name})
        below = ids
    return body_of([{"item": name, "amount": "1 ml"} for name in below], preparations=parts, ingredients=things)


def test_the_largest_request_is_bounded_work() -> None:
    request = EvaluationRequest.model_validate(every_line())
    took = []
    for _ in range(3):
        began = time.process_time()
        found = evaluate(request, date(2026, 11, 25), ["EU"], reference())
        took.append(time.process_time() - began)
    assert sum(len(lines) for lines in found.resolved.preparation_lines.values()) > 3800
    assert len(found.leaves) == 361
    assert min(took) < 0.8  # 0.3 s on the machine it was written on; 1.5 s before parts shared their sets


def test_only_what_the_drink_needs_is_made() -> None:
    parts = [*chain(2), preparation([{"item": "nothing-like-it", "amount": "1 ml"}]) | {"id": "unused"}]
    assert list(evaluation(asked(parts)).resolved.preparations) == ["level-1", "part"]


def test_unknown_ids_are_all_told_at_once_with_the_nearest() -> None:
    part = preparation([{"item": "whit-sugar", "amount": "5 g"}])
    lines: list[dict[str, Any]] = [
        {"item": "lime-juise", "amount": "5 ml"},
        {"item": "part", "amount": "5 ml", "alternatives": ["watre"]},
    ]
    found = {fault.pointer: fault for fault in faults(body_of(lines, preparations=[part]))}
    assert set(found) == {"/drink/lines/0/item", "/drink/lines/1/alternatives/0", "/preparations/0/lines/0/item"}
    assert {fault.code for fault in found.values()} == {"item_unknown"}
    assert "lime-juice" in found["/drink/lines/0/item"].detail
    assert "white-sugar" in found["/preparations/0/lines/0/item"].detail
    assert "whit-sugar" not in found["/preparations/0/lines/0/item"].detail.replace("white-sugar", "")


def test_thousands_of_unknown_ids_are_refused_within_a_fifth_of_a_second() -> None:
    parts = [
        preparation([{"item": f"unknown-{number}-{line}", "amount": "1 ml"} for line in range(60)])
        | {"id": f"p-{number}"}
        for number in range(100)
    ]
    lines = [{"item": f"p-{number}", "amount": "1 ml"} for number in range(60)]
    body = body_of(lines, preparations=parts)
    began = time.process_time()
    found = faults(body)
    assert time.process_time() - began < 0.2
    assert len(found) == 100


def test_an_ingredient_of_the_request_stands_before_the_reference() -> None:
    own = [{"id": "water", "name": "Own water", "kind": "spirit", "abv_percent": 50}]
    answer = answered(body_of([{"item": "water", "amount": "10 ml"}], ingredients=own))
    assert answer["lines"][0]["source"] == "request"
    assert answer["alcohol"]["abv_percent"] == 50.0


def test_ids_that_stand_twice_are_refused_at_the_second() -> None:
    lines = [{"item": "water", "amount": "10 ml"}]
    thing = {"id": "twice", "name": "Twice"}
    part = preparation(lines) | {"id": "twice"}
    outputs = [
        {"id": "twice", "amount": "5 ml", "cost_share_percent": "50"},
        {"id": "twice", "amount": "5 ml", "cost_share_percent": "50"},
    ]
    assert refused(body_of(lines, ingredients=[thing, thing])) == [("duplicate_id", "/ingredients/1/id")]
    assert refused(body_of(lines, preparations=[part, part])) == [("duplicate_id", "/preparations/1/id")]
    assert refused(body_of(lines, ingredients=[thing], preparations=[part])) == [("duplicate_id", "/preparations/0/id")]
    within = preparation(lines, **{"yield": {"outputs": outputs}})
    assert refused(body_of(lines, preparations=[within])) == [("duplicate_id", "/preparations/0/yield/outputs/1/id")]
    beside = preparation(lines, outputs=outputs)
    assert refused(body_of(lines, preparations=[beside])) == [("duplicate_id", "/preparations/0/outputs/1/id")]
