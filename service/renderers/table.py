"""The answer as a table for a terminal."""

import json
from typing import Any

WIDTH = 78


def table_of(content: bytes) -> str:
    """A readable table of an answer of POST /v1/evaluate; what is unknown says so."""
    answer: dict[str, Any] = json.loads(content)
    blocks = [_head(answer), _lines(answer)]
    blocks += [block for block in (_cost(answer), _price(answer), _alcohol(answer), _nutrition(answer)) if block]
    blocks += [block for block in (_balance(answer), _allergens(answer), _notes(answer)) if block]
    return "\n\n".join("\n".join(block) for block in blocks)


def _shown(value: object, unit: str = "") -> str:
    return "not known" if value is None else f"{value}{unit}"


def _row(label: str, value: str) -> str:
    return f"  {label:30} {value}"


def _head(answer: dict[str, Any]) -> list[str]:
    drink, serve = answer["drink"], answer["serve"]
    dilution = serve["dilution"]
    water = _shown(serve["water_added_ml"], " ml")
    rows = [
        f"{drink['name']}, one serve of {drink['serves']}",
        "=" * WIDTH,
        _row("before ice", _shown(serve["undiluted_ml"], " ml")),
        _row("water from ice", f"{water} ({dilution['model'].replace('_', ' ')})"),
        _row("in the glass", _shown(serve["liquid_ml"], " ml")),
    ]
    if serve["washline_percent"] is not None:
        rows.append(_row("wash line", f"{serve['washline_percent']} % of the glass"))
    return rows


def _lines(answer: dict[str, Any]) -> list[str]:
    rows = [f"  {'item':28} {'read as':28} {'ml':>7} {'cost':>10}", "  " + "-" * (WIDTH - 2)]
    for line in answer["lines"]:
        volume = "" if line["volume_ml"] is None else f"{line['volume_ml']:g}"
        rows.append(f"  {line['item'][:28]:28} {line['read_as'][:28]:28} {volume:>7} {line.get('cost') or '':>10}")
    return rows


def _cost(answer: dict[str, Any]) -> list[str]:
    cost = answer.get("cost")
    if cost is None:
        return []
    rows = ["Cost" + (f", {cost['currency']}" if cost["currency"] else "")]
    for name in ("ingredients", "garnish", "allowances", "pour_cost", "consumables", "labour", "serve_cost"):
        if name != "labour" or cost[name] is not None:
            rows.append(_row(name.replace("_", " "), _shown(cost[name])))
    return rows + _missing(cost)


def _missing(section: dict[str, Any]) -> list[str]:
    return [_row("missing", f"{row['field']} of {row['item']}") for row in section["missing"]]


def _price(answer: dict[str, Any]) -> list[str]:
    price = answer.get("price")
    if price is None:
        return []
    rows = [f"Price, {price['currency']}"]
    for name in ("suggested", "net", "tax", "gross_margin_percent", "pour_cost_percent"):
        rows.append(_row(name.replace("_percent", ", %").replace("_", " "), _shown(price[name])))
    menu = price["at_menu_price"]
    if menu is not None:
        meets = {True: "meets the target", False: "misses the target", None: "target not known"}[menu["meets_target"]]
        rows.append(_row(f"at {menu['menu_price']}", f"margin {_shown(menu['gross_margin_percent'], ' %')}, {meets}"))
    return rows


def _alcohol(answer: dict[str, Any]) -> list[str]:
    alcohol = answer.get("alcohol")
    if alcohol is None:
        return []
    rows = [
        "Alcohol",
        _row("strength as handed over", _shown(alcohol["abv_percent"], " % vol")),
        _row("before ice", _shown(alcohol["abv_percent_undiluted"], " % vol")),
        _row("ethanol", _shown(alcohol["ethanol_g"], " g")),
    ]
    rows += [_row(f"{row['jurisdiction']}", row["text"]) for row in alcohol["standard_drinks"]]
    rows += [_row(f"menu, {row['jurisdiction']}", _shown(row["text"])) for row in alcohol["menu_text"]]
    return rows + _missing(alcohol)


def _nutrition(answer: dict[str, Any]) -> list[str]:
    nutrition = answer.get("nutrition")
    if nutrition is None:
        return []
    serve = nutrition["per_serve"]
    rows = ["Nutrition, one serve"]
    energy = _shown(serve["energy_kcal"], " kcal")
    least = serve["at_least"].get("energy_kcal")
    rows.append(_row("energy", energy if least is None else f"{energy}, at least {least} kcal"))
    for name in ("carbohydrate_g", "sugars_g", "protein_g", "fat_g", "salt_g"):
        rows.append(_row(name.removesuffix("_g"), _shown(serve[name], " g")))
    return rows + _missing(nutrition)


def _balance(answer: dict[str, Any]) -> list[str]:
    balance = answer.get("balance")
    if balance is None:
        return []
    return [
        "Balance",
        _row("sugars in 100 ml", _shown(balance["sugars_g_per_100_ml"], " g")),
        _row("acid in 100 ml", _shown(balance["acid_g_per_100_ml"], " g")),
        _row("sugar to acid", _shown(balance["sugar_to_acid"])),
    ]


def _allergens(answer: dict[str, Any]) -> list[str]:
    allergens = answer.get("allergens")
    if allergens is None:
        return []
    rows = ["Allergens"]
    rows += [f"  {row['jurisdiction']}: {row['statement']}" for row in allergens["declarations"]]
    rows.append(_row("vegan", allergens["diet"]["vegan"]))
    rows.append(_row("vegetarian", allergens["diet"]["vegetarian"]))
    return rows


def _notes(answer: dict[str, Any]) -> list[str]:
    rows = [f"  {row['level']}: {row['text']} {row['deferral']}" for row in answer["advisories"]]
    rows += [f"  warning: {row['detail']}" for row in answer["warnings"]]
    rows += [f"  assumed: {row['detail']}" for row in answer["assumptions"]]
    if answer["use_by"] is not None:
        rows.append(f"  use within {answer['use_by']['days']} days: {' > '.join(answer['use_by']['path'])}")
    rows.append(f"  {answer['meta']['note']}")
    return ["Notes", *rows]
