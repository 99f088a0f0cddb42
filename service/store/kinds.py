"""The kinds of things that are kept: the model of each, and which other things a body names."""

import json
import re
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Final

from schemas._base import Input
from schemas.catalogue import Menu, StoredDrink, StoredIngredient, StoredOffer, StoredPreparation, Supplier, Venue

Body = Mapping[str, Any]
Use = tuple[str, str, str]
"""Kind, id and place of what a body names; ``item`` is any of ingredient, preparation, product or embedded item."""

_ID: Final = re.compile(r"[a-z0-9][a-z0-9-]{0,63}\Z", re.ASCII)

GROUP: Final = "group"
"""The venue that holds the defaults of all."""


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind: ``name`` as in addresses, ``one`` for readers, the model of its bodies and what they name.

    ``labelled``: whether a change of it can move a label.
    """

    name: str
    one: str
    model: type[Input]
    uses: Callable[[Body], Iterator[Use]]
    labelled: bool
    unique_name: bool = True


def _lines(lines: Any, pointer: str) -> Iterator[Use]:
    for number, line in enumerate(lines):
        yield "item", line["item"], f"{pointer}/{number}/item"
        for place, other in enumerate(line.get("alternatives", ())):
            yield "item", other, f"{pointer}/{number}/alternatives/{place}"


def _preparation(body: Body) -> Iterator[Use]:
    yield from _lines(body["lines"], "/lines")


def _drink(body: Body) -> Iterator[Use]:
    yield from _lines(body["lines"], "/lines")
    for number, modifier in enumerate(body.get("modifiers", ())):
        where = f"/modifiers/{number}"
        yield from _lines(modifier.get("add", ()), f"{where}/add")
        for place, row in enumerate(modifier.get("replace", ())):
            yield "item", row["with"], f"{where}/replace/{place}/with"


def _offer(body: Body) -> Iterator[Use]:
    yield "item", body["item"], "/item"
    yield "suppliers", body["supplier"], "/supplier"
    if body.get("venue") is not None:
        yield "venues", body["venue"], "/venue"


def _menu(body: Body) -> Iterator[Use]:
    if body.get("venue") is not None:
        yield "venues", body["venue"], "/venue"
    for number, entry in enumerate(body.get("entries", ())):
        yield "drinks", entry["drink"], f"/entries/{number}/drink"


def _venue(body: Body) -> Iterator[Use]:
    choose = (body.get("pricing") or {}).get("choose")
    if isinstance(choose, dict):
        for item, offer in choose.items():
            yield "offers", offer, f"/pricing/choose/{item}"


def _nothing(_: Body) -> Iterator[Use]:
    return iter(())


KINDS: Final[Mapping[str, Kind]] = {
    kind.name: kind
    for kind in (
        Kind("ingredients", "ingredient", StoredIngredient, _nothing, labelled=True),
        Kind("preparations", "preparation", StoredPreparation, _preparation, labelled=True),
        Kind("drinks", "drink", StoredDrink, _drink, labelled=True),
        Kind("suppliers", "supplier", Supplier, _nothing, labelled=False),
        Kind("offers", "offer", StoredOffer, _offer, labelled=False, unique_name=False),
        Kind("menus", "menu", Menu, _menu, labelled=True),
        Kind("venues", "venue", Venue, _venue, labelled=True),
    )
}


def label_view(kind: str, body: Body) -> Body:
    """What of a body can move a label or is shown to keys without ``costs:read``: everything but money."""
    if kind == "venues":
        return {key: value for key, value in body.items() if key != "pricing"}
    if kind == "menus" and not body.get("prices_public"):
        entries = [{key: value for key, value in row.items() if key != "menu_price"} for row in body.get("entries", ())]
        return {**body, "entries": entries}
    if kind == "drinks" and body.get("modifiers"):
        rows = [{key: value for key, value in row.items() if key != "price_delta"} for row in body["modifiers"]]
        return {**body, "modifiers": rows}
    return body


def is_id(text: str) -> bool:
    """Whether a text from an address can be an id; what cannot is not asked of the database, which may not hold it."""
    return _ID.match(text) is not None


def products_named(body: Body) -> list[str]:
    """Ids of the joint products that a preparation gives, each of which lines may name."""
    outputs = body.get("outputs") or (body.get("yield") or {}).get("outputs") or ()
    return [output["id"] for output in outputs]


def name_key(name: str) -> str:
    """A name as it is compared: NFC, case folded, NFC again, runs of spaces as one."""
    folded = unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())
    return " ".join(folded.split())


def normalised(value: Any) -> Any:
    """A JSON value with all of its text in NFC."""
    if isinstance(value, str):
        return value if value.isascii() else unicodedata.normalize("NFC", value)
    if isinstance(value, dict):
        return {key: normalised(held) for key, held in value.items()}
    if isinstance(value, list):
        return [normalised(held) for held in value]
    return value


_ENCODER: Final = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":"))


def text_of(body: Body) -> str:
    """A body as the one text it is kept, compared and hashed by."""
    return _ENCODER.encode(body)


def price_of(body: Body) -> tuple[Decimal, str] | None:
    """What an offer asks for its pack."""
    price = body.get("price")
    return None if price is None else (Decimal(price["amount"]), price["currency"])
