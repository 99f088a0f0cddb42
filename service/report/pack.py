"""The pack as the contract writes it: what it states, until when it keeps, and what it lacks in each jurisdiction."""

from decimal import Decimal
from typing import Any, cast

from service.evaluate import Evaluation
from service.evidence import STALE
from service.fills import fill_of, serving_of
from service.pack import net_quantity_ml, pack_of, use_by_date
from service.report.commodity import commodity_of
from service.report.figures import Json
from service.rules import rules


def pack_section(evaluation: Evaluation, body: Json) -> Json:
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
    rows = []
    for regime in evaluation.rules:
        missing = [*lacking, *_lacking_in(body, regime.code)]
        rows.append({"jurisdiction": regime.code, "ready": not missing, "missing": missing})
    found: Json = {"sold_as": pack.sold_as, **stated, "panels": rows}
    return {"pack": found | _sizes(evaluation, net_quantity_ml(pack))}


def _sizes(evaluation: Evaluation, net_ml: float | None) -> Json:
    """Sizes and servings of the commodity, of each jurisdiction that holds them."""
    commodity, abv = commodity_of(evaluation), evaluation.alcohol.abv_upper_percent
    fills: list[Json] = []
    servings: list[Json] = []
    for regime in evaluation.rules:
        fill, serving = fill_of(regime, commodity, net_ml), serving_of(regime, commodity, abv, net_ml)
        head = {"jurisdiction": regime.code, "commodity": commodity}
        if fill is not None:
            ends = {"below_ml": _float(fill.below_ml), "above_ml": _float(fill.above_ml)}
            proven = {"source": fill.rule.source, "standing": fill.rule.standing, "note": fill.rule.detail}
            fills.append({**head, "standard": fill.is_standard, **ends, **proven})
        if serving is not None:
            rule = serving.rule
            size = {"serving_ml": float(rule.ml), "serving_fl_oz": float(rule.fl_oz)}
            proven = {"status": rule.status, "source": rule.source, "standing": rule.standing}
            servings.append({**head, **size, "servings": _float(serving.servings), **proven})
    return {"fills": fills, "servings": servings}


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
    return found


def _varies(ends: Json | None) -> bool:
    """Whether alternatives of other strengths may be in the pack, of which one label states one."""
    strengths = [] if ends is None else cast(list[float | None], ends["abv_percent"])
    return None in strengths or len(set(strengths)) > 1


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
