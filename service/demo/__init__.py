"""The demo: an invented harbour bar with its products, house-made parts, suppliers' offers, drinks and house settings.

People edit the TOML files of this folder; ``drinks/*.json`` are request bodies of POST /v1/evaluate that name the parts
and leave them to the catalogue; ``price_lists/`` holds a list of each supplier with the options by which it is read.
Nothing in it exists outside of it.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, NamedTuple, TypeVar

import tomli
from msgspec.structs import replace
from pydantic import ValidationError

from schemas.evaluation import EvaluationRequest
from schemas.ingredient import Ingredient
from schemas.offer import Offer
from schemas.preparation import Preparation
from schemas.pricing import House, Pricing
from service.errors import DataFault
from service.item import Item
from service.lookup import item_of

Model = TypeVar("Model", Ingredient, Preparation, Offer, House, Pricing)

FOLDER = Path(__file__).parent
"""Where the demo's data lies."""


class OldPrice(NamedTuple):
    """What an offer's pack cost from a day on."""

    offer: str
    day: date
    amount: str


@dataclass(frozen=True, slots=True)
class Demo:
    """The bar: what a catalogue of it holds, and its drinks as request bodies by id."""

    bar: str
    town: str
    ingredients: tuple[Ingredient, ...]
    items: Mapping[str, Item]
    preparations: Mapping[str, Preparation]
    offers: tuple[Offer, ...]
    drinks: Mapping[str, dict[str, Any]]
    house: House
    pricing: Pricing
    jurisdictions: tuple[str, ...]
    venues: tuple[dict[str, Any], ...]
    menus: tuple[dict[str, Any], ...]
    history: tuple[OldPrice, ...]
    history_until: date


@cache
def demo() -> Demo:
    """The demo of this service, read at the first call and kept."""
    return load_demo(FOLDER)


def load_demo(folder: Path) -> Demo:
    """The demo in ``folder``; whatever is malformed stops the start and names its file."""
    ingredients = tuple(_entry(Ingredient, row, "items.toml") for row in _rows(folder / "items.toml", "item"))
    preparations = tuple(
        _entry(Preparation, row, "preparations.toml") for row in _rows(folder / "preparations.toml", "preparation")
    )
    offers = tuple(_entry(Offer, row, "offers.toml") for row in _rows(folder / "offers.toml", "offer"))
    made_and_bought = [*(row.id for row in ingredients), *(row.id for row in preparations)]
    _check_once("items.toml and preparations.toml", made_and_bought)
    _check_once("offers.toml", [offer.id for offer in offers])
    history = _document(folder / "price_history.toml", ("until", "price"))
    settings = _document(folder / "house.toml", ("bar", "town", "jurisdictions", "pricing", "house"))
    return Demo(
        bar=settings["bar"],
        town=settings["town"],
        ingredients=ingredients,
        items=MappingProxyType({row.id: replace(item_of(row), origin="catalogue") for row in ingredients}),
        preparations=MappingProxyType({row.id: row for row in preparations}),
        offers=offers,
        drinks=MappingProxyType(dict(_drink(path) for path in sorted((folder / "drinks").glob("*.json")))),
        house=_entry(House, settings["house"], "house.toml"),
        pricing=_entry(Pricing, settings["pricing"], "house.toml"),
        jurisdictions=tuple(settings["jurisdictions"]),
        venues=tuple(_json(row) for row in _rows(folder / "venues.toml", "venue")),
        menus=tuple(_json(row) for row in _rows(folder / "menus.toml", "menu")),
        history=tuple(OldPrice(row["offer"], row["from"], row["amount"]) for row in history["price"]),
        history_until=history["until"],
    )


def _json(value: Any) -> Any:
    """A value of TOML as JSON has it: days as text."""
    if isinstance(value, dict):
        return {key: _json(held) for key, held in value.items()}
    if isinstance(value, list):
        return [_json(held) for held in value]
    return value.isoformat() if isinstance(value, date) else value


def _check_once(name: str, ids: Sequence[str]) -> None:
    if len(ids) != len(set(ids)):
        raise DataFault(f"{name}: two entries have the same id.")


def _document(path: Path, keys: tuple[str, ...]) -> dict[str, Any]:
    try:
        document = tomli.loads(path.read_text("utf-8"))
    except (OSError, UnicodeDecodeError, tomli.TOMLDecodeError) as fault:
        raise DataFault(f"{path.name}: not a TOML file ({fault}).") from fault
    if set(document) != set(keys):
        raise DataFault(f"{path.name}: expected the keys {', '.join(keys)} and no other.")
    return document


def _rows(path: Path, key: str) -> list[Any]:
    rows = _document(path, (key,))[key]
    if not isinstance(rows, list):
        raise DataFault(f"{path.name}: expected [[{key}]] tables.")
    return rows


def _entry(model: type[Model], row: Any, name: str) -> Model:
    try:
        return model.model_validate(row)
    except ValidationError as fault:
        which = row.get("id", "(without id)") if isinstance(row, dict) else "(not a table)"
        raise DataFault(f"{name}, {which}: {fault}") from fault


def _drink(path: Path) -> tuple[str, dict[str, Any]]:
    """The drink's id with its body, which has to be one that the schemas take and to bear the name of its file."""
    try:
        body: dict[str, Any] = json.loads(path.read_text("utf-8"))
        request = EvaluationRequest.model_validate(body)
    except (OSError, ValueError) as fault:
        raise DataFault(f"{path.name}: not a request body ({fault}).") from fault
    if request.drink.id != path.stem:
        raise DataFault(f"{path.name}: the drink's id is {request.drink.id}.")
    return request.drink.id, body
