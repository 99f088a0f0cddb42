"""The answer as a table for a terminal: at most 78 signs a line, and what is not known says so."""

import json
import textwrap
from collections.abc import Iterable, Sequence
from itertools import zip_longest
from typing import Any

from service.renderers.table_label import duty_rows, name_rows, pack_rows
from service.renderers.textrows import WIDTH, Names, known, names_of, paragraph, shown, span, titled, wrapped

COLUMNS = (25, 27, 10, 10)
"""Widths of the columns of the lines: item, reading, amount, cost."""


def table_of(content: bytes) -> str:
    """A readable table of an answer of POST /v1/evaluate."""
    answer: dict[str, Any] = json.loads(content)
    names = {row["id"]: row["name"] for row in answer["preparations"]}
    names |= {row["item"]: row["name"] for row in answer["lines"]}
    sections = (
        _head, _lines, _cost, _price, _alcohol, _nutrition, _balance, _allergens, _measured, _delta, name_rows,
        pack_rows, duty_rows, _notes,
    )  # fmt: skip
    blocks = [dict.fromkeys(section(answer, names)) for section in sections]
    return "\n\n".join("\n".join(block) for block in blocks if block)


def _head(answer: dict[str, Any], _: Names) -> list[str]:
    drink, serve = answer["drink"], answer["serve"]
    dilution = serve["dilution"]
    water = shown(serve["water_added_ml"], " ml")
    rows = [
        wrapped("", f"{drink['name']}, one serve of {drink['serves']}", "  "),
        "=" * WIDTH,
        titled("before ice", shown(serve["undiluted_ml"], " ml")),
        titled("water from ice", f"{water} ({dilution['model'].replace('_', ' ')})"),
        titled("in the glass", shown(serve["liquid_ml"], " ml")),
    ]
    if dilution["in_range"] is False:
        rows.append(titled("", "this strength lies outside what the model was measured for"))
    if serve["washline_percent"] is not None:
        rows.append(titled("wash line", f"{serve['washline_percent']} % of the glass"))
    return rows


def _lines(answer: dict[str, Any], names: Names) -> list[str]:
    priced = any("cost" in line for line in answer["lines"])
    rows = [*_cells(("item", "read as", "amount", "cost" if priced else "")), "  " + "-" * (WIDTH - 2)]
    for line in answer["lines"]:
        name = line["name"] if line["role"] == "pour" else f"{line['name']} ({line['role']})"
        rows += _cells((name, line["read_as"], _quantity(line), shown(line["cost"]) if priced else ""))
        if line.get("alternatives"):
            rows.append(paragraph(f"  or {names_of(line['alternatives'], names)}"))
    # Two lines of a drink may be alike and are both shown, so that they come as one text.
    return ["\n".join(rows)]


def _quantity(line: dict[str, Any]) -> str:
    """Volume or mass of a line for one serve; what is not drunk, such as a straw, needs neither."""
    if line["volume_ml"] is None and line["mass_g"] is not None:
        return f"{line['mass_g']} g"
    if line["volume_ml"] is None and line["role"] == "consumable":
        return ""
    return shown(line["volume_ml"], " ml")


def _cells(texts: Sequence[str]) -> list[str]:
    """One row of the lines; a text that is longer than its column goes on below."""
    wrapped = [textwrap.wrap(text, width) for text, width in zip(texts, COLUMNS, strict=True)]
    item, reading, amount, cost = COLUMNS
    return [
        f"  {first:{item}} {second:{reading}} {third:>{amount}} {fourth:>{cost}}".rstrip()
        for first, second, third, fourth in zip_longest(*wrapped, fillvalue="")
    ]


def _cost(answer: dict[str, Any], names: Names) -> list[str]:
    cost = answer.get("cost")
    if cost is None:
        return []
    rows = ["Cost" + (f", {cost['currency']}" if cost["currency"] else "")]
    for name in ("ingredients", "garnish", "allowances", "pour_cost", "consumables", "labour", "serve_cost"):
        if name != "labour" or cost[name] is not None:
            rows.append(titled(name.replace("_", " "), known(cost[name], cost["at_least"].get(name))))
    return rows + _band((cost.get("band") or {}).get("pour_cost"), names) + _missing(cost, names)


def _missing(section: dict[str, Any], names: Names) -> list[str]:
    """What a section lacks: the same fields of several items in one row."""
    fields: dict[str, list[str]] = {}
    for row in section["missing"]:
        fields.setdefault(row["item"], []).append(row["field"])
    items: dict[str, list[str]] = {}
    for item, lacking in fields.items():
        items.setdefault(", ".join(dict.fromkeys(lacking)), []).append(item)
    return [titled("missing", f"{lacking} of {names_of(found, names)}") for lacking, found in items.items()]


def _price(answer: dict[str, Any], _: Names) -> list[str]:
    price = answer.get("price")
    if price is None:
        return []
    rows = [f"Price, {price['currency']}"]
    for name in ("suggested", "net", "tax", "gross_margin_percent", "pour_cost_percent"):
        rows.append(titled(name.replace("_percent", ", %").replace("_", " "), shown(price[name])))
    if (floor := price["floor"]) is not None:
        least = f"{floor['amount']} {floor['currency']}"
        rows.append(titled("legal floor", f"{least}, the minimum price of {floor['jurisdiction']}, sets it"))
    menu = price["at_menu_price"]
    if menu is not None:
        meets = {True: "meets the target", False: "misses the target", None: "target not known"}[menu["meets_target"]]
        rows.append(titled(f"at {menu['menu_price']}", f"margin {shown(menu['gross_margin_percent'], ' %')}, {meets}"))
    return rows


def _alcohol(answer: dict[str, Any], names: Names) -> list[str]:
    alcohol = answer.get("alcohol")
    if alcohol is None:
        return []
    least = None if alcohol["at_least"] is None else alcohol["at_least"]["ethanol_g"]
    rows = [
        "Alcohol",
        titled("strength as handed over", shown(alcohol["abv_percent"], " % vol")),
        titled("before ice", shown(alcohol["abv_percent_undiluted"], " % vol")),
        titled("ethanol", known(alcohol["ethanol_g"], least, " g")),
    ]
    if alcohol["range"] is not None:
        rows.append(titled("range of strength", span(alcohol["range"]["abv_percent"], " % vol")))
        rows.append(titled("range of ethanol", span(alcohol["range"]["ethanol_g"], " g")))
    for heated in alcohol["heated"]:
        left = f"{heated['retained_percent']} % of the alcohol stays, {heated['ethanol_g']} g"
        strength = shown(heated["abv_percent"], " % vol")
        rows.append(titled("if heated", f"{heated['treatment']}: {left}, {strength}"))
    for drinks in alcohol["standard_drinks"]:
        ends = "" if drinks["range"] is None or drinks["range"] == [None, None] else f" ({span(drinks['range'])})"
        rows.append(titled(drinks["jurisdiction"], drinks["text"] + ends))
    for text, codes in _by_text(alcohol["menu_text"], "text"):
        rows.append(titled(f"menu, {codes}", text))
    rows += _band((alcohol.get("band") or {}).get("abv_percent"), names, " % vol")
    for check in alcohol.get("label_check") or ():
        rows.append(titled(f"label, {check['jurisdiction']}", check["text"]))
    return rows + _missing(alcohol, names)


def _by_text(rows: Iterable[dict[str, Any]], key: str) -> list[tuple[str, str]]:
    """Each wording once, with the codes of all jurisdictions that share it."""
    codes: dict[str, list[str]] = {}
    for row in rows:
        codes.setdefault(shown(row[key]), []).append(row["jurisdiction"])
    return [(text, ", ".join(found)) for text, found in codes.items()]


def _nutrition(answer: dict[str, Any], names: Names) -> list[str]:
    nutrition = answer.get("nutrition")
    if nutrition is None:
        return []
    serve, least = nutrition["per_serve"], nutrition["per_serve"]["at_least"]
    rows = ["Nutrition, one serve", titled("energy", known(serve["energy_kcal"], least.get("energy_kcal"), " kcal"))]
    if nutrition["heated_energy_kcal"] is not None:
        rows.append(titled("energy once heated", span(nutrition["heated_energy_kcal"], " kcal")))
    for name in ("carbohydrate_g", "sugars_g", "protein_g", "fat_g", "salt_g"):
        rows.append(titled(name.removesuffix("_g"), known(serve[name], least.get(name), " g")))
    rows += _band((nutrition.get("band") or {}).get("energy_kcal"), names, " kcal")
    return rows + _missing(nutrition, names)


def _band(band: dict[str, Any] | None, names: Names, unit: str = "") -> list[str]:
    """How sure a figure is, and the input that makes most of the width; nothing where no band was asked for."""
    if band is None:
        return []
    rows = [titled("band", span((band["low"], band["high"]), unit))]
    if (driver := band["driver"]) is not None:
        rows.append(titled("widest by", f"{driver['input']} of {names_of([driver['item']], names)}"))
    return rows


def _measured(answer: dict[str, Any], _: Names) -> list[str]:
    """What the bar measured, beside the model or in its place."""
    measured = answer.get("measured")
    if measured is None:
        return []
    place = "in place of the model's water" if measured["used"] else "beside the model, which every figure rests on"
    rows = [f"Measured, {place}"]
    for row in measured["rows"]:
        label = row["quantity"].removesuffix(f"_{row['unit']}").replace("_", " ")
        text = f"{row['measured']} {row['unit']}, by the model {shown(row['model'])}"
        rows.append(titled(label, text if row["difference"] is None else f"{text}, difference {row['difference']}"))
        rows += [paragraph(row["note"])] if row["note"] else []
    return rows


def _balance(answer: dict[str, Any], names: Names) -> list[str]:
    balance = answer.get("balance")
    if balance is None:
        return []
    least = balance["at_least"] or {}
    rows = ["Balance"]
    for label, name in (("sugars in 100 ml", "sugars_g_per_100_ml"), ("acid in 100 ml", "acid_g_per_100_ml")):
        rows.append(titled(label, known(balance[name], least.get(name), " g")))
    rows.append(titled("sugar to acid", _ratio(balance)))
    return rows + _missing(balance, names)


def _ratio(balance: dict[str, Any]) -> str:
    """Sugar to acid; there is none where there is no acid, which is not the same as unknown."""
    return "no acid in it" if balance["acid_g_per_100_ml"] == 0 else shown(balance["sugar_to_acid"])


def _allergens(answer: dict[str, Any], _: Names) -> list[str]:
    allergens = answer.get("allergens")
    if allergens is None:
        return []
    rows = ["Allergens"]
    rows += [paragraph(f"{codes}: {text}") for text, codes in _by_text(allergens["declarations"], "statement")]
    for diet in ("vegan", "vegetarian"):
        answered = allergens["diet"][diet]
        rows.append(titled(diet, "not known" if answered == "unknown" else answered))
    return rows


def _delta(answer: dict[str, Any], _: Names) -> list[str]:
    """What the modifiers change; the rest of the table is of the modified drink."""
    delta = answer.get("delta")
    if delta is None:
        return []
    rows = [wrapped("", f"Changed by {', '.join(delta['with'])}", "  ")]
    for section, figure, unit in _CHANGES:
        change = (delta.get(section) or {}).get(figure)
        if change is not None:
            label = figure.removesuffix("_percent").removesuffix("_kcal").replace("_", " ").replace("abv", "strength")
            rows.append(titled(label, f"{shown(change['change'], unit)}, from {shown(change['base'], unit)}"))
    for drinks in delta.get("alcohol", {}).get("standard_drinks", ()):
        change = f"{shown(drinks['change'])}, from {shown(drinks['base'])}"
        rows.append(titled(f"standard drinks, {drinks['jurisdiction']}", change))
    for row in delta.get("allergens", ()):
        for which in ("gained", "lost"):
            told = [f"{state.replace('_', ' ')} {', '.join(keys)}" for state, keys in row[which].items() if keys]
            if told:
                rows.append(titled(f"allergens {which}, {row['jurisdiction']}", "; ".join(told)))
        if row["note"]:
            rows.append(paragraph(f"{row['jurisdiction']}: {row['note']}"))
    return rows + [paragraph(note) for note in delta["notes"]]


_CHANGES = (
    ("cost", "pour_cost", ""), ("cost", "serve_cost", ""), ("price", "suggested", ""), ("price", "menu_price", ""),
    ("alcohol", "abv_percent", " % vol"), ("alcohol", "ethanol_g", " g"), ("nutrition", "energy_kcal", " kcal"),
)  # fmt: skip
"""Section, figure and unit of each change, in the order of the table."""


def _notes(answer: dict[str, Any], names: Names) -> list[str]:
    rows = ["Notes", *_cautions(answer["advisories"], names)]
    for note in answer["warnings"]:
        about = f" ({names_of([note['item']], names)})" if note["item"] is not None else ""
        rows.append(paragraph(f"warning: {note['detail']}{about}"))
    for note in answer["assumptions"]:
        about = f" ({names_of(note['items'], names)})" if note["items"] else ""
        rows.append(paragraph(f"assumed: {note['detail']}{about}"))
    if answer["use_by"] is not None:
        rows.append(paragraph(_use_by(answer["use_by"], names)))
    return [*rows, paragraph(answer["meta"]["note"])]


def _use_by(life: dict[str, Any], names: Names) -> str:
    days = "1 day" if life["days"] == 1 else f"{life['days']} days"
    way = " > ".join(names.get(step, step) for step in life["path"][1:])
    reason = f" ({life['reason']})" if life.get("reason") else ""
    return f"use within {days}" + (f": {way}" if way else "") + reason


def _cautions(advisories: Sequence[dict[str, Any]], names: Names) -> list[str]:
    """The advisories, one wording once; whom to ask stands beside it or, where several share it, once below them."""
    items: dict[tuple[str, str, str], list[str]] = {}
    for row in advisories:
        where = f" in {', '.join(row['jurisdictions'])}" if row["jurisdictions"] else ""
        items.setdefault((row["level"] + where, row["text"], row["deferral"]), []).extend(row["items"])
    deferrals = [deferral for _, _, deferral in items]
    rows = []
    for (head, text, deferral), found in items.items():
        about = f" ({names_of(found, names)})" if found else ""
        whom = f" {deferral}" if deferrals.count(deferral) == 1 else ""
        rows.append(paragraph(f"{head}: {text}{about}{whom}"))
    shared = dict.fromkeys(deferral for deferral in deferrals if deferrals.count(deferral) > 1)
    return rows + [paragraph(f"to these: {deferral}") for deferral in shared]
