"""The spec sheet for the bar team as one HTML page: build, parts, batch, strength, allergens with routes.

Cost stands on it only where the answer has it. It prints the answer's own figures and computes none.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from service.renderers.bands import Band, band_of, band_text
from service.renderers.batches import Batch
from service.renderers.duties import duties_of
from service.renderers.glass import capacity_of, glass_of
from service.renderers.packs import languages_of, pack_rows, readiness, sizes_of, whole_packs_of
from service.renderers.page import Mixed, rendered
from service.renderers.phrases import ENGLISH, Phrases
from service.renderers.reading import (
    Answer,
    Row,
    allergen_routes,
    days_of,
    in_lang,
    item_names,
    known,
    missing_of,
    plain,
    said,
    shown,
    span,
)
from service.renderers.recipes import Recipe

COSTS = ("ingredients", "garnish", "allowances", "pour_cost", "consumables", "labour", "serve_cost")
PRICES = ("suggested", "net", "tax")
NUTRIENTS = ("energy_kj", "energy_kcal", "fat_g", "saturates_g", "carbohydrate_g", "sugars_g", "protein_g", "salt_g")


def sheet_of(
    answer: Answer,
    spec: Mapping[str, Any] | None = None,
    *,
    band: Band | None = None,
    batch: Batch | None = None,
    recipes: Sequence[Recipe] = (),
    allergen_names: Mapping[str, str] | None = None,
    regimes: Mapping[str, Mapping[str, str]] | None = None,
    phrases: Phrases = ENGLISH,
    language: str = "en",
) -> str:
    """The page; ``spec`` is the drink as it was asked, for its method, its ice and the size of its glass.

    The band is the answer's own unless given. ``regimes`` are the words for allergens by jurisdiction, which come
    before ``allergen_names``.
    """
    names = item_names(answer)
    return rendered(
        "sheet.html",
        phrases,
        language=language,
        title=f"{answer['drink']['name']}: {phrases['spec_sheet']}",
        answer=answer,
        glass=glass_of(answer, spec, phrases),
        build=_build(answer, names, phrases),
        method=_method(answer, spec, phrases),
        strength=_strength(answer, band or band_of(answer, names, phrases), phrases),
        parts=_parts(answer, phrases),
        recipes=recipes,
        batch=batch,
        nutrition=_nutrition(answer, phrases),
        declarations=_declarations(answer, allergen_names or {}, regimes or {}, phrases),
        cautions=_cautions(answer["advisories"], names, phrases),
        duties=duties_of([answer], phrases),
        notes=_notes(answer, names, phrases),
        missing=_missing(answer, names, phrases),
        pack=_pack(answer, phrases),
        cost=_cost(answer, phrases),
        price=_price(answer, phrases),
        use_by=_use_by(answer["use_by"], answer["meta"]["as_of"], phrases),
    )


def _build(answer: Answer, names: Mapping[str, str], words: Phrases) -> list[dict[str, Any]]:
    """The lines as they are made, with what may be poured instead."""
    return [
        {
            "name": line["name"],
            "alternatives": [names.get(item, plain(item.replace("-", " "))) for item in line.get("alternatives") or ()],
            "read_as": line["read_as"],
            "amount": _quantity(line, words),
            "role": words[f"role_{line['role']}"],
            "cost": shown(line["cost"], words) if "cost" in line else None,
            "share": shown(line["cost_share_percent"], words, "%") if line.get("cost_share_percent") else "",
        }
        for line in answer["lines"]
    ]


def _quantity(line: Row, words: Phrases) -> str:
    """Volume, or mass where no volume is known; what is not drunk, such as a pick, needs neither."""
    if line["volume_ml"] is None and line["mass_g"] is not None:
        return shown(line["mass_g"], words, "g")
    if line["volume_ml"] is None and line["role"] == "consumable":
        return ""
    return shown(line["volume_ml"], words, "ml")


def _method(answer: Answer, spec: Mapping[str, Any] | None, words: Phrases) -> list[tuple[str, str]]:
    """How it is made, as far as it was said."""
    dilution, serve = answer["serve"]["dilution"], (spec or {}).get("serve") or {}
    kind = ((spec or {}).get("method") or {}).get("kind")
    ice = serve.get("ice") or {}
    capacity = capacity_of(spec)
    rows = (
        [(words["method"], shown(None if kind is None else words.foreign(plain(kind)), words))]
        if spec is not None
        else []
    )
    rows.append((words["method_model"], words.foreign(dilution["source"] or plain(dilution["model"]))))
    if ice.get("kind") not in (None, "none"):
        rows.append(
            (words["ice"], words.foreign(plain(ice["kind"]) + (f", {ice['ice_g']} g" if ice.get("ice_g") else "")))
        )
    if capacity is not None:
        rows.append((words["glass"], words["glass_capacity"].format(ml=words.number(f"{capacity:g}"))))
    return rows


def _strength(answer: Answer, band: Band | None, words: Phrases) -> dict[str, Any] | None:
    """The strength with its band; None where it was not asked for."""
    alcohol = answer.get("alcohol")
    if alcohol is None:
        return None
    least = (alcohol["at_least"] or {}).get("ethanol_g")
    ranges = alcohol["range"]
    return {
        "figure": shown(alcohol["abv_percent"], words, words.percent_vol),
        "band": words["band_not_asked"] if band is None and "band" not in alcohol else band_text(band, words),
        "range": None if ranges is None else span(ranges["abv_percent"], words, words.percent_vol),
        "pairs": [
            (words["before_ice"], shown(alcohol["abv_percent_undiluted"], words, words.percent_vol)),
            (words["ethanol"], known(alcohol["ethanol_g"], least, words, "g")),
        ],
        "moment": words["moment"],
        "drinks": [
            (row["jurisdiction"], words.foreign(row["text"], row.get("lang"))) for row in alcohol["standard_drinks"]
        ],
        "menu": [(row["jurisdiction"], said(row, words)) for row in alcohol["menu_text"]],
        "label": [(row["jurisdiction"], said(row, words)) for row in alcohol["label"]],
        "claims": [
            (words.foreign(f"“{row['word']}”, {row['jurisdiction']}"), _judged(row, words))
            for row in alcohol["claims"]
            if row["allowed"] or row["figure_percent"] is None or row["figure_percent"] <= row["limit_percent"]
        ],
        "named": [
            (
                f"{words['legal_name']} “{row['legal_name']}”, {row['jurisdiction']}",
                words.foreign(
                    f"{row['text']} ({row['source']}, {row['standing']})" if row["source"] else row["text"], row["lang"]
                ),
            )
            for row in alcohol.get("legal_names", ())
        ],
        "held": [
            (words.foreign(f"“{row['word']}”, {row['jurisdiction']}"), _judged(row, words))
            for row in (answer.get("allergens") or {"claims": ()})["claims"]
            if row["figure"] is not None
        ],
        "heated": [
            (
                words.foreign(row["treatment"]),
                f"{words.number(row['retained_percent'])} %, {words.number(row['ethanol_g'])} g, "
                + shown(row["abv_percent"], words, words.percent_vol),
            )
            for row in alcohol["heated"]
        ],
    }


def _judged(row: Row, words: Phrases) -> str | Mixed:
    """A judgement with what the rule says beside, which may be in another language."""
    more = row.get("condition")
    text = str(row["text"])
    if not more or row["condition_lang"] == row["lang"] or not text.endswith(f" {more}"):
        return in_lang(row, "text", words)
    own = words.foreign(text.removesuffix(f" {more}"), row["lang"])
    return Mixed("{own} {more}", own=own, more=words.foreign(more, row["condition_lang"]))


def _parts(answer: Answer, words: Phrases) -> list[dict[str, Any]]:
    return [
        {
            "name": part["name"],
            "yield": shown(part["yield_ml"], words, "ml"),
            "strength": shown(part["abv_percent"], words, words.percent_vol),
            "storage": shown(part["storage"] and words[f"storage_{part['storage']}"], words),
            "use_by": _use_by(part["use_by"], answer["meta"]["as_of"], words),
            "cost": part.get("cost_per_ml"),
            "priced": "cost_per_ml" in part,
        }
        for part in answer["preparations"]
    ]


def _use_by(life: Row | None, day: str, words: Phrases) -> tuple[str, str]:
    """How long it keeps, and why."""
    if life is None:
        return words["not_known"], ""
    text = words["use_within"].format(days=days_of(life["days"], words), day=words.day(day))
    return text, words.foreign(f"({life['reason']})")


def _nutrition(answer: Answer, words: Phrases) -> list[tuple[str, str, str]]:
    """Nutrient, one serve, 100 ml; empty where it was not asked for."""
    nutrition = answer.get("nutrition")
    if nutrition is None:
        return []
    serve, hundred = nutrition["per_serve"], nutrition["per_100_ml"]
    rows = []
    for key in NUTRIENTS:
        name, _, unit = key.rpartition("_")
        label = words[f"nutrient_{name}"]
        unit = "kJ" if unit == "kj" else unit
        figures = [known(side.get(key), side.get("at_least", {}).get(key), words, unit) for side in (serve, hundred)]
        rows.append((label, figures[0], figures[1]))
    return rows


def _declarations(
    answer: Answer, names: Mapping[str, str], regimes: Mapping[str, Mapping[str, str]], words: Phrases
) -> list[dict[str, Any]] | None:
    """Each wording once with all jurisdictions that share it; None where allergens were not asked for."""
    allergens = answer.get("allergens")
    if allergens is None:
        return None
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for row in allergens["declarations"]:
        rows = allergen_routes(answer, row, regimes.get(row["jurisdiction"], names), words)
        entry = found.setdefault((row["statement"], repr(rows)), {"codes": [], "row": row, "routes": rows})
        entry["codes"].append(row["jurisdiction"])
    return list(found.values())


def _cautions(advisories: Sequence[Row], names: Mapping[str, str], words: Phrases) -> list[dict[str, Any]]:
    """Each caution once with whom to ask, the gravest first as the answer orders them."""
    found: dict[tuple[str, ...], dict[str, Any]] = {}
    for row in advisories:
        key = (row["level"], row["text"], row["deferral"], *row["jurisdictions"])
        said = {"text": in_lang(row, "text", words), "deferral": in_lang(row, "deferral", words)}
        entry = found.setdefault(key, {**row, **said, "word": words[f"advisory_{row['level']}"], "about": {}})
        entry["about"] |= dict.fromkeys(names.get(item, plain(item.replace("-", " "))) for item in row["items"])
    return list(found.values())


def _notes(answer: Answer, names: Mapping[str, str], words: Phrases) -> dict[str, list[str]]:
    def about(items: Sequence[str]) -> str:
        named = "; ".join(dict.fromkeys(names.get(item, plain(item.replace("-", " "))) for item in items))
        return f" ({named})" if named else ""

    return {
        "warnings": [
            words.foreign(row["detail"] + about([row["item"]] if row["item"] else [])) for row in answer["warnings"]
        ],
        "assumptions": [words.foreign(row["detail"] + about(row["items"])) for row in answer["assumptions"]],
    }


def _missing(answer: Answer, names: Mapping[str, str], words: Phrases) -> list[str]:
    """What any section lacks, each once."""
    sections = (answer["serve"], *(answer.get(key) for key in ("alcohol", "nutrition", "balance", "cost")))
    rows = [row for section in sections if section is not None for row in section["missing"]]
    return missing_of(rows, names, words)


def _pack(answer: Answer, words: Phrases) -> dict[str, Any] | None:
    """What the pack states, and whether each jurisdiction's panel is ready; None for a drink that is not packed."""
    pack = answer.get("pack")
    if pack is None:
        return None
    panels = [(row["jurisdiction"], readiness(pack, row["jurisdiction"], words)) for row in pack["panels"]]
    rows = [*pack_rows(pack, words), *whole_packs_of(pack, words)]
    return {"rows": rows, "panels": panels, "sizes": sizes_of(pack, words), "languages": languages_of(pack, words)}


def _cost(answer: Answer, words: Phrases) -> dict[str, Any] | None:
    cost = answer.get("cost")
    if cost is None:
        return None
    currency = cost["currency"] or words["currency_unknown"]
    rows = [(words[key], known(cost[key], cost["at_least"].get(key), words)) for key in COSTS]
    return {"caption": words["cost_of_serve"].format(currency=currency), "rows": rows}


def _price(answer: Answer, words: Phrases) -> dict[str, Any] | None:
    price = answer.get("price")
    if price is None:
        return None
    rows = [(words[key], shown(price[key], words, price["currency"])) for key in PRICES]
    rows += [(words[key], shown(price[key], words, "%")) for key in ("gross_margin_percent", "pour_cost_percent")]
    menu, floor = price["at_menu_price"], price["floor"]
    if menu is not None:
        meets = words["meets_" + {True: "yes", False: "no", None: "unknown"}[menu["meets_target"]]]
        margin = shown(menu["gross_margin_percent"], words, "%")
        label = words["at_menu_price"].format(price=words.number(menu["menu_price"]))
        rows.append((label, words["at_menu_margin"].format(margin=margin, meets=meets)))
    return {
        "rows": rows,
        "floor": None
        if floor is None
        else words["price_floor"].format(**floor | {"amount": words.number(floor["amount"])}),
    }
