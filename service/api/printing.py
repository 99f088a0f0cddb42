"""What goes into print: label and evaluation of a stored drink, and a menu with its allergens, by Accept.

Each representation is made from the one answer and kept like it. What a key may not see is not in the answer, so that
it is in no representation and moves no tag.
"""

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Annotated, Any, Final

from fastapi import APIRouter, Depends, Path, Query, Request, Response
from msgspec.structs import replace
from pydantic_core import to_json

from schemas.catalogue import Menu, MenuEntry, StoredDrink
from schemas.evaluation import Section
from schemas.questions import MenuQuery, PrintQuery
from service.api.answers import DrinkId, asked_of, stamped, told
from service.api.documentation import NOT_ACCEPTABLE, NOT_FOUND, QUERY_REFUSALS, answered_with, printed
from service.api.kept import KeptRoute
from service.api.languages import wording_of
from service.api.negotiation import (
    CSV,
    HTML,
    JSON,
    MENU_OFFERED,
    chosen,
    compared_text_of,
    headers_with,
    menu_text_of,
    text_of,
)
from service.api.parameters import each_once
from service.api.problems import Fault, of_faults, of_input, of_row
from service.api.stored_question import (
    COST,
    LABEL,
    NO_MENU,
    Asked,
    answered,
    currency_at,
    is_priced_in,
    settings_of,
    venue_of,
)  # fmt: skip
from service.errors import InputFault, InputFaults, NotFound
from service.report.wording import Wording
from service.store.snapshot import Snapshot
from service.venue import on_menu

router = APIRouter(tags=["answers"], dependencies=[Depends(each_once(PrintQuery, MenuQuery))], route_class=KeptRoute)

VARY: Final = {"Vary": "Accept, Accept-Language, Authorization"}
_WANTED: Final = (
    "delta",
    "serve",
    "alcohol",
    "nutrition",
    "allergens",
    "duties",
    "pack",
    "advisories",
    "use_by",
    "warnings",
)

Json = dict[str, Any]


def printed_text(
    media_type: str,
    answer: Mapping[str, Any],
    spec: Mapping[str, Any] | None,
    wording: Wording,
    *,
    query: PrintQuery | None = None,
    bodies: Mapping[str, Mapping[str, Any]] | None = None,
    names: Mapping[str, str] | None = None,
) -> str:
    """One answer in a printed type and the language asked for.

    ``bodies`` are the preparations by id, as they were written, and ``names`` those of the items in them.
    """
    from service.renderers.phrases import Phrases  # a service that answers JSON alone needs no renderer

    words = Phrases(wording.language)
    more: Json = {"phrases": words}
    if media_type == HTML:
        from service.renderers.batches import batch_of  # as above
        from service.renderers.recipes import recipe_of  # as above

        known = {**(names or {}), **{row["item"]: row["name"] for row in answer["lines"]}}
        known |= {row["id"]: row["name"] for row in answer["preparations"]}
        held = bodies or {}
        more["recipes"] = [
            recipe_of(held[row["id"]], known, words) for row in answer["preparations"] if row["id"] in held
        ]
        if query is not None and query.serves is not None:
            more["batch"] = batch_of(answer, query.serves, words)
    if media_type in (HTML, CSV):
        more["regimes"] = _regimes([answer], words)
    return text_of(media_type, answer, spec, language=words.code, **more)


def compared_text(media_type: str, answer: Mapping[str, Any], wording: Wording) -> str:
    """Drinks side by side in a printed type and the language asked for."""
    from service.renderers.phrases import Phrases  # as above
    from service.renderers.regime import allergen_names  # as above

    words, day = Phrases(wording.language), date.fromisoformat(answer["meta"]["as_of"])
    codes = dict.fromkeys(row["jurisdiction"] for drink in answer["drinks"] for row in drink["allergens"])
    regimes = {code: allergen_names(code, day, words) for code in codes}
    return compared_text_of(media_type, answer, words=words, regimes=regimes)


def _regimes(answers: Sequence[Mapping[str, Any]], words: Any) -> dict[str, Mapping[str, str]]:
    """The words for allergens of every jurisdiction in some answers."""
    from service.renderers.regime import allergen_names  # as above

    rows = [
        (row["jurisdiction"], date.fromisoformat(answer["meta"]["as_of"]))
        for answer in answers
        for row in (answer.get("allergens") or {"declarations": ()})["declarations"]
    ]
    return {code: allergen_names(code, day, words) for code, day in dict.fromkeys(rows)}


def _drink(
    request: Request, query: PrintQuery, drink: str, sections: tuple[Section, ...], media_type: str
) -> Callable[[Snapshot, date], bytes]:
    def make(snapshot: Snapshot, day: date) -> bytes:
        asked = replace(asked_of(request, query, drink, day, sections, snapshot), pack=query.pack())
        wording = wording_of(request)
        try:
            body = stamped(answered(request, snapshot, asked, wording), snapshot, request.state.principal, asked)
        except (InputFault, InputFaults) as fault:
            raise of_input(fault) from None
        if media_type == JSON:
            return to_json(body)
        rows = (row["id"] for row in body["preparations"])
        held = {one: snapshot.body("preparations", one) for one in rows if snapshot.held("preparations", one)}
        names = {line["item"]: _name(request, snapshot, line["item"]) for row in held.values() for line in row["lines"]}
        spec = snapshot.body("drinks", drink)
        return printed_text(media_type, body, spec, wording, query=query, bodies=held, names=names).encode()

    return make


def _name(request: Request, snapshot: Snapshot, item: str) -> str:
    """The name of a thing that a line names; its id where it is a product of a part."""
    for kind in ("ingredients", "preparations"):
        if snapshot.held(kind, item) is not None:
            return str(snapshot.body(kind, item)["name"])
    known = request.app.state.reference.items.get(item)
    return item.replace("-", " ") if known is None else str(known.name)


async def _sent(
    request: Request,
    query: PrintQuery | MenuQuery,
    make: Callable[[Snapshot, date], bytes],
    media_type: str,
    *,
    apart: bool = False,
    drinks: Callable[[Snapshot, date], int] | None = None,
) -> Response:
    headers, kind = headers_with(media_type)
    said = {**headers, **VARY}
    return await told(request, query, make, media_type=kind, headers=said, apart=apart, drinks=drinks)


_ANSWERS: Final = {
    200: printed(answered_with("Answer", "The sections asked for.")),
    **NOT_FOUND,
    **NOT_ACCEPTABLE,
    **QUERY_REFUSALS,
}


@router.get(
    "/v1/drinks/{drink_id}/label", operation_id="read_drink_label", summary="What a guest may read of a stored drink",
    response_model=None, responses=_ANSWERS,
)  # fmt: skip
async def read_drink_label(request: Request, drink_id: DrinkId, query: Annotated[PrintQuery, Query()]) -> Response:
    """Strength, standard drinks, nutrition and allergens; nothing of what it costs.

    By Accept it comes as JSON, as linked data of a menu item, as the spec sheet without cost (HTML), as a label panel
    (SVG) or as one row of a table (CSV).
    """
    media_type = chosen(request.headers.getlist("accept"))
    make = _drink(request, query, drink_id, LABEL, media_type)
    return await _sent(request, query, make, media_type)


@router.get(
    "/v1/drinks/{drink_id}/evaluation", operation_id="read_drink_evaluation", summary="All that a key sees of a drink",
    response_model=None, responses=_ANSWERS,
)  # fmt: skip
async def read_drink_evaluation(request: Request, drink_id: DrinkId, query: Annotated[PrintQuery, Query()]) -> Response:
    """The whole answer, without cost and price for keys without `costs:read`; by Accept as the label is."""
    media_type = chosen(request.headers.getlist("accept"))
    costs = request.state.principal.sees_costs
    make = _drink(request, query, drink_id, (*COST, *LABEL) if costs else LABEL, media_type)
    return await _sent(request, query, make, media_type)


MenuId = Annotated[str, Path(description="A stored menu's id.")]


@router.get(
    "/v1/menus/{menu_id}/label", operation_id="read_menu_label", summary="What guests may read of a stored menu",
    response_model=None,
    responses={200: printed(answered_with("MenuLabel", "Its lines in their order."), MENU_OFFERED), **NOT_FOUND,
               **NOT_ACCEPTABLE, **QUERY_REFUSALS},
)  # fmt: skip
async def read_menu_label(request: Request, menu_id: MenuId, query: Annotated[MenuQuery, Query()]) -> Response:
    """The lines of a day with strength, standard drinks and allergens, in the words of one jurisdiction.

    By Accept it comes as JSON, as linked data of a menu, as a page with a matrix of allergens (HTML) or as a table
    (CSV). A line that cannot be answered is told in its row of the JSON and refuses the other types, since a menu that
    leaves a drink out in silence says nothing of its allergens. Menu prices are in it where the key sees prices or the
    menu says that they are public.
    """
    media_type = chosen(request.headers.getlist("accept"), MENU_OFFERED)
    make = _menu(request, query, menu_id, media_type)
    # The tag is made of what is shown, and moves with that alone.
    return await _sent(request, query, make, media_type, apart=True, drinks=_lines_of(menu_id))


def _lines_of(menu_id: str) -> Callable[[Snapshot, date], int]:
    """How many lines a menu has on a day; one where there is no such menu, which is told later."""

    def count(snapshot: Snapshot, day: date) -> int:
        if snapshot.held("menus", menu_id) is None:
            return 1
        return len(on_menu(snapshot.model("menus", menu_id), day))

    return count


def _menu(request: Request, query: MenuQuery, menu_id: str, media_type: str) -> Callable[[Snapshot, date], bytes]:
    def make(snapshot: Snapshot, day: date) -> bytes:
        principal = request.state.principal
        if snapshot.held("menus", menu_id) is None:
            raise NotFound(NO_MENU)
        menu: Menu = snapshot.model("menus", menu_id)
        venue = venue_of(principal, query.venue)
        if None not in (menu.venue, venue) and menu.venue != venue:
            raise NotFound(NO_MENU)
        venue = menu.venue or venue
        priced = (principal.sees_prices or menu.prices_public) and is_priced_in(snapshot, menu, venue)
        settings_of(snapshot, venue)
        currency = currency_at(snapshot, venue) if priced else None
        rows = []
        for _, entry in on_menu(menu, day):
            asked = Asked(
                entry.drink, venue, menu_id, entry.with_, None, query.jurisdiction or None, day, LABEL, query.bands
            )
            row: Json = {"drink": entry.drink, "with": list(entry.with_), "section": entry.section}
            if priced and entry.menu_price is not None:
                row |= {"menu_price": format(entry.menu_price, "f"), "currency": currency}
            try:
                row["answer"] = answered(request, snapshot, asked, wording_of(request))
            except (InputFault, InputFaults, NotFound) as fault:
                row["problem"] = of_row(fault).body()
            rows.append((entry, row))
        if media_type == JSON:
            meta = {"as_of": day.isoformat(), "data_version": snapshot.data_version}
            about = {"id": menu.id, "name": menu.name, "venue": menu.venue}
            return to_json({"menu": about, "drinks": [_told(row) for _, row in rows], "meta": meta})
        return _printed_menu(request, snapshot, menu, rows, media_type).encode()

    return make


def _told(row: Json) -> Json:
    """One line of a menu as JSON: of the answer what a label has."""
    body = row.pop("answer", None)
    if body is None:
        return row
    return row | {"name": body["drink"]["name"]} | {name: body[name] for name in _WANTED if name in body}


def _printed_menu(
    request: Request, snapshot: Snapshot, menu: Menu, rows: Sequence[tuple[MenuEntry, Json]], media_type: str
) -> str:
    """The menu in a printed type. Raises :class:`service.api.problems.Problem` 422 where a line has no answer."""
    from service.renderers.menu import MenuRow  # as above
    from service.renderers.phrases import Phrases  # as above
    from service.renderers.regime import columns_of  # as above

    faults = [
        Fault("", "drink_unanswered", f"{row['drink']}: {row['problem']['detail']}")
        for _, row in rows
        if "problem" in row
    ]
    if faults:
        raise of_faults(faults)
    answers = [row["answer"] for _, row in rows]
    words = Phrases(wording_of(request).language)
    regimes = _regimes(answers, words)
    if media_type == CSV:
        return menu_text_of(media_type, answers, language=words.code, phrases=words, regimes=regimes)
    lines = [
        MenuRow(entry.section, row.get("menu_price"), _changes(snapshot, entry), row.get("currency"))
        for entry, row in rows
    ]
    code = next(iter(regimes), None)
    more: Json = {"title": menu.name, "jurisdiction": code, "phrases": words}
    if media_type == HTML and code is not None:
        day = date.fromisoformat(answers[0]["meta"]["as_of"])
        more |= {"columns": columns_of(code, day, words), "allergen_names": regimes[code]}
    return menu_text_of(media_type, answers, lines, language=words.code, **more)


def _changes(snapshot: Snapshot, entry: MenuEntry) -> str | None:
    """The names of the modifiers that a line is sold with."""
    if not entry.with_:
        return None
    drink: StoredDrink = snapshot.model("drinks", entry.drink)
    names = {modifier.id: modifier.name for modifier in drink.modifiers}
    return ", ".join(names.get(one) or one for one in entry.with_)
