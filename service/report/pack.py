"""The pack as the contract writes it: what it states, until when it keeps, and what it lacks in each jurisdiction."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, cast

from service.duties import APPLIES
from service.evaluate import Evaluation
from service.evidence import STALE
from service.fills import fill_of, fill_span, serving_of
from service.legalnames import MEETS
from service.mixture import Substance
from service.nutrition import ENERGY_FIELDS, NUTRIENT_FIELDS
from service.pack import net_quantity_ml, pack_of, use_by_date
from service.report.commodity import commodity_of
from service.report.figures import Json
from service.report.packcontents import contents_rows
from service.report.packlanguages import language_rows
from service.report.wording import Wording
from service.rules import rules

_DECLARED = frozenset((*ENERGY_FIELDS, *(name for name, _ in NUTRIENT_FIELDS)))
"""What of an item a nutrition declaration needs."""


def pack_section(evaluation: Evaluation, body: Json, wording: Wording) -> Json:
    """The section ``pack`` beside those of ``body``; empty for a drink that is not sold packed."""
    pack = pack_of(evaluation.request)
    if pack is None:
        return {}
    keeps_to = use_by_date(evaluation.use_by, pack.made_on, evaluation.day)
    stated: Json = {
        "net_ml": None if net_quantity_ml(pack) is None else pack.net_ml,
        "lot": pack.lot,
        "made_on": None if pack.made_on is None else pack.made_on.isoformat(),
        "use_by": None if keeps_to is None else keeps_to.isoformat(),
        "storage": pack.storage,
        "responsible": pack.responsible,
    }
    lacking = [name for name, value in stated.items() if value is None]
    if evaluation.use_by is not None and evaluation.use_by.days < 0:
        lacking.append("use_by_passed")
    of_contents = ["nutrition"] if _holds_other(evaluation) else []
    contents = contents_rows(evaluation, net_quantity_ml(pack), wording)
    rows = []
    for regime, held in zip(evaluation.rules, contents, strict=True):
        of_pack = [] if stated["net_ml"] is None else _lacking_of(held)
        missing = list(dict.fromkeys([*lacking, *_lacking_in(body, regime.code), *of_pack, *of_contents]))
        rows.append({"jurisdiction": regime.code, "ready": not missing, "missing": missing})
    found: Json = {"sold_as": pack.sold_as, **stated, "panels": rows}
    return {
        "pack": found
        | {"contents": contents, "languages": language_rows(evaluation)}
        | _sizes(evaluation, net_quantity_ml(pack))
    }


def _lacking_of(contents: Json) -> list[str]:
    """What is not known of the figures of the whole pack that a panel prints."""
    rows = cast(list[Json], contents["printed"])
    return ["nutrition" if row["what"] == "energy" else "strength" for row in rows if row["text"] is None]


def _sizes(evaluation: Evaluation, net_ml: float | None) -> Json:
    """Sizes and servings of the commodity, of each jurisdiction that holds them."""
    commodity, abv = commodity_of(evaluation), evaluation.alcohol.abv_upper_percent
    fills: list[Json] = []
    within: list[Json] = []
    servings: list[Json] = []
    for regime in evaluation.rules:
        fill, serving = fill_of(regime, commodity, net_ml), serving_of(regime, commodity, abv, net_ml)
        head = {"jurisdiction": regime.code, "commodity": commodity}
        if fill is not None:
            ends = {"below_ml": _float(fill.below_ml), "above_ml": _float(fill.above_ml)}
            proven = {"source": fill.rule.source, "standing": fill.rule.standing, "note": fill.rule.detail}
            fills.append({**head, "standard": fill.is_standard, **ends, **proven})
        span = fill_span(regime, commodity, net_ml)
        if span is not None:
            ends = {"percent": float(span.rule.percent), "low_ml": float(span.low_ml), "high_ml": float(span.high_ml)}
            within.append({**head, **ends, "source": span.rule.source, "standing": span.rule.standing})
        if serving is not None:
            rule = serving.rule
            size = {"serving_ml": float(rule.ml), "serving_fl_oz": float(rule.fl_oz)}
            proven = {"status": rule.status, "source": rule.source, "standing": rule.standing}
            servings.append({**head, **size, "servings": _float(serving.servings), **proven})
    return {"fills": fills, "fill_within": within, "servings": servings}


def _float(figure: Decimal | None) -> float | None:
    return None if figure is None else float(figure)


def _lacking_in(body: Json, code: str) -> list[str]:
    """What one jurisdiction's panel lacks of the answer itself; a section that was not asked for is lacking."""
    found = []
    sections = ("alcohol", "allergens", "nutrition")
    alcohol, allergens, nutrition = (cast(Any, body.get(name)) for name in sections)
    if alcohol is None or not alcohol["complete"] or not _of(alcohol["label"], code) or _varies(alcohol["range"]):
        found.append("strength")
    declared = [] if allergens is None else _of(allergens["declarations"], code)
    lapsed = allergens is not None and any(row["state"] == STALE for row in allergens["evidence"])
    if not declared or lapsed or any(row["unknown"] or row["partly_unknown"] or _unnamed(row) for row in declared):
        found.append("allergens")
    # A row without a figure may have words of its own, such as "<0.5 g"; one that was not computed has none.
    if nutrition is None or any(row["unrounded"] is None for row in _of(nutrition["declared"], code)):
        found.append("nutrition")
    due = [row for row in _of(cast(list[Json], body["duties"]), code) if row["statement"] and row["applies"] == APPLIES]
    if any({*cast(list[str], row["missing"])} - {"abv_percent"} for row in due):
        found.append("statement")
    if alcohol is not None and _name_in_doubt(body, alcohol, code):
        found.append("legal_name")
    return found


def _name_in_doubt(body: Json, alcohol: Any, code: str) -> bool:
    """Whether a rule of the jurisdiction refuses the drink's legal name, or lacks a figure to judge it by."""
    own = cast(Any, body["drink"])["id"]
    rows = [row for row in _of(alcohol.get("legal_names", []), code) if row["item"] == own]
    return any(row["verdict"] != MEETS and row["word"] is not None for row in rows)


def _varies(ends: Json | None) -> bool:
    """Whether alternatives of other strengths may be in the pack, of which one label states one."""
    strengths = [] if ends is None else cast(list[float | None], ends["abv_percent"])
    return None in strengths or len(set(strengths)) > 1


def _holds_other(evaluation: Evaluation) -> bool:
    """Whether alternatives with other nutrients may be in the pack, of which one label declares those of one."""
    rows = [*evaluation.lines, *(row for rows in evaluation.resolved.preparation_lines.values() for row in rows)]
    return any(_nutrients(other) != _nutrients(row.substance) for row in rows for other in row.alternatives)


def _nutrients(of: Substance) -> tuple[str, Mapping[str, float], frozenset[str]]:
    """Grams in a base unit and what is not known of them; what is counted in milligrams stands in no declaration."""
    held = {name: amount for name, amount in of.contents.items() if amount and not name.endswith("_mg")}
    return of.basis, held, of.unknown.fields & _DECLARED


def _unnamed(declared: Json) -> bool:
    """Whether nuts or cereals are contained and none is named, as a label has to name them: Regulation (EU) 1169/2011,
    Annex II; 21 USC 343(w)(2); Food Standards Code, S9-3; all three from memory here."""
    contains = frozenset(cast(list[str], declared["contains"]))
    vocabulary = rules().allergens
    groups = {word.group for word in vocabulary.values() if word.core and word.group in contains}
    named = {vocabulary[key].group for key in contains}
    return bool(groups - named)


def _of(rows: list[Json], code: str) -> list[Json]:
    return [row for row in rows if row["jurisdiction"] == code]
