"""Bought items in a thing: each once, by its first path, drunk where all of it is, in a known amount."""

from service.item import Item
from service.leaves import Leaf, leaves_of_item, leaves_of_lines, leaves_of_product

A, B, C = (leaves_of_item(Item(name, name.upper())) for name in "abc")


def test_an_item_is_its_own_leaf() -> None:
    assert dict(A) == {"a": Leaf(A.bought["a"], ("a",), True)}


def test_each_is_met_once_by_its_first_path() -> None:
    inner = leaves_of_lines("inner", [(A, False), (B, False)])
    outer = leaves_of_lines("outer", [(B, False), (inner, False), (C, False)])
    assert {key: leaf.path for key, leaf in outer.items()} == {
        "b": ("outer", "b"),
        "a": ("outer", "inner", "a"),
        "c": ("outer", "c"),
    }
    assert list(outer) == ["b", "a", "c"]


def test_what_is_strained_out_is_not_all_drunk_even_where_more_of_it_stays() -> None:
    strained = leaves_of_lines("strained", [(A, True), (B, False)])
    assert {key: leaf.drunk for key, leaf in strained.items()} == {"a": False, "b": True}
    assert not leaves_of_lines("outer", [(strained, False)])["a"].drunk
    assert not leaves_of_lines("outer", [(strained, True)])["b"].drunk
    for lines in ([(strained, False), (A, False)], [(A, False), (strained, False)], [(A, True), (A, False)]):
        assert not leaves_of_lines("outer", lines)["a"].drunk


def test_a_product_holds_the_whole_and_nobody_knows_how_much() -> None:
    product = leaves_of_product("product", leaves_of_lines("whole", [(A, False)]))
    assert product["a"].path == ("product", "whole", "a")
    assert not product["a"].drunk
