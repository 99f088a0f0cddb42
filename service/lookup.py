"""What an id of a line may name: the request first, then the catalogue, then the embedded reference."""

from collections.abc import Iterable, Mapping

from msgspec import Struct, field

import schemas.ingredient as contract
from schemas.preparation import Output, Preparation
from service.choosing import Offer
from service.errors import InputFault
from service.item import AllergenEntry, Composition, Evidence, Item, Piece
from service.reference import Reference


class Catalogue(Struct, frozen=True):
    """Stored things by id; ``offers`` are by the item they sell. Empty where nothing is stored.

    ``outputs`` are the joint products of the preparations, each with the id of its preparation.
    """

    items: Mapping[str, Item]
    preparations: Mapping[str, Preparation]
    offers: Mapping[str, tuple[Offer, ...]]
    outputs: Mapping[str, tuple[str, Output]] = field(default_factory=dict)


EMPTY_CATALOGUE = Catalogue({}, {}, {})


class Place(Struct, frozen=True):
    """Where a preparation stands: its pointer into the request, or empty for a stored one."""

    preparation: Preparation
    pointer: str
    origin: str


class Lookup:
    """Everything that the ids of one request may name. Duplicate ids are refused when it is made."""

    def __init__(
        self,
        ingredients: Iterable[contract.Ingredient],
        preparations: Iterable[Preparation],
        catalogue: Catalogue,
        reference: Reference,
    ) -> None:
        self._catalogue = catalogue
        self._reference = reference
        self._ingredients: dict[str, tuple[int, contract.Ingredient]] = {}
        self._items: dict[str, Item] = {}
        self._places: dict[str, Place] = {}
        self._outputs: dict[str, tuple[str, Output]] = {}
        for index, ingredient in enumerate(ingredients):
            if ingredient.id in self._ingredients:
                raise InputFault(
                    "duplicate_id", "Another ingredient of the request has this id.", f"/ingredients/{index}/id"
                )
            self._ingredients[ingredient.id] = (index, ingredient)
        for index, preparation in enumerate(preparations):
            self._add(preparation, f"/preparations/{index}")

    def _add(self, preparation: Preparation, pointer: str) -> None:
        if preparation.id in self._places or preparation.id in self._outputs or preparation.id in self._ingredients:
            raise InputFault("duplicate_id", "Another entry of the request has this id.", pointer + "/id")
        self._places[preparation.id] = Place(preparation, pointer, "request")
        outputs = "/outputs" if preparation.outputs is not None else "/yield/outputs"
        for number, output in enumerate(outputs_of(preparation)):
            if output.id in self._outputs or output.id in self._places:
                raise InputFault(
                    "duplicate_id", "Another entry of the request has this id.", f"{pointer}{outputs}/{number}/id"
                )
            self._outputs[output.id] = (preparation.id, output)

    def preparation(self, item_id: str) -> Place | None:
        """The preparation of that id, unless an ingredient of the request has it."""
        place = self._places.get(item_id)
        if place is None and item_id not in self._ingredients and item_id in self._catalogue.preparations:
            place = Place(self._catalogue.preparations[item_id], "", "catalogue")
        return place

    def output(self, item_id: str) -> tuple[str, Output] | None:
        """The preparation that gives a product of that id, with the product."""
        found = self._outputs.get(item_id)
        if found is None and item_id not in self._ingredients and item_id not in self._places:
            found = self._catalogue.outputs.get(item_id)
        return found

    def item(self, item_id: str) -> Item | None:
        """The bought item of that id."""
        known = self._items.get(item_id)
        if known is not None:
            return known
        found = self._ingredients.get(item_id)
        if found is not None:
            made = self._items[item_id] = item_of(found[1])
            return made
        return self._catalogue.items.get(item_id) or self._reference.items.get(item_id)

    def pointer(self, item_id: str) -> str:
        """Where the item of that id stands in the request; empty for a stored or embedded one."""
        found = self._ingredients.get(item_id)
        return "" if found is None else f"/ingredients/{found[0]}"

    def nearest(self, item_id: str) -> tuple[str, ...]:
        """Known ids that look like ``item_id``."""
        also = [
            *self._ingredients,
            *self._places,
            *self._outputs,
            *self._catalogue.items,
            *self._catalogue.preparations,
        ]
        return self._reference.nearest_ids(item_id, also=also)


def outputs_of(preparation: Preparation) -> tuple[Output, ...]:
    """The joint products, wherever the preparation states them."""
    if preparation.outputs is not None:
        return preparation.outputs
    return (preparation.yield_.outputs or ()) if preparation.yield_ is not None else ()


def item_of(ingredient: contract.Ingredient) -> Item:
    """An ingredient of the request as an item."""
    per_100 = () if ingredient.per_100 is None else (_composition(ingredient.per_100),)
    pieces = ingredient.pieces
    extra = {} if pieces is None else (pieces.__pydantic_extra__ or {})
    return Item(
        id=ingredient.id,
        name=ingredient.name,
        kind=ingredient.kind,
        abv_percent=ingredient.abv_percent,
        density_g_per_ml=ingredient.density_g_per_ml,
        per_100=per_100,
        process=ingredient.process,
        allergens={key: _entry(value) for key, value in ingredient.allergens.items()},
        allergens_declared=ingredient.allergens_declared,
        animal_origin=_origins(ingredient),
        each_g=None if pieces is None else pieces.each_g,
        pieces={name: Piece(piece.g, piece.share) for name, piece in extra.items()},
        open_life_days=ingredient.open_life_days,
        bottle_residue_ml=ingredient.bottle_residue_ml or 0.0,
        origin="request",
        evidence=_evidence(ingredient.evidence),
    )


def _evidence(stated: contract.Evidence | None) -> Evidence | None:
    if stated is None:
        return None
    return Evidence(stated.document, stated.issuer, stated.dated, stated.reviewed_by, stated.review_by, stated.supplier)


def _origins(ingredient: contract.Ingredient) -> tuple[str, ...] | None:
    """Animal origins as stated; ``None`` where nothing is, and an origin that is said to be unknown stays so."""
    origin = ingredient.animal_origin
    if origin == "unknown":
        return ("unknown",) if "animal_origin" in ingredient.model_fields_set else None
    return () if origin == "none" else tuple(origin)


def _entry(value: "contract.AllergenSource | str") -> AllergenEntry:
    return AllergenEntry(value) if isinstance(value, str) else AllergenEntry(value.state, value.process)


_AMOUNTS = (
    "sugars_g", "carbohydrate_g", "protein_g", "fat_g", "saturates_g", "fibre_g", "salt_g", "caffeine_mg", "quinine_mg",
    "sulphites_mg", "glycyrrhizin_mg",
)  # fmt: skip


def _composition(per_100: contract.PerHundredOf) -> Composition:
    amounts = {name: value for name in _AMOUNTS if (value := getattr(per_100, name)) is not None}
    polyols = per_100.polyols_g
    if isinstance(polyols, float):
        polyols = {"unspecified": polyols} if polyols else {}
    return Composition(per_100.basis, amounts, per_100.acids_g, polyols)  # type: ignore[arg-type]  # literal keys are text
