"""The menu for guests as one HTML page: the lines of each drink, and a matrix of allergens that words alone explain.

The strength stands in the words that the jurisdiction's rules give a menu. What is not known says so in the line and in
the matrix, and the page defers to the staff.
"""

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from service.renderers.bands import band_of, band_text
from service.renderers.duties import WITH_CALORIES, add_ons_of, calories_of, duties_of, states_calories
from service.renderers.packs import net_quantity
from service.renderers.page import rendered
from service.renderers.phrases import ENGLISH, Phrases
from service.renderers.reading import Answer, Row, declaration_of, in_lang, item_names, row_of, state_in
from service.renderers.regime import Column, columns_with

STAFF = frozenset(
    {
        "bitter_principles", "calamus_us", "heated_alcohol", "house_limit_not_checked", "hydrocyanic_acid",
        "licence_distilling", "licence_fermenting", "liquorice_us", "liquorice_us_soft", "nitrous_oxide",
        "nitrous_oxide_gb", "poisonous_plants", "quinine_limit", "strong_spirit", "thujone", "time_and_temperature",
        "tonka_us",
    }
)  # fmt: skip
"""Cautions for those who make the drink, which stand on the spec sheet; any other one stands on the menu too."""

MEASURES = "pour_measure_"
"""Begins the cautions on legal measures, which are for those who pour."""


class MenuRow(NamedTuple):
    """What a menu says of a drink beyond its answer; the price is text as it is to be printed."""

    section: str | None = None
    price: str | None = None
    description: str | None = None
    currency: str | None = None


def menu_of(
    answers: Sequence[Answer],
    rows: Sequence[MenuRow] | None = None,
    *,
    title: str | None = None,
    jurisdiction: str | None = None,
    columns: Sequence[Column] = (),
    allergen_names: Mapping[str, str] | None = None,
    phrases: Phrases = ENGLISH,
    language: str = "en",
) -> str:
    """The page of one jurisdiction, which is the first of each answer unless given.

    ``rows`` go with ``answers`` one by one. ``columns`` are the allergens the jurisdiction lists; without them the
    matrix has those that any drink declares.
    """
    given = rows if rows is not None else [MenuRow()] * len(answers)
    code = jurisdiction or _first_code(answers)
    entries = [_entry(answer, row, jurisdiction, phrases) for answer, row in zip(answers, given, strict=True)]
    shown_columns = columns_with(columns, answers, jurisdiction, allergen_names or {})
    matrix = [_matrix_row(answer, shown_columns, jurisdiction, phrases) for answer in answers]
    return rendered(
        "menu.html",
        phrases,
        language=language,
        title=title or phrases["menu"],
        sections=_sections(entries),
        columns=shown_columns,
        matrix=matrix,
        states={cell["state"] for row in matrix for cell in row["cells"]},
        shared=list(
            dict.fromkeys(
                in_lang(row, "text", phrases) for answer in answers for row in answer["advisories"] if _is_shared(row)
            )
        ),
        code=code,
        statements=_statements(answers, code, phrases),
        duties=duties_of(answers, phrases, code),
        days=dict.fromkeys(answer["meta"]["as_of"] for answer in answers),
    )


def _first_code(answers: Sequence[Answer]) -> str | None:
    declarations = (declaration_of(answer, None) for answer in answers)
    return next((row["jurisdiction"] for row in declarations if row is not None), None)


def _sections(entries: Sequence[dict[str, Any]]) -> list[tuple[str | None, list[dict[str, Any]]]]:
    """Entries by section, in the order in which the sections first come."""
    found: dict[str | None, list[dict[str, Any]]] = {}
    for entry in entries:
        found.setdefault(entry["section"], []).append(entry)
    return list(found.items())


def _entry(answer: Answer, row: MenuRow, code: str | None, words: Phrases) -> dict[str, Any]:
    """One drink as the menu prints it."""
    alcohol = answer.get("alcohol")
    pack = answer.get("pack")
    text = None if alcohol is None else row_of(alcohol["menu_text"], code) or row_of(alcohol["label"], code)
    drinks = None if alcohol is None else row_of(alcohol["standard_drinks"], code)
    declaration = declaration_of(answer, code)
    band = band_of(answer, item_names(answer), words)
    strength = None
    if alcohol is not None:
        strength = words["strength_unknown"]
        if text is not None and text["text"]:
            strength = words.foreign(text["text"], text.get("lang"))
        elif drinks is not None and drinks["count"] is None and drinks["count_low"] is None:
            drinks = None  # that the strength is not known says it once
    return {
        "name": answer["drink"]["name"],
        "section": row.section,
        "description": row.description,
        "price": None if row.price is None else f"{words.number(row.price)} {row.currency or ''}".strip(),
        "strength": strength,
        "drinks": None if drinks is None else words.foreign(drinks["text"], drinks.get("lang")),
        "pack": None if pack is None else f"{words['net_quantity']}{words['colon']}{net_quantity(pack, words)}",
        "band": None if band is None or band.high == 0 else band_text(band, words),
        "calories": calories_of(answer, code, words),
        "add_ons": add_ons_of(answer, code, words),
        "allergens": words["allergens_not_asked"]
        if declaration is None
        else words.foreign(declaration["statement"], declaration.get("lang")),
        "cautions": _cautions(answer["advisories"], code, words),
    }


def _cautions(advisories: Sequence[Row], code: str | None, words: Phrases) -> list[Row]:
    """What a guest has to know of this drink, one wording once."""
    found: dict[str, Row] = {}
    for row in advisories:
        here = code is None or not row["jurisdictions"] or code in row["jurisdictions"]
        staff = row["code"] in STAFF or row["code"].startswith(MEASURES)
        if here and not staff and not _is_shared(row):
            found.setdefault(row["text"], {**row, "text": in_lang(row, "text", words)})
    return list(found.values())


def _statements(answers: Sequence[Answer], code: str | None, words: Phrases) -> list[str]:
    """What has to stand on a menu that states calories, once."""
    if not any(states_calories(answer, code) for answer in answers):
        return []
    rows = [row for answer in answers for row in answer["duties"] if row["jurisdiction"] == code]
    due = [row for row in rows if row["code"] in WITH_CALORIES and row["applies"] == "applies"]
    return list(dict.fromkeys(words.foreign(row["statement"], row["statement_lang"]) for row in due))


def _is_shared(advisory: Row) -> bool:
    """Whether it is about alcohol as such, and stands once for the menu."""
    return bool(advisory["code"] == "pregnancy")


def _matrix_row(answer: Answer, columns: Sequence[Column], code: str | None, words: Phrases) -> dict[str, Any]:
    declaration = declaration_of(answer, code)
    states = [state_in(declaration, column.key, column.members, column.group) for column in columns]
    return {
        "name": answer["drink"]["name"],
        "cells": [{"state": state, "sign": words[f"code_{state}"], "word": words[f"cell_{state}"]} for state in states],
    }
