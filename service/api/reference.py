"""GET /v1/reference/...: the embedded items, the measures, the jurisdictions and their dated rules."""

from collections.abc import Mapping
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from msgspec import Struct

from schemas.reference import (
    FactRow,
    ItemDetail,
    ItemPage,
    ItemsQuery,
    ItemSummary,
    JurisdictionDetail,
    JurisdictionRow,
    Jurisdictions,
    JurisdictionsQuery,
    MeasureRow,
    Measures,
)
from service.amounts import Measures as HouseMeasures
from service.api.documentation import NOT_FOUND, QUERY_REFUSALS
from service.api.paging import next_link, page
from service.api.parameters import each_once
from service.api.problems import NOT_FOUND as NO_SUCH
from service.api.problems import Problem
from service.errors import InputFault
from service.evaluate import reference_substance
from service.item import Item
from service.jurisdiction import KEYED, SINGLE
from service.report.figures import shown
from service.ruleentry import stated_fields
from service.rules import Jurisdiction, Rules, rules
from service.units import TABLE

router = APIRouter(
    prefix="/v1/reference", tags=["reference"], dependencies=[Depends(each_once(ItemsQuery, JurisdictionsQuery))]
)


@router.get("/items", operation_id="list_items", summary="Search the embedded items", responses=QUERY_REFUSALS)
async def list_items(request: Request, response: Response, query: Annotated[ItemsQuery, Query()]) -> ItemPage:
    """Generic items by text, kind and allergen, in the order of their ids."""
    found = request.app.state.reference.search(query.text or "", query.kind, query.allergen)
    rows, token = page(found, query.page_size, query.page_token)
    response.headers.update(next_link(request, token))
    summaries = [ItemSummary(id=row.id, name=row.name, kind=row.kind, abv_percent=row.abv_percent) for row in rows]
    return ItemPage(items=summaries, next_page_token=token)


@router.get("/items/{item_id}", operation_id="read_item", summary="One embedded item", responses=NOT_FOUND)
async def read_item(
    request: Request, item_id: Annotated[str, Path(description="Id as `/v1/reference/items` lists it.")]
) -> ItemDetail:
    """Every value of one item with its source, standing and dates."""
    item = request.app.state.reference.items.get(item_id)
    if item is None:
        raise Problem(*NO_SUCH)
    return detail_of(item)


def detail_of(item: Item) -> ItemDetail:
    """An item as the contract shows it."""
    origin = item.animal_origin
    squeezed = item.squeezed_from
    return ItemDetail(
        id=item.id,
        name=item.name,
        kind=item.kind,
        aliases=list(item.aliases),
        abv_percent=item.abv_percent,
        density_g_per_ml=item.density_g_per_ml,
        density_model_g_per_ml=shown(reference_substance(item).density_g_per_ml, 5),
        bulk_g_per_ml=item.bulk_g_per_ml,
        per_100=[
            {"basis": row.basis, **row.amounts, "acids_g": _plain(row.acids_g), "polyols_g": _plain(row.polyols_g)}
            for row in item.per_100
        ],
        process=list(item.process),
        allergens={key: {"state": entry.state, "process": entry.process} for key, entry in item.allergens.items()},
        allergens_declared=item.allergens_declared,
        animal_origin="unknown" if origin is None else list(origin) or "none",
        each_g=item.each_g,
        pieces={name: {"g": piece.g, "share": piece.share} for name, piece in item.pieces.items()},
        squeezed_from=None if squeezed is None else {"item": squeezed.item, "ml_each": squeezed.ml_each},
        open_life_days=item.open_life_days,
        bottle_residue_ml=item.bottle_residue_ml,
        facts=[
            FactRow(
                fields=list(fact.fields), source=fact.source, standing=fact.standing,
                since=fact.since, checked=fact.checked, note=fact.note,
            )
            for fact in item.facts
        ],
    )  # fmt: skip


@router.get("/measures", operation_id="list_measures", summary="Every measure an amount may be written in")
async def list_measures() -> Measures:
    """Units with their exact factors, what follows the house's ounce, and what is refused as ambiguous."""
    house = HouseMeasures()
    defaults = {"dash": house.dash_ml, "drop": house.drop_ml, "barspoon": house.barspoon_ml}
    return Measures(
        measures=[
            MeasureRow(
                name=unit.name, dimension=unit.dimension,
                ml=format(unit.factor, "f") if unit.dimension == "volume" else None,
                g=format(unit.factor, "f") if unit.dimension == "mass" else None,
                system=unit.system, words=list(unit.words), status=unit.status, source=unit.source,
                standing=unit.standing, since=unit.since.isoformat(), checked=unit.checked.isoformat(),
            )
            for unit in TABLE.units.values()
        ],
        by_ounce=[
            {"word": word, **{ounce: format(unit.factor, "f") for ounce, unit in bare.by_ounce.items()}}
            for word, bare in TABLE.bare.items()
        ],
        house={word: format(defaults[name], "f") for word, name in TABLE.house.items()},
        refused={word: list(allowed) for word, allowed in TABLE.ambiguous.items()},
    )  # fmt: skip


@router.get(
    "/jurisdictions",
    operation_id="list_jurisdictions",
    summary="Every code a request may name",
    responses=QUERY_REFUSALS,
)
async def list_jurisdictions(query: Annotated[JurisdictionsQuery, Query()]) -> Jurisdictions:
    """EU and ISO 3166 codes with their standard drink as it is in force on a day, today unless given."""
    day = query.as_of or datetime.now(UTC).date()
    rows = []
    for place in rules().jurisdictions.values():
        current = _rules_on(place, day)
        drink = current.standard_drink
        text = None
        if drink is not None:
            grams = (
                f"{drink.grams:f} g" if drink.grams is not None else f"{drink.grams_low:f} to {drink.grams_high:f} g"
            )
            text = f"{drink.noun}, {grams}"
        rows.append(
            JurisdictionRow(
                code=place.code,
                name=place.name,
                extends=_code(place.extends),
                rules_held=current.rules_held,
                standard_drink=text,
            )
        )
    return Jurisdictions(jurisdictions=rows)


@router.get(
    "/jurisdictions/{code}",
    operation_id="read_jurisdiction",
    summary="One jurisdiction's dated rules",
    responses=NOT_FOUND,
)
async def read_jurisdiction(
    code: Annotated[str, Path(description="`EU` or an ISO 3166 code in capitals.")],
) -> JurisdictionDetail:
    """Every rule with its source, standing, dates and status; a proposal is shown and never applied."""
    place = rules().jurisdictions.get(code)
    if place is None:
        raise Problem(*NO_SUCH)
    found = {kind: [_plain(entry) for entry in place.dated(kind)] for kind in (*SINGLE, *KEYED)}
    return JurisdictionDetail(
        code=place.code,
        name=place.name,
        extends=_code(place.extends),
        fallback=_code(place.fallback),
        rules={kind: rows for kind, rows in found.items() if rows},
        note="Not legal advice: local codes and licensed practice decide.",
    )


def _rules_on(place: Jurisdiction, day: date) -> Rules:
    try:
        return place.on(day)
    except InputFault as fault:
        raise fault.at("/as_of") from None


def _code(place: Jurisdiction | None) -> str | None:
    return None if place is None else place.code


def _plain(value: Any) -> Any:
    """Frozen values as JSON has them: records as objects, decimals as numbers, days as text, sets in order."""
    if isinstance(value, Struct):
        value = {name: getattr(value, name) for name in stated_fields(type(value))}
    elif hasattr(value, "_asdict"):
        value = value._asdict()
    if isinstance(value, Mapping):
        return {key: _plain(one) for key, one in value.items()}
    if isinstance(value, tuple | list | frozenset):
        found = [_plain(one) for one in value]
        return sorted(found) if isinstance(value, frozenset) else found
    if isinstance(value, Decimal):
        return float(value)
    return value.isoformat() if isinstance(value, date) else value
