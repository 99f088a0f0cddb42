"""Properties of modifiers: the modified drink is the one that a plain list of millilitres gives."""

import json
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from schemas.answer import Answer
from schemas.drink import Drink
from service.amounts import Measures, read_amount
from service.errors import InputFault, InputFaults
from service.modifiers import modified
from tests.campaign import DERANDOMIZED
from tests.campaign import EXAMPLES as TRIED
from tests.odd_requests import KNOWN, ODD
from tests.odd_requests import amount as odd_amounts
from tests.odd_requests import requests as odd_requests
from tests.one_drink import answer_to, request_of, thing, varied

EXAMPLES = settings(max_examples=TRIED, derandomize=DERANDOMIZED, deadline=None)
SLOW = settings(max_examples=max(TRIED // 4, 25), derandomize=DERANDOMIZED, deadline=None)

NAMES = ("a", "b", "c", "d")
names = st.sampled_from(NAMES)
factors = st.sampled_from(("0.5", "1", "1.25", "2", "3"))
amounts = st.sampled_from((5, 10, 25, 40))
lines = st.lists(st.tuples(names, amounts), min_size=1, max_size=5)

modifiers = st.fixed_dictionaries(
    {},
    optional={
        "remove": st.lists(names, max_size=2),
        "replace": st.lists(st.one_of(st.tuples(names, names), st.tuples(names, names, amounts)), max_size=2),
        "scale": st.one_of(factors, st.lists(st.tuples(names, factors), max_size=2)),
        "add": st.lists(st.tuples(names, amounts), max_size=2),
    },
)


def as_sent(modifier: dict[str, Any], number: int) -> dict[str, Any]:
    sent: dict[str, Any] = {"id": f"m{number}", "name": "M"}
    for key, value in modifier.items():
        if key == "replace":
            sent[key] = [
                {"item": row[0], "with": row[1], **({"amount": f"{row[2]} ml"} if len(row) == 3 else {})}
                for row in value
            ]
        elif key == "scale" and not isinstance(value, str):
            sent[key] = [{"item": item, "factor": factor} for item, factor in value]
        elif key == "add":
            sent[key] = [{"item": item, "amount": f"{ml} ml"} for item, ml in value]
        else:
            sent[key] = value
    return sent


class Refused(Exception):
    """What the plain list refuses too."""


def by_list(drink: list[tuple[str, int]], asked: list[dict[str, Any]]) -> list[tuple[str, Fraction]]:
    """The same on a list of (all names of a line, its item, millilitres): written from the contract's words alone."""
    rows: list[list[Any]] = [[{item}, item, Fraction(ml)] for item, ml in drink]
    gone: set[str] = set()
    for modifier in asked:
        for item in modifier.get("remove", ()):
            out = [row for row in rows if row[1] == item]
            if not out and item not in gone:
                raise Refused
            gone = gone.union(*(row[0] for row in out))
            rows = [row for row in rows if row[1] != item]
        for old, new, *ml in modifier.get("replace", ()):
            found = [row for row in rows if old in row[0]]
            if not found:
                raise Refused
            for row in found:
                gone |= row[0]
                row[0] = row[0] | {new}
                row[1] = new
                row[2] = Fraction(ml[0]) if ml else row[2]
        scale = modifier.get("scale", ())
        for item, factor in [(None, scale)] if isinstance(scale, str) else scale:
            found = [row for row in rows if item is None or item in row[0]]
            if not found and item is not None:
                raise Refused
            for row in found:
                row[2] *= Fraction(factor)
        rows += [[{item}, item, Fraction(ml)] for item, ml in modifier.get("add", ())]
        if not rows:
            raise Refused
    return [(item, ml) for _, item, ml in rows]


@EXAMPLES
@given(lines, st.lists(modifiers, max_size=4), st.data())
def test_a_modified_drink_is_that_of_a_plain_list(
    drink: list[tuple[str, int]], asked: list[dict[str, Any]], data: st.DataObject
) -> None:
    order = data.draw(st.lists(st.sampled_from(range(len(asked))), max_size=4)) if asked else []
    spec = Drink.model_validate(
        {
            "id": "d",
            "name": "D",
            "lines": [{"item": item, "amount": f"{ml} ml"} for item, ml in drink],
            "modifiers": [as_sent(modifier, number) for number, modifier in enumerate(asked)],
        }
    )
    try:
        expected = by_list(drink, [asked[number] for number in order])
    except Refused:
        with pytest.raises((InputFault, InputFaults)):
            modified(spec, [f"m{number}" for number in order])
        return
    found = modified(spec, [f"m{number}" for number in order]).drink
    assert [line.item for line in found.lines] == [item for item, _ in expected]
    for line, (_, ml) in zip(found.lines, expected, strict=True):
        assert isinstance(line.amount, str)
        assert Fraction(read_amount(line.amount, Measures(), by_mass=False, pieces=()).quantity) == ml


THINGS = [
    thing("a", kind="spirit", abv_percent=40, process=["distilled"]),
    thing("b", allergens={"milk": "contains", "eggs": "may_contain"}),
    thing("c", allergens={"almond": "unknown"}, allergens_declared="partial"),
    thing("d", abv_percent=15, allergens={"eggs": "contains", "sesame": "may_contain"}),
]
TOOLS = st.lists(
    st.fixed_dictionaries(
        {
            "allergens": st.lists(
                st.sampled_from(("milk", "eggs", "almond", "fish")), min_size=1, max_size=2, unique=True
            ),
            "equipment": st.sampled_from(("shaker", "blender")),
            "control": st.sampled_from(("none", "rinsed", "dedicated")),
        }
    ),
    max_size=2,
)
STATES = ("contains", "may_contain", "unknown")


@SLOW
@given(lines, st.lists(modifiers, min_size=1, max_size=2), st.one_of(st.none(), TOOLS))
def test_the_answer_is_that_of_the_list_written_out_and_no_warning_of_a_tool_is_lost(
    drink: list[tuple[str, int]], asked: list[dict[str, Any]], tools: Any
) -> None:
    try:
        expected = by_list(drink, asked)
    except Refused:
        assume(False)
        raise
    more: dict[str, Any] = {} if tools is None else {"house": {"cross_contact": tools}}
    sent = [{"item": item, "amount": f"{ml} ml"} for item, ml in drink]
    body = request_of(sent, THINGS, ("EU", "US"), **more)
    body["drink"]["modifiers"] = [as_sent(modifier, number) for number, modifier in enumerate(asked)]
    body["with"] = [f"m{number}" for number in range(len(asked))]
    found = varied(body)
    by_hand = [{"item": item, "amount": f"{float(ml)!r} ml"} for item, ml in expected]
    written = answer_to(request_of(by_hand, THINGS, ("EU", "US"), **more))
    base = answer_to({**body, "with": []})
    for row in (*found["lines"], *written["lines"]):
        row["read_as"] = ""  # 40.0 ml and 40 ml are read alike and shown as they are written.
    delta = found.pop("delta")
    assert found == written
    for change, before, after in zip(
        delta["allergens"], base["allergens"]["declarations"], found["allergens"]["declarations"], strict=True
    ):
        listed = {key for state in STATES for key in after[state]}
        for state in STATES:
            assert set(change["gained"][state]) == set(after[state]) - set(before[state])
            assert not set(change["lost"][state]) & listed
            gone = set(before[state]) - set(change["lost"][state]) - listed
            # Almond alone belongs to a group here: it is not called lost while nuts are listed, nor they while it is.
            assert gone <= {"nuts", "almond"} and (not gone or listed & {"nuts", "almond"})
        carried = {row["allergen"] for row in base["allergens"]["routes"] if row["equipment"] is not None}
        assert carried & {*before["contains"], *before["may_contain"]} <= {*after["contains"], *after["may_contain"]}


@SLOW
@given(lines, factors)
def test_one_factor_scales_alcohol_and_cost_and_leaves_strength_alone(
    drink: list[tuple[str, int]], factor: str
) -> None:
    sent = [{"item": item, "amount": f"{ml} ml"} for item, ml in drink]
    body = request_of(sent, THINGS)
    body["drink"]["modifiers"] = [{"id": "large", "name": "L", "scale": factor}]
    base, found = answer_to(body)["alcohol"], varied({**body, "with": ["large"]})["alcohol"]
    assert found["abv_percent"] == pytest.approx(base["abv_percent"], abs=0.011)
    # The figures are shown to 0.01, so that the product may be off by that times the factor.
    assert found["ethanol_ml"] == pytest.approx(base["ethanol_ml"] * float(factor), abs=0.006 * (1 + float(factor)))


ODD_NAMES = st.sampled_from((*KNOWN, *ODD, "nobody"))
odd_lines = st.lists(
    st.builds(
        lambda item, amount, role: {"item": item, "amount": amount, "role": role},
        ODD_NAMES,
        odd_amounts,
        st.sampled_from(("pour", "top", "rinse", "garnish", "consumable")),
    ),
    max_size=2,
)
odd_factors = st.sampled_from((1e-9, 0.333333333333, 0.5, 1, 2, "99.99", 100))


@st.composite
def odd_modifiers(draw: st.DrawFn, body: dict[str, Any]) -> list[dict[str, Any]]:
    """Modifiers of an odd drink; half of what they name is in it."""
    own = st.sampled_from(tuple(line["item"] for line in body["drink"]["lines"]))
    named = st.one_of(own, own, ODD_NAMES)
    scaled = st.one_of(
        st.builds(lambda item, factor: {"item": item, "factor": factor}, named, odd_factors),
        st.builds(lambda role, factor: {"role": role, "factor": factor}, st.sampled_from(("pour", "top")), odd_factors),
    )
    replaced = st.builds(
        lambda item, other, amount: {"item": item, "with": other, **({} if amount is None else {"amount": amount})},
        named, ODD_NAMES, st.one_of(st.none(), odd_amounts),
    )  # fmt: skip
    made = st.fixed_dictionaries(
        {},
        optional={
            "remove": st.lists(named, max_size=2),
            "replace": st.lists(replaced, max_size=2),
            "scale": st.one_of(odd_factors, st.lists(scaled, max_size=2)),
            "add": odd_lines,
            "price_delta": st.sampled_from(("-1000000000000", "-1.50", "0", "0.001", "2.00")),
        },
    )
    rows = draw(st.lists(made, min_size=1, max_size=3))
    return [{"id": f"m{number}", "name": "M", **row} for number, row in enumerate(rows)]


def stands_in(body: Any, pointer: str) -> bool:
    """Whether a pointer leads to something that was sent, or to a field that could stand beside it."""
    here = body
    steps = pointer.split("/")[1:]
    for place, step in enumerate(steps):
        if isinstance(here, list):
            if not step.isdigit() or int(step) >= len(here):
                return False
            here = here[int(step)]
        elif isinstance(here, dict):
            if step not in here:
                return place == len(steps) - 1
            here = here[step]
        else:
            return False
    return True


@EXAMPLES
@given(odd_requests(), st.data())
def test_whatever_is_asked_for_is_answered_or_refused_at_a_place_of_the_request(
    body: dict[str, Any], data: st.DataObject
) -> None:
    body["drink"]["modifiers"] = data.draw(odd_modifiers(body))
    body["with"] = data.draw(
        st.lists(st.sampled_from([row["id"] for row in body["drink"]["modifiers"]]), min_size=1, max_size=3)
    )
    body["pricing"]["menu_price"] = data.draw(st.sampled_from(("0", "3.00", "13.00")))
    try:
        found = varied(body)
    except (InputFault, InputFaults) as refused:
        rows = refused.faults if isinstance(refused, InputFaults) else [refused]
        for fault in rows:
            assert isinstance(fault, InputFault)
            assert fault.pointer and stands_in(body, fault.pointer), (fault.code, fault.pointer)
        return
    Answer.model_validate_json(json.dumps(found, allow_nan=False))
