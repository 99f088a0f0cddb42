"""How long a part keeps: common practice by its kind, with the caution and the deferral that belong to it."""

from typing import Literal

from msgspec import Struct

from schemas.part import (
    AcidPart,
    AdjustedJuicePart,
    CordialPart,
    FoamPart,
    PartIn,
    PeelJuicePart,
    SalinePart,
    SpiritCutPart,
    SyrupPart,
)
from service.evaluate import Evaluation
from service.preparation import Prepared

SOURCE = "common practice, no source"
DEFERRAL = "Not a safety assessment: local food codes and licensed practice decide; when in doubt, discard."


class Keeping(Struct, frozen=True):
    """``days`` as common practice has it (``None``: as long as its spirit), where it is kept, and what to beware of."""

    days: int | None
    storage: Literal["ambient", "chilled", "frozen"]
    text: str
    cautions: tuple[str, ...]
    source: str = SOURCE
    deferral: str = DEFERRAL


def keeping_of(part: PartIn, made: Prepared, evaluation: Evaluation) -> Keeping:
    """Common practice for one part; a life of something in it that is shorter wins."""
    found = _by_kind(part, made)
    kinds = {leaf.item.kind for leaf in evaluation.leaves.values()}
    cautions = list(found.cautions)
    days = found.days
    if "egg" in kinds:
        cautions.append(
            "Raw or lightly treated egg can carry salmonella: use pasteurised egg where guests are old, young, "
            "pregnant or ill, and tell every guest. Allergen: egg."
        )
        days = 1 if days is None else min(days, 1)
    if kinds & {"dairy", "nut"}:
        cautions.append("Dairy and nuts are perishable and allergens: keep below 5 C, and tell every guest.")
        days = 3 if days is None else min(days, 3)
    life = evaluation.lives.get(made.spec.id)
    if life is not None and (days is None or life.days < days):
        days = life.days
    text = found.text
    if life is not None and days == life.days and days != found.days:
        text = f"{text} Shorter here: {life.reason}."
    return Keeping(days, found.storage, text, tuple(cautions))


def _by_kind(part: PartIn, made: Prepared) -> Keeping:
    if isinstance(part, SyrupPart):
        return _syrup(part)
    if isinstance(part, AcidPart | SalinePart):
        return _solution(part)
    if isinstance(part, SpiritCutPart):
        return _cut(made)
    if isinstance(part, FoamPart):
        return _foam(part)
    assert isinstance(part, CordialPart | AdjustedJuicePart | PeelJuicePart)
    return _juice(part)


def _syrup(part: SyrupPart) -> Keeping:
    thin = part.brix < 65
    caution = (
        "Below 65 Brix yeast and mould grow: keep it cold, and discard it when it turns cloudy or fizzes."
        if thin
        else "Above 65 Brix it keeps longer, but its surface thins by condensation: keep it closed."
    )
    return Keeping(14 if thin else 30, "chilled", "2 weeks cold below 65 Brix, a month above it.", (caution,))


def _solution(part: AcidPart | SalinePart) -> Keeping:
    if isinstance(part, SalinePart):
        return Keeping(
            30, "ambient", "A month closed; weak solutions are made fresh.", ("Dose by drops: it is strong.",)
        )
    cautions = [
        "Concentrated acid burns eyes and skin: add acid to water, wear glasses and gloves, label the bottle.",
        "Food-grade acids alone; acid wears teeth, so keep drinks to the acidity that juice would give.",
    ]
    return Keeping(
        30, "chilled", "A month cold; an acid solution as weak as juice is used within two weeks.", tuple(cautions)
    )


def _cut(made: Prepared) -> Keeping:
    abv = made.batch.abv_percent
    strong = abv is not None and abv >= 20.0
    cautions = ["Strong spirit burns: no flame near it while it is poured. Duty and labels may change with strength."]
    if not strong:
        cautions.append("Below 20 % vol a spirit no longer keeps itself: keep it cold.")
    return Keeping(
        None if strong else 14, "ambient" if strong else "chilled", "As the spirit from 20 % vol on.", tuple(cautions)
    )


def _juice(part: CordialPart | AdjustedJuicePart | PeelJuicePart) -> Keeping:
    if isinstance(part, CordialPart):
        sweet = part.sugars_g_per_100_ml >= 50 and part.acid_mmol_per_100_ml >= 45
        caution = (
            "Its pH is not known: measure it. Below pH 4.2 and with much sugar it keeps longer; no canning by this."
        )
        return Keeping(
            14 if sweet else 7, "chilled", "2 weeks cold with 50 g of sugar and 3 g of citric acid, a week below.",
            (caution,),
        )  # fmt: skip
    cautions = ["Titration is not pH: measure the pH. Fresh juice ferments and its aroma fades within a day."]
    if isinstance(part, PeelJuicePart):
        cautions.append(
            "Wash fruit before peeling: peel carries wax and sprays. Peel oils can irritate skin in the sun."
        )
        return Keeping(7, "chilled", "A week cold without juice in it, less with it.", tuple(cautions))
    return Keeping(2, "chilled", "Two days cold.", tuple(cautions))


def _foam(part: FoamPart) -> Keeping:
    cautions = [
        "A foam is low in acid, alcohol or sugar more often than not: make it for one service and keep it cold."
    ]
    if part.charged:
        cautions.append(
            "Chargers: only a vessel made and tested for the pressure, never over its fill line or its number of "
            "chargers, never opened under pressure. Nitrous oxide is not for inhaling, and its sale is restricted."
        )
    return Keeping(1, "chilled", "One service.", tuple(cautions))
