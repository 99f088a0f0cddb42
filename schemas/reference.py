"""GET /v1/reference/...: parameters and answers."""

import re
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from schemas._base import Input, Output
from schemas.ingredient import AllergenKey, Kind
from schemas.scalars import Day, Text

_DIGITS = re.compile(r"[0-9]{1,9}\Z", re.ASCII)


def _page_size(value: Any) -> int:
    """A whole number in plain digits; ``1_0`` and ``+5`` are refused."""
    if isinstance(value, int) and not isinstance(value, bool):
        return value
    if isinstance(value, str) and _DIGITS.match(value):
        return int(value)
    raise PydanticCustomError("whole_number", "Expected a whole number in plain digits.")


PageSize = Annotated[
    int,
    BeforeValidator(_page_size),
    Field(ge=1, le=100),
    WithJsonSchema({"type": "integer", "minimum": 1, "maximum": 100}),
]
"""How many entries one page has at most."""


class ItemsQuery(Input):
    """What to search the embedded reference for; every condition that is given has to hold."""

    text: Text | None = None
    """Words that each begin a word of the id, name or an alias."""
    kind: Kind | None = None
    allergen: AllergenKey | None = None
    """Items that contain it, may contain it, or of which it is not known."""
    page_size: PageSize = 50
    page_token: Annotated[str, Field(min_length=1, max_length=200)] | None = None


class ItemSummary(Output):
    """One item of a list."""

    id: str
    name: str
    kind: str
    abv_percent: float | None


class ItemPage(Output):
    """One page of items in the order of their ids."""

    items: list[ItemSummary]
    next_page_token: str | None


class FactRow(Output):
    """Where some of an item's values come from."""

    fields: list[str]
    source: str
    standing: Literal["confirmed", "secondary", "memory"]
    since: str
    checked: str
    note: str


class ItemDetail(Output):
    """One item with every value it holds and the source of each; null or a missing key is unknown."""

    id: str
    name: str
    kind: str
    aliases: list[str]
    abv_percent: float | None
    density_g_per_ml: float | None
    density_model_g_per_ml: float | None
    """Density that the service works with: the stated one, or the one that strength and composition give."""
    bulk_g_per_ml: float | None
    per_100: list[dict[str, Any]]
    process: list[str]
    allergens: dict[str, Any]
    allergens_declared: Literal["complete", "partial"]
    animal_origin: list[str] | Literal["none", "unknown"]
    each_g: float | None
    pieces: dict[str, Any]
    squeezed_from: dict[str, Any] | None
    open_life_days: int | None
    bottle_residue_ml: float
    facts: list[FactRow]


class MeasureRow(Output):
    """One measure: its exact size and the words that read it."""

    name: str
    dimension: Literal["volume", "mass"]
    ml: str | None
    g: str | None
    system: str
    words: list[str]
    status: str
    source: str
    standing: str
    since: str
    checked: str


class Measures(Output):
    """Every measure that an amount may be written in, and what a house sets itself."""

    measures: list[MeasureRow]
    by_ounce: list[dict[str, Any]]
    """Words that follow the house's ounce: us, imperial or metric."""
    house: dict[str, str]
    """Words a house sets in ml, with their defaults."""
    refused: dict[str, list[str]]
    """Words that are refused as ambiguous, with what to write instead."""


class JurisdictionsQuery(Input):
    """The day on which the list is asked for."""

    as_of: Day | None = None
    """The day whose rules are shown; today (UTC) unless given."""


class JurisdictionRow(Output):
    """One jurisdiction of a list."""

    code: str
    name: str
    extends: str | None
    rules_held: bool
    """Whether allergen rules of its own or of what it extends are held."""
    standard_drink: str | None


class Jurisdictions(Output):
    """Every code that a request may name."""

    jurisdictions: list[JurisdictionRow]


class JurisdictionDetail(Output):
    """Every dated rule of one jurisdiction, past, future and proposed, with its source and standing."""

    code: str
    name: str
    extends: str | None
    fallback: str | None
    rules: dict[str, list[dict[str, Any]]]
    note: str
