"""What every question of the desk stands on: the day, the rules, what ids may name, and whether money may be seen."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TypeVar

from msgspec import Struct

from schemas.drink import Drink, Line
from schemas.evaluation import EvaluationRequest, Section
from service.choosing import Offer
from service.errors import InputFault, InputFaults
from service.evaluate import Evaluation, evaluate, measures_of, reference_substance
from service.lookup import Catalogue, Lookup
from service.mixture import ACID, Mixture, Substance
from service.modifiers import modified
from service.offers import OffersOver, offers_by_item
from service.physics.acidity import titratable_mmol
from service.reference import Reference
from service.resolve import Resolver

Asked = TypeVar("Asked", bound=EvaluationRequest)

LABEL: tuple[Section, ...] = ("alcohol", "nutrition", "allergens", "balance")
ALL: tuple[Section, ...] = ("cost", "price", *LABEL)

FIELDS: Mapping[str, str] = {"ethanol": "abv_percent", "sugars": "sugars_g", "acid": "acids_g"}
"""What an item has to state for a figure to be known."""


class Desk(Struct, frozen=True):
    """Where a question is answered; ``sees_costs`` is false for a key without the scope for money."""

    day: date
    jurisdictions: tuple[str, ...]
    reference: Reference
    catalogue: Catalogue
    sees_costs: bool = True

    def evaluation(self, request: EvaluationRequest) -> Evaluation:
        """The evaluation of a plain request, without its money where that may not be seen."""
        seen = ALL if self.sees_costs else LABEL
        plain_request = request.model_copy(update={"include": seen, "trace": False, "with_": ()})
        return evaluate(plain_request, self.day, self.jurisdictions, self.reference, self.catalogue)

    def day_of(self, request: EvaluationRequest) -> date:
        """The day the answer is for."""
        return request.as_of or self.day

    def offers(self, request: EvaluationRequest) -> Mapping[str, tuple[Offer, ...]]:
        """Every offer by its item, the request's before the catalogue's."""
        own = offers_by_item(request.offers, measures_of(request.measures))
        return OffersOver(own, self.catalogue.offers) if own else self.catalogue.offers

    def substances(
        self, request: EvaluationRequest, named: Sequence[tuple[str, str]]
    ) -> tuple[dict[str, Substance], Mapping[str, str]]:
        """The substances of ids (each with its pointer into the request) and the kind of each.

        Raises the faults of what they name, each at its pointer.
        """
        lookup = Lookup(request.ingredients, request.preparations, self.catalogue, self.reference)
        found: dict[str, Substance] = {}
        for item_id, pointer in named:
            if item_id in found:
                continue
            probe = Drink(id="probe", name="probe", lines=(Line(item=item_id, amount="1 g", role="garnish"),))
            resolver = Resolver(lookup, measures_of(request.measures), self.offers(request), reference_substance)
            try:
                found[item_id] = resolver.resolved(probe).lines[0].substance
            except InputFault as fault:
                raise (
                    fault if not fault.pointer.startswith("/drink") else InputFault(fault.code, fault.detail, pointer)
                ) from None
            except InputFaults as faults:
                raise InputFault(faults.faults[0].code, faults.faults[0].detail, pointer) from None
        return found, {item_id: made.kind for item_id, made in found.items()}


def begun(request: Asked, desk: Desk) -> tuple[Asked, Evaluation]:
    """The request with its modifiers done, and the evaluation of its drink as it stands before anything is solved.

    Raises ``InputFault`` or ``InputFaults`` with pointers to where a modifier or the drink says what is wrong.
    """
    if not request.with_:
        return request, desk.evaluation(request)
    changed = modified(request.drink, request.with_)
    asked = request.model_copy(update={"drink": changed.drink, "with_": ()})
    try:
        return asked, desk.evaluation(asked)
    except InputFault as fault:
        raise changed.at_origin(fault) from None
    except InputFaults as faults:
        raise InputFaults([changed.at_origin(one) for one in faults.faults]) from None


def acids_g(mix: Mixture) -> dict[str, float]:
    """Grams of each acid by its own name."""
    return {name[len(ACID) :]: grams for name, grams in mix.contents.items() if name.startswith(ACID)}


def acid_mmol(mix: Mixture) -> float:
    """Titratable acidity in mmol of H+."""
    return titratable_mmol(acids_g(mix))


def held_figure(mix: Mixture, name: str) -> float:
    """What may be held of a mixture: ethanol and sugars in g, acid in mmol H+, volume in ml."""
    if name == "acid":
        return acid_mmol(mix)
    return mix.volume_ml if name == "volume" else mix.content(name)


def known(made: Substance, name: str, pointer: str) -> None:
    """Raises ``InputFault`` where a substance does not state what a figure needs: unknown is never taken as 0."""
    field = FIELDS.get(name)
    if field is not None and field in made.unknown.fields:
        missing = sorted({item for item, one in made.unknown.among((field,))})
        detail = f"{field} of {', '.join(missing) or made.id} is not known, so {name} cannot be solved for: state it."
        raise InputFault("content_unknown", detail, pointer)
    if name == "volume" and made.basis == "ml" and made.density_g_per_ml is None and not made.contents:
        raise InputFault("content_unknown", f"Nothing is known of what {made.id} holds: state it.", pointer)
