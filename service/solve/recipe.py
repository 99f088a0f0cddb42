"""The equations of a part: which items its amounts are solved for, and what the mixture of them has to be."""

from collections.abc import Sequence
from functools import cache

from msgspec import Struct

from schemas.drink import Drink, Line
from schemas.evaluation import EvaluationRequest
from schemas.part import (
    AcidPart,
    AcidShare,
    AdjustedJuicePart,
    CordialPart,
    MakePartRequest,
    PeelJuicePart,
    SalinePart,
    SpiritCutPart,
    SyrupPart,
)
from schemas.preparation import PreparationLine
from service.errors import InputFault, OutOfRange
from service.mixture import Mixture, Part, Substance
from service.physics.acidity import titratable_mmol
from service.physics.ethanol import abv_percent_from_us_proof
from service.solve.amounts import Equation, Proportion, solved, whole_of
from service.solve.question import Desk, acid_mmol, acids_g, known
from service.solve.spec import text_of
from service.substance import ETHANOL_G_PER_ML

WATER = "water"


@cache
def _no_drink() -> Drink:
    """Stands where a request has to have a drink and nobody looks at it; made when first asked for."""
    return Drink(id="none", name="none", lines=(Line(item=WATER, amount="1 ml"),))


class Ingredient(Struct, frozen=True):
    """One ingredient of the part: base units for the batch, in its basis; strained out where it only gives flavour."""

    item: str
    substance: Substance
    base: float
    strained_out: bool = False


class Recipe:
    """One part on its way: which items, which equations, and the amounts that meet them."""

    def __init__(self, request: MakePartRequest, desk: Desk) -> None:
        self._request, self._desk = request, desk
        self._columns: list[tuple[str, Substance]] = []
        self._fixed: list[Ingredient] = []
        self._equations: list[Equation | Proportion] = []
        self.ingredients: list[Ingredient] = []
        self.target_mmol_per_ml: float | None = None
        part = request.part
        if isinstance(part, SyrupPart):
            self._of_syrup(part)
        elif isinstance(part, SalinePart):
            self._of_saline(part)
        elif isinstance(part, SpiritCutPart):
            self._of_cut(part)
        elif isinstance(part, CordialPart):
            self._of_cordial(part)
        elif isinstance(part, AcidPart):
            self._of_acids(part)
        elif isinstance(part, AdjustedJuicePart):
            self._of_adjusted(part)
        elif isinstance(part, PeelJuicePart):
            self._of_peel(part)

    def _substance(self, item: str, pointer: str, *needed: str) -> Substance:
        if item == self._request.id:
            raise InputFault("cycle", "A part is not made of itself.", pointer)
        asked = EvaluationRequest.model_construct(
            _fields_set=None,
            drink=_no_drink(),
            ingredients=self._request.ingredients, preparations=self._request.preparations,
            offers=self._request.offers, measures=self._request.measures,
        )  # fmt: skip
        made = self._desk.substances(asked, [(item, pointer)])[0][item]
        for name in needed:
            known(made, name, pointer)
        return made

    def _column(self, item: str, pointer: str, *needed: str) -> None:
        self._columns.append((item, self._substance(item, pointer, *needed)))

    def _volume(self, make_ml: float) -> None:
        self._equations.append(Equation("volume", lambda mix: mix.volume_ml - make_ml, make_ml))

    def _of_syrup(self, part: SyrupPart) -> None:
        self._column(part.sugar, "/part/sugar", "sugars")
        self._column(WATER, "/part")
        share = part.brix / 100.0
        self._equations.append(
            Equation("brix", lambda mix: mix.content("sugars") - share * (mix.mass_g or 0.0), part.make_ml)
        )
        self._volume(part.make_ml)

    def _of_saline(self, part: SalinePart) -> None:
        self._column(part.salt, "/part/salt")
        self._column(WATER, "/part")
        share = part.strength_percent / 100.0
        self._equations.append(
            Equation("strength", lambda mix: mix.content("salt") - share * (mix.mass_g or 0.0), part.make_ml)
        )
        self._volume(part.make_ml)

    def _of_cut(self, part: SpiritCutPart) -> None:
        self._column(part.spirit, "/part/spirit", "ethanol")
        self._column(WATER, "/part")
        wanted, place = part.to_abv_percent, "/part/to_abv_percent"
        if part.to_us_proof is not None:
            wanted, place = abv_percent_from_us_proof(part.to_us_proof), "/part/to_us_proof"
        assert wanted is not None
        made = self._columns[0][1]
        strength = made.contents.get("ethanol", 0.0) / ETHANOL_G_PER_ML * 100.0
        if made.basis != "ml" or strength < wanted * (1 - 1e-9):
            detail = f"Water brings it to {strength:.2f} % vol or less; this is stronger than the spirit."
            raise InputFault("cut_not_possible", detail, place)
        grams = wanted / 100.0 * ETHANOL_G_PER_ML
        self._equations.append(
            Equation("strength", lambda mix: mix.ethanol_g - grams * mix.volume_ml, max(grams, 0.01) * part.make_ml)
        )
        self._volume(part.make_ml)

    def _of_cordial(self, part: CordialPart) -> None:
        juice = self._substance(part.juice, "/part/juice", "sugars", "acid")
        if juice.basis != "ml":
            raise InputFault("not_a_liquid", "A cordial's juice is kept by volume.", "/part/juice")
        self._fixed.append(Ingredient(part.juice, juice, part.make_ml * part.juice_percent / 100.0))
        self._column(part.sugar, "/part/sugar", "sugars", "acid")
        self._column(part.acid, "/part/acid", "acid", "sugars")
        self._column(WATER, "/part")
        sugars = part.sugars_g_per_100_ml * part.make_ml / 100.0
        acid = part.acid_mmol_per_100_ml * part.make_ml / 100.0
        self._equations.append(Equation("sugars", lambda mix: mix.content("sugars") - sugars, max(sugars, 1.0)))
        self._equations.append(Equation("acid", lambda mix: acid_mmol(mix) - acid, max(acid, 1.0)))
        self._volume(part.make_ml)

    def _acids(self, acids: Sequence[AcidShare]) -> None:
        """Columns of the acids, and equations that keep them in their shares by mass of the acid itself."""
        own: list[float] = []
        first = len(self._columns)
        for place, one in enumerate(acids):
            pointer = f"/part/acids/{place}/item"
            self._column(one.item, pointer, "acid", "sugars")
            made = self._columns[-1][1]
            own.append(sum(acids_g(_one(made)).values()))
            if own[-1] <= 0:
                raise InputFault("not_an_acid", "This item states no acid.", pointer)
        leads = [max(acids_g(_one(made)).items(), key=lambda row: row[1])[0] for _, made in self._columns[first:]]
        for place in range(1, len(acids)):
            if leads[place] in leads[:place]:
                raise InputFault("acids_alike", "Name each acid once.", f"/part/acids/{place}/item")
            ratio = acids[place].share / acids[0].share
            self._equations.append(Proportion({first + place: own[place], first: -ratio * own[0]}))

    def _mmol_per_ml(self, like: str) -> float:
        made = self._substance(like, "/part/like", "acid")
        if made.basis != "ml":
            raise InputFault("not_a_liquid", "An acidity is taken over from a liquid.", "/part/like")
        found = titratable_mmol(acids_g(_one(made)))
        if found <= 0:
            raise InputFault("not_an_acid", "This item states no acid.", "/part/like")
        self.target_mmol_per_ml = found
        return found

    def _of_acids(self, part: AcidPart) -> None:
        self._acids(part.acids)
        self._column(WATER, "/part")
        if part.like is not None:
            self._acidity(part.like, part.make_ml)
        else:
            share = (part.strength_percent or 0.0) / 100.0
            self._equations.append(
                Equation("strength", lambda mix: mix.acids_g - share * (mix.mass_g or 0.0), part.make_ml)
            )
        self._volume(part.make_ml)

    def _acidity(self, like: str, make_ml: float) -> None:
        wanted = self._mmol_per_ml(like) * make_ml
        self._equations.append(Equation("acid", lambda mix: acid_mmol(mix) - wanted, wanted))

    def _of_adjusted(self, part: AdjustedJuicePart) -> None:
        self._acids(part.acids)
        self._column(part.juice, "/part/juice", "acid", "sugars")
        self._acidity(part.like, part.make_ml)
        self._volume(part.make_ml)

    def _of_peel(self, part: PeelJuicePart) -> None:
        peel = self._substance(part.peel, "/part/peel")
        if part.juice_ml:
            if part.juice_ml >= part.make_ml:
                raise InputFault("out_of_range", "Less juice than the batch.", "/part/juice_ml")
            juice = self._substance(part.like, "/part/like", "acid", "sugars")
            self._fixed.append(Ingredient(part.like, juice, part.juice_ml))
        self._acids(part.acids)
        self._column(WATER, "/part")
        self._acidity(part.like, part.make_ml)
        self._volume(part.make_ml)
        if peel.basis != "g":
            raise InputFault("not_by_mass", "Peel is weighed: name the fruit or its peel.", "/part/peel")
        self.ingredients.append(Ingredient(part.peel, peel, part.peel_g, True))

    def solve(self) -> None:
        """The amounts. Raises ``InputFault`` where no amounts of 0 or more meet the figures."""
        fixed = [Part(one.substance, one.base) for one in self._fixed]
        columns = [made for _, made in self._columns]
        make_ml = self._request.part.make_ml  # type: ignore[union-attr]  # a foam is not solved
        try:
            found = solved(fixed, columns, self._equations, [0.5 * make_ml / len(columns)] * len(columns))
        except OutOfRange:
            found = None
        if found is None:
            raise InputFault("part_not_possible", self._why(), "/part")
        self.ingredients += [
            *self._fixed,
            *(Ingredient(item, made, base) for (item, made), base in zip(self._columns, found, strict=True)),
        ]

    def _why(self) -> str:
        """In words, with the bound that is nearest where it is plain."""
        part = self._request.part
        if isinstance(part, SyrupPart):
            mix = _one(self._columns[0][1])
            brix = 100.0 * mix.content("sugars") / (mix.mass_g or 1.0)
            return f"Water only thins: {part.sugar} itself has {brix:.1f} Brix, so a syrup of it has at most that."
        if isinstance(part, AdjustedJuicePart | PeelJuicePart):
            return "Acid only adds: the juice is as acid as that already, or the volume does not hold it all."
        return "No amounts of 0 or more of these items meet the figures: ask for less juice, or for other figures."

    def lines(self) -> tuple[PreparationLine, ...]:
        """The lines as they are written; one of which nothing is needed is left out."""
        rows = [(one, text_of(one.base, one.substance.basis)) for one in self.ingredients]
        return tuple([
            PreparationLine(item=one.item, amount=text, strained_out=one.strained_out)
            for one, text in rows
            if text is not None
        ])  # fmt: skip


def _one(made: Substance) -> Mixture:
    """One base unit of a substance."""
    return whole_of((), (made,), (1.0,))
