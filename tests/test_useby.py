"""Use-by: the earliest of each component's remaining life and the part's own, with its path."""

from typing import Any

from tests.asked import answered, body_of, preparation

LONG = {"id": "long", "name": "Long", "kind": "syrup", "open_life_days": 90}
SHORT = {"id": "short", "name": "Short", "kind": "juice", "open_life_days": 2}


def life(lines: list[dict[str, Any]], *parts: dict[str, Any]) -> Any:
    body = body_of(lines, preparations=list(parts), ingredients=[LONG, SHORT], as_of="2026-11-25")
    found = answered(body)["use_by"]
    return None if found is None else {name: found[name] for name in ("days", "path")}


def reason(lines: list[dict[str, Any]], *parts: dict[str, Any]) -> Any:
    body = body_of(lines, preparations=list(parts), ingredients=[LONG, SHORT], as_of="2026-11-25")
    return answered(body)["use_by"]["reason"]


def line(item: str, **more: Any) -> dict[str, Any]:
    return {"item": item, "amount": "10 ml", **more}


def test_the_item_that_ends_first_is_named() -> None:
    assert life([line("long"), line("short")]) == {"days": 2, "path": ["asked", "short"]}


def test_no_known_life_is_no_figure() -> None:
    assert life([line("water")]) is None


def test_a_parts_own_life_counts_from_the_day_it_was_made() -> None:
    part = preparation([line("long")], shelf_life_days=14, made_on="2026-11-20")
    assert life([line("part")], part) == {"days": 9, "path": ["asked", "part"]}


def test_without_a_day_the_whole_life_is_left() -> None:
    assert life([line("part")], preparation([line("long")], shelf_life_days=14)) == {
        "days": 14,
        "path": ["asked", "part"],
    }


def test_a_component_that_ends_before_the_part_wins_with_its_path() -> None:
    inner = preparation([line("short")], shelf_life_days=30) | {"id": "inner"}
    outer = preparation([line("inner"), line("long")], shelf_life_days=20)
    assert life([line("part")], inner, outer) == {"days": 2, "path": ["asked", "part", "inner", "short"]}


def test_what_was_strained_out_no_longer_counts() -> None:
    part = preparation([line("long"), line("short", strained_out=True)], shelf_life_days=14)
    assert life([line("part")], part) == {"days": 14, "path": ["asked", "part"]}


def test_a_part_past_its_life_says_by_how_many_days() -> None:
    part = preparation([line("long")], shelf_life_days=3, made_on="2026-11-15")
    assert life([line("part")], part) == {"days": -7, "path": ["asked", "part"]}


def test_a_joint_product_keeps_as_long_as_its_part() -> None:
    outputs = [{"id": "product", "amount": "10 ml", "cost_share_percent": "100"}]
    part = preparation([line("long")], shelf_life_days=5, **{"yield": {"outputs": outputs}})
    assert life([line("product")], part) == {"days": 5, "path": ["asked", "product", "part"]}


def test_a_garnish_counts_and_a_consumable_does_not() -> None:
    assert life([line("long"), line("short", role="garnish")]) == {"days": 2, "path": ["asked", "short"]}
    assert life([line("long"), line("short", role="consumable")]) == {"days": 90, "path": ["asked", "long"]}


def test_of_equal_lives_the_shortest_path_is_named() -> None:
    part = preparation([line("water")], shelf_life_days=2)
    assert life([line("part"), line("short")], part)["days"] == 2


# The age of a part is the age of what was opened for it.


def test_what_was_opened_for_a_part_is_as_old_as_the_part() -> None:
    part = preparation([line("long"), line("short")], shelf_life_days=30, made_on="2026-11-20")
    assert life([line("part")], part) == {"days": -3, "path": ["asked", "part", "short"]}
    young = preparation([line("long")], shelf_life_days=300, made_on="2026-11-20")
    assert life([line("part")], young) == {"days": 85, "path": ["asked", "part", "long"]}


def test_a_part_in_a_part_counts_its_own_day() -> None:
    inner = preparation([line("long")], made_on="2026-11-23") | {"id": "inner"}
    outer = preparation([line("inner")], made_on="2026-11-24")
    assert life([line("part")], inner, outer)["days"] == 88


def test_a_part_in_a_part_without_a_day_is_no_younger_than_what_it_is_in() -> None:
    inner = preparation([line("water")], shelf_life_days=10) | {"id": "inner"}
    outer = preparation([line("inner"), line("long")], made_on="2026-11-21")
    assert life([line("part")], inner, outer) == {"days": 6, "path": ["asked", "part", "inner"]}
    assert life([line("inner")], inner)["days"] == 10


def test_two_levels_up_only_the_nearest_day_counts() -> None:
    inner = preparation([line("long")], made_on="2026-11-24") | {"id": "inner"}
    middle = preparation([line("inner"), line("short")]) | {"id": "middle"}
    outer = preparation([line("middle")], made_on="2026-11-25")
    assert life([line("part")], inner, middle, outer) == {"days": 2, "path": ["asked", "part", "middle", "short"]}


def test_a_part_that_is_made_later_has_its_whole_life_and_no_more() -> None:
    part = preparation([line("long")], shelf_life_days=14, made_on="2026-12-20")
    assert life([line("part")], part)["days"] == 14


def test_the_reason_names_the_life_that_ends_first() -> None:
    assert reason([line("short")]) == "short, 2 days once opened"
    made = preparation([line("long")], shelf_life_days=1)
    assert reason([line("part")], made) == "part, 1 day once made"
    dated = preparation([line("short")], shelf_life_days=30, made_on="2026-11-24")
    assert reason([line("part")], dated) == "short, 2 days once opened; part was made on 2026-11-24"


def test_what_may_be_poured_instead_counts_as_well() -> None:
    assert life([line("long", alternatives=["short"])]) == {"days": 2, "path": ["asked", "short"]}
    part = preparation([line("long", alternatives=["short"])], shelf_life_days=14)
    assert life([line("part")], part) == {"days": 2, "path": ["asked", "part", "short"]}
    strained = preparation([line("long"), line("long", alternatives=["short"], strained_out=True)])
    assert life([line("part")], strained) == {"days": 90, "path": ["asked", "part", "long"]}


def test_an_alternative_part_past_its_life_is_cautioned() -> None:
    part = preparation([line("long")], shelf_life_days=3, made_on="2026-11-15")
    lines = [line("long", alternatives=["part"])]
    assert life(lines, part) == {"days": -7, "path": ["asked", "part"]}
    found = answered(body_of(lines, preparations=[part], ingredients=[LONG], as_of="2026-11-25"))
    assert "past_use_by" in {row["code"] for row in found["advisories"]}


def test_a_part_made_after_the_day_asked_for_is_named() -> None:
    for made_on, warned in (("2026-11-26", ["made_on_in_future"]), ("2026-11-25", [])):
        part = preparation([line("long")], shelf_life_days=3, made_on=made_on)
        body = body_of([line("part")], preparations=[part], ingredients=[LONG], as_of="2026-11-25")
        assert [row["code"] for row in answered(body)["warnings"]] == warned
