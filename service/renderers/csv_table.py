"""Answers as CSV, one row a drink, by RFC 4180: commas, CRLF, quotes doubled, the first line the names of the columns.

A figure stands as the answer has it, with a point; what is not known says so, and what was not asked for is empty. Text
that a spreadsheet would take for a formula begins with an apostrophe; figures are never touched. Columns of cost are
there only where an answer has a cost.
"""

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from service.renderers.packs import STATED, readiness
from service.renderers.page import legible
from service.renderers.phrases import ENGLISH, Phrases
from service.renderers.reading import Answer, plain

FORMULA = frozenset("=+-@\t\r\n＝＋－＠")
"""How a text begins that a spreadsheet may compute; the last four are the same signs in full width."""

SERVE = ("undiluted_ml", "water_added_ml", "liquid_ml", "foam_ml", "mass_g", "ice_displaced_ml", "washline_percent")
ALCOHOL = ("abv_percent", "abv_percent_undiluted", "ethanol_ml", "ethanol_g", "us_proof")
NUTRITION = (
    "energy_kj", "energy_kcal", "fat_g", "saturates_g", "carbohydrate_g", "sugars_g", "fibre_g", "protein_g", "salt_g",
    "polyols_g", "acids_g", "alcohol_g",
)  # fmt: skip
COST = ("pour_cost", "consumables", "labour", "serve_cost")
PRICE = ("suggested", "net", "tax", "gross_margin_percent", "pour_cost_percent")
STATES = ("contains", "may_contain", "unknown")

Cells = dict[str, str]


class _Names(NamedTuple):
    """Words for allergens: for all, and of single jurisdictions, which come first."""

    given: Mapping[str, str]
    regimes: Mapping[str, Mapping[str, str]]

    def word(self, code: str, key: str) -> str:
        """The word of an allergen in one jurisdiction."""
        return self.regimes.get(code, self.given).get(key, plain(key))


def csv_of(
    answers: Sequence[Answer],
    *,
    phrases: Phrases = ENGLISH,
    allergen_names: Mapping[str, str] | None = None,
    regimes: Mapping[str, Mapping[str, str]] | None = None,
) -> str:
    """The table; jurisdictions have columns of their own, named by their code, as ``regimes`` has their words."""
    with_cost = any(answer.get("cost") is not None for answer in answers)
    with_price = any(answer.get("price") is not None for answer in answers)
    names_of = _Names(allergen_names or {}, regimes or {})
    rows = [_row(answer, with_cost, with_price, names_of, phrases) for answer in answers]
    names = list(dict.fromkeys(name for row in rows for name in row))
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\r\n")
    writer.writerow([text(name) for name in names])
    # An allergen that was not asked for is not known, and an empty cell could be read as none.
    blank = {name: phrases["not_known"] if name.startswith("allergens_") else "" for name in names}
    writer.writerows([row.get(name, blank[name]) for name in names] for row in rows)
    return file.getvalue()


def text(value: str) -> str:
    """A text cell that no spreadsheet computes; a lone carriage return or line feed within it becomes a space."""
    flat = " ".join(legible(value).splitlines())
    return f"'{flat}" if value[:1] in FORMULA or flat.lstrip()[:1] in FORMULA else flat


def _figures(section: Mapping[str, Any] | None, keys: Iterable[str], words: Phrases, prefix: str = "") -> Cells:
    """Figures of a section; all empty where the section was not asked for."""
    if section is None:
        return {prefix + key: "" for key in keys}
    return {prefix + key: words["not_known"] if section.get(key) is None else str(section[key]) for key in keys}


def _row(answer: Answer, with_cost: bool, with_price: bool, names: _Names, words: Phrases) -> Cells:
    drink, nutrition = answer["drink"], answer.get("nutrition")
    cells: Cells = {"drink_id": text(drink["id"]), "drink_name": text(drink["name"]), "serves": str(drink["serves"])}
    cells |= _figures(answer["serve"], SERVE, words)
    cells |= _figures(answer.get("alcohol"), ALCOHOL, words)
    cells |= _figures(None if nutrition is None else nutrition["per_serve"], NUTRITION, words, "serve_")
    cells |= {"use_by_days": words["not_known"] if answer["use_by"] is None else str(answer["use_by"]["days"])}
    cells |= _pack(answer.get("pack"), words)
    if with_cost:
        cells |= _money(answer.get("cost"), COST, words, "cost_")
    if with_price:
        cells |= _money(answer.get("price"), PRICE, words, "price_")
    return cells | _by_jurisdiction(answer, names, words) | {"as_of": text(answer["meta"]["as_of"])}


def _pack(pack: Mapping[str, Any] | None, words: Phrases) -> Cells:
    """What the pack states; no columns for a drink that is not sold packed."""
    if pack is None:
        return {}
    cells = {f"pack_{key}": text(words["not_known"] if pack[key] is None else str(pack[key])) for key in STATED}
    for row in pack["panels"]:
        cells[f"pack_label_{row['jurisdiction']}"] = text(readiness(pack, row["jurisdiction"], words))
    for held in pack["contents"]:
        for row in held["printed"]:
            cells[f"pack_{row['what']}_{held['jurisdiction']}"] = text(row["text"] or words["not_known"])
    return cells


def _money(section: Mapping[str, Any] | None, keys: Iterable[str], words: Phrases, prefix: str) -> Cells:
    currency = "" if section is None else text(section["currency"] or words["not_known"])
    return {f"{prefix}currency": currency} | _figures(section, keys, words, prefix)


def _by_jurisdiction(answer: Answer, names: _Names, words: Phrases) -> Cells:
    """Standard drinks, words for the menu and allergens of each jurisdiction that the answer has."""
    alcohol, allergens = answer.get("alcohol"), answer.get("allergens")
    cells: Cells = {}
    for row in [] if alcohol is None else alcohol["standard_drinks"]:
        cells[f"standard_drinks_{row['jurisdiction']}"] = text(row["text"])
    for row in [] if alcohol is None else alcohol["menu_text"]:
        cells[f"menu_strength_{row['jurisdiction']}"] = text(row["text"] or words["not_known"])
    for row in [] if alcohol is None else alcohol["label"]:
        cells[f"label_strength_{row['jurisdiction']}"] = text(row["text"] or words["not_known"])
    for row in [] if allergens is None else allergens["declarations"]:
        code = row["jurisdiction"]
        # Beside allergens that are not known no cell says that there are none.
        none = words["not_known" if row["unknown"] or row["partly_unknown"] else "none_listed"]
        for state in STATES:
            keys = [names.word(code, key) for key in row[state]]
            cells[f"allergens_{state}_{code}"] = text("; ".join(keys) or none)
        exempt = dict.fromkeys(names.word(code, one["allergen"]) for one in row["exempt"])
        cells[f"allergens_exempt_{code}"] = text("; ".join(exempt) or words["none_listed"])
        cells[f"allergens_statement_{code}"] = text(row["statement"])
    return cells
