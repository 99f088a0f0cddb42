"""Cautions of the house and its licence: its limit of one serve, lives that it has set, pours of no legal measure."""

from collections.abc import Sequence
from decimal import Decimal

from service.alcohol import Alcohol
from service.caution import Blank, Caution
from service.item_triggers import words_of
from service.labelling import standard_drink_count
from service.lawful import lawful_decimal, readable
from service.line import ResolvedLine
from service.pours import is_bound, pour_measures_missed, total_measures_missed
from service.rulekinds import PourMeasure
from service.rules import Rules

PAST_USE = "past_use_by"
"""The caution that something is past the life that the house has set for it."""


def house_cautions(
    limit: float | None, rules: Sequence[Rules], alcohol: Alcohol, lines: Sequence[ResolvedLine], *, poured: bool = True
) -> list[Caution]:
    """More standard drinks in one serve than the house has set, and pours that keep to no legal measure, which bind
    what is sold ``poured``."""
    return [*_over_house_limit(limit, rules, alcohol), *(_unlawful_measures(rules, lines) if poured else ())]


def _over_house_limit(limit: float | None, rules: Sequence[Rules], alcohol: Alcohol) -> list[Caution]:
    if limit is None:
        return []
    most = lawful_decimal(limit)
    found = []
    for regime in rules:
        counted = standard_drink_count(regime, alcohol.ethanol_upper_g)
        if counted is None:
            continue
        count = counted.count if counted.count is not None else counted.count_high
        if count is not None and count <= most:
            continue
        known = (
            f"{counted.text} in one serve" if count is not None else "The standard drinks in one serve are not known"
        )
        text = f"{known}; the house has set {readable(most)} at most."
        found.append(_of_house("over_house_limit", text, most, (regime.code,)))
    if not any(regime.standard_drink for regime in rules):
        said = f"the house's {readable(most)} could not be checked."
        text = f"No jurisdiction asked for has a standard drink of its own: {said}"
        found.append(_of_house("house_limit_not_checked", text, most, ()))
    return found


def _of_house(code: str, text: str, most: Decimal, codes: tuple[str, ...]) -> Caution:
    deferral = "Serve responsibly; local licensing law applies."
    blanks = {"n": Blank(readable(most))}
    return Caution(code, "caution", text, deferral, "house setting", "house", codes, blanks=blanks)


def _unlawful_measures(rules: Sequence[Rules], lines: Sequence[ResolvedLine]) -> list[Caution]:
    poured = [line for line in lines if line.role in ("pour", "top") and line.part is not None]
    liquids = sum(1 for line in poured if line.substance.basis == "ml")
    pours = [
        (line.ref, line.substance.kind, _called(line), line.part.volume_ml)
        for line in poured
        if line.part is not None and line.part.volume_ml is not None
    ]
    found = []
    for regime in rules:
        if not regime.pour_measures:
            continue
        for ref, kind, called, volume_ml in pours:
            for measure in pour_measures_missed(regime, kind, called, volume_ml, liquids):
                found.append(_measure_caution(measure, regime, f"pour_measure_{measure.key}", (ref,)))
        for measure in total_measures_missed(regime, [pour[1:] for pour in pours]):
            refs = dict.fromkeys(ref for ref, kind, called, _ in pours if is_bound(measure, kind, called))
            found.append(_measure_caution(measure, regime, f"pour_measure_{measure.key}_total", tuple(refs)))
    return found


def _called(line: ResolvedLine) -> str:
    made = line.substance
    return line.ref if made.origin == "reference" else words_of(line.ref, made.name)


def _measure_caution(measure: PourMeasure, regime: Rules, code: str, items: tuple[str, ...]) -> Caution:
    deferral = "Check local codes; the licensing or trading standards authority decides."
    return Caution(code, "caution", measure.text, deferral, measure.source, measure.standing, (regime.code,), items)


def past_use(days: int, path: tuple[str, ...]) -> list[Caution]:
    """Something past the life that the house has set for it, by the days that are left and the way to it."""
    if days >= 0:
        return []
    unit = "day" if days == -1 else "days"
    text = f"{path[-1]} is {-days} {unit} past the life set for it: discard it."
    deferral = "Local food codes and licensed practice decide on what may be served."
    blanks = {"n": Blank(str(-days), unit), "item": Blank(path[-1])}
    return [Caution(PAST_USE, "serious", text, deferral, "shelf life as stated", "house", (), path, blanks)]
