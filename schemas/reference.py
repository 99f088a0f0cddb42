"""GET /v1/reference/...: parameters and answers."""

import re
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, WithJsonSchema
from pydantic_core import PydanticCustomError

from schemas._base import Output, Query
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


class ItemsQuery(Query):
    """What to search the embedded reference for; every condition that is given has to hold."""

    text: Text | None = None
    """Words that each begin a word of the id, name or an alias."""
    kind: Kind | None = None
    """Items of this kind alone."""
    allergen: AllergenKey | None = None
    """Items that contain it, may contain it, or of which it is not known."""
    page_size: PageSize = 50
    """1 to 100."""
    page_token: Annotated[str, Field(min_length=1, max_length=200)] | None = None
    """`next_page_token` of the page before; the first page without it."""


class ItemSummary(Output):
    """One item of a list."""

    id: str
    """What lines may name."""
    name: str
    """Generic: no brand."""
    kind: str
    """One of the kinds of an ingredient."""
    abv_percent: float | None
    """% vol at 20 C; null where unknown."""


class ItemPage(Output):
    """One page of items in the order of their ids."""

    items: list[ItemSummary]
    """At most `page_size` of them."""
    next_page_token: str | None
    """For the page after this; null on the last one."""


class FactRow(Output):
    """Where some of an item's values come from."""

    fields: list[str]
    """Which fields of the item it is for."""
    source: str
    """Document, table or row; `house` for a convention of this service."""
    standing: Literal["confirmed", "secondary", "memory"]
    """`confirmed` at the source, `secondary` in a copy of it, or from `memory` and never looked up."""
    since: str
    """Day from which it holds, YYYY-MM-DD."""
    checked: str
    """Day somebody last looked at it, YYYY-MM-DD."""
    note: str
    """What to know before relying on it; empty where there is nothing."""


class ItemDetail(Output):
    """One item with every value it holds and the source of each; null or a missing key is unknown."""

    id: str
    """What lines may name."""
    name: str
    """Generic: no brand."""
    kind: str
    """One of the kinds of an ingredient."""
    aliases: list[str]
    """Other words that find it in a search."""
    abv_percent: float | None
    """% vol at 20 C; null where unknown."""
    density_g_per_ml: float | None
    """As the source states it, at 20 C; null where it states none."""
    density_model_g_per_ml: float | None
    """Density that the service works with: the stated one, or the one that strength and composition give."""
    bulk_g_per_ml: float | None
    """Of a solid as a cup holds it; null where unknown."""
    per_100: list[dict[str, Any]]
    """Composition, one object for each basis, with the keys of an ingredient's `per_100`; a missing key is unknown."""
    process: list[str]
    """What an exemption from an allergen declaration may rest on."""
    allergens: dict[str, Any]
    """State and own process by allergen."""
    allergens_declared: Literal["complete", "partial"]
    """`complete`: what is not listed is absent. `partial`: what is not listed is unknown."""
    animal_origin: list[str] | Literal["none", "unknown"]
    """`none`, `unknown`, or what animals it comes from."""
    each_g: float | None
    """Mass of one whole item; null where it is not counted."""
    pieces: dict[str, Any]
    """Named pieces by mass or as a share of one whole item."""
    squeezed_from: dict[str, Any] | None
    """The fruit of a juice with the millilitres one gives; null for any other item."""
    open_life_days: int | None
    """How long it keeps once opened; null where unknown."""
    bottle_residue_ml: float
    """What stays in each bottle and is never poured."""
    facts: list[FactRow]
    """Every value of the item has one."""


class MeasureRow(Output):
    """One measure: its exact size and the words that read it."""

    name: str
    """Key of the unit."""
    dimension: Literal["volume", "mass"]
    """What it measures."""
    ml: str | None
    """Millilitres of one, exact decimal text; null for a mass."""
    g: str | None
    """Grams of one, exact decimal text; null for a volume."""
    system: str
    """Where it is at home: us, imperial, metric or another."""
    words: list[str]
    """Every spelling that reads as it, in small letters."""
    status: str
    """Whether the size is exact by definition or a custom of the trade."""
    source: str
    """What fixes the size."""
    standing: str
    """How far that was checked: confirmed, secondary or memory."""
    since: str
    """Day from which the size holds, YYYY-MM-DD."""
    checked: str
    """Day somebody last looked at it, YYYY-MM-DD."""


class Measures(Output):
    """Every measure that an amount may be written in, and what a house sets itself."""

    measures: list[MeasureRow]
    """Those whose word alone gives their size."""
    by_ounce: list[dict[str, Any]]
    """Words that follow the house's ounce: us, imperial or metric."""
    house: dict[str, str]
    """Words a house sets in ml, with their defaults."""
    refused: dict[str, list[str]]
    """Words that are refused as ambiguous, with what to write instead."""


class JurisdictionsQuery(Query):
    """The day on which the list is asked for."""

    as_of: Day | None = None
    """The day whose rules are shown; today (UTC) unless given."""


class JurisdictionRow(Output):
    """One jurisdiction of a list."""

    code: str
    """`EU` or an ISO 3166 code."""
    name: str
    """In English."""
    extends: str | None
    """Code of the one whose rules hold here too; null where there is none."""
    rules_held: bool
    """Whether allergen rules of its own or of what it extends are held."""
    standard_drink: str | None
    """What one is called and the grams of ethanol in it; null where none is held on that day."""


class Jurisdictions(Output):
    """Every code that a request may name."""

    jurisdictions: list[JurisdictionRow]
    """The same for every day; what is shown of each is as of the day."""


class JurisdictionDetail(Output):
    """Every dated rule of one jurisdiction, past, future and proposed, with its source and standing."""

    code: str
    """`EU` or an ISO 3166 code."""
    name: str
    """In English."""
    extends: str | None
    """Code of the one whose rules hold here too; null where there is none."""
    fallback: str | None
    """Code of the one whose allergen list is shown where this one has none; null where none is needed."""
    rules: dict[str, list[dict[str, Any]]]
    """By kind of rule, each entry with its dates, source, standing and status."""
    note: str
    """How far to rely on it."""
