"""The recipe of a house-made part as the sheet prints it: lines, steps and yield as the bar wrote them."""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from service.renderers.phrases import ENGLISH, Phrases
from service.renderers.reading import days_of, plain

Body = Mapping[str, Any]


class RecipeLine(NamedTuple):
    """One line: what, how much, and that only its taste stays."""

    name: str
    amount: str
    note: str = ""


class Recipe(NamedTuple):
    """One part, in the words of whoever wrote it."""

    name: str
    lines: Sequence[RecipeLine]
    steps: Sequence[str]
    pairs: Sequence[tuple[str, str]]


def recipe_of(body: Body, names: Mapping[str, str], words: Phrases = ENGLISH) -> Recipe:
    """The recipe of a preparation as it was sent; ``names`` by id, an id that has none stands as words."""

    def named(item: str) -> str:
        return names.get(item, plain(item.replace("-", " ")))

    lines = []
    for line in body["lines"]:
        others = "".join(f" {words['or']} {named(other)}" for other in line.get("alternatives") or ())
        note = words["strained_out"] if line.get("strained_out") else ""
        lines.append(RecipeLine(named(line["item"]) + others, written(line["amount"]), note))
    steps = [words.foreign(plain(step["kind"])) for step in body.get("steps") or ()]
    pairs = [(words["yield"], _yield(body, named, words))]
    if body.get("storage") is not None:
        pairs.append((words["storage"], words[f"storage_{body['storage']}"]))
    if body.get("shelf_life_days") is not None:
        pairs.append((words["recipe_keeps"], days_of(int(body["shelf_life_days"]), words)))
    return Recipe(body["name"], lines, steps, pairs)


def written(amount: Any) -> str:
    """An amount as it was written: a text, or a figure with its unit."""
    if isinstance(amount, Mapping):
        return f"{amount['value']} {amount['unit']}"
    return str(amount)


def _yield(body: Body, named: Any, words: Phrases) -> str:
    found = body.get("yield") or {}
    outputs = body.get("outputs") or found.get("outputs")
    if outputs:
        return "; ".join(f"{named(row['id'])}: {written(row['amount'])}" for row in outputs)
    if found.get("amount") is not None:
        return written(found["amount"])
    if found.get("loss_percent") is not None:
        return words["recipe_loss"].format(percent=words.number(found["loss_percent"]))
    return words["recipe_whole"]
