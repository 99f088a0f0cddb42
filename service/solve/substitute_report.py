"""A swap as the contract writes it: what was held, what went with the old item, what comes with the new one."""

from service.mixture import Mixture
from service.physics.acidity import NOTE as ACID_NOTE
from service.physics.tables import JUICE_ACIDS
from service.report.figures import Json, missing_rows, shown
from service.solve.compare import Compared, compare_answer, minutes_of
from service.solve.meta import meta_of
from service.solve.question import FIELDS, acid_mmol, held_figure
from service.solve.substitute import FIGURES, HELD_WITHIN, Substituted

UNITS = {"ethanol": "g", "sugars": "g", "acid": "mmol", "volume": "ml"}


def substitute_answer(found: Substituted) -> Json:
    """The answer of POST /v1/substitute; money only where the key sees it."""
    rows = (Compared(found.before, minutes_of(found.before)), Compared(found.after, minutes_of(found.after)))
    return {
        "item": found.request.item,
        "by": found.request.by,
        "solved": not unmet(found),
        "amounts": [
            {
                "item": row.item,
                "role": row.role,
                "unit": row.substance.basis,
                "before": shown(_whole(found, row.before)),
                "after": shown(_whole(found, row.after)),
            }
            for row in found.columns
        ],
        "held": [_held(found, name) for name in found.request.hold],
        "unmet": unmet(found),
        "beside": [_figure(found, name) for name in FIGURES if name not in found.request.hold],
        "lost": _of(found.lost),
        "acidity": [_juice(item) for item in (found.request.item, found.request.by) if item in JUICE_ACIDS],
        "drink": found.drink.model_dump(mode="json", by_alias=True, exclude_defaults=True),
        "compared": compare_answer(rows)["drinks"],
        "notes": _notes(found),
        "meta": meta_of(found.before),
    }


def _whole(found: Substituted, base: float) -> float:
    return base * found.request.drink.serves


def unmet(found: Substituted) -> list[Json]:
    """What could not be held, with the nearest that the amounts of 0 or more reach."""
    rows: list[Json] = []
    for name in found.request.hold:
        before, after = held_figure(found.old, name), held_figure(found.new, name)
        if abs(after - before) > HELD_WITHIN * max(abs(before), 1.0) or name in found.unmet:
            detail = f"No amounts of 0 or more hold this; the nearest is shown. Name a helper that has {name}."
            rows.append({"figure": name, "wanted": shown(before), "nearest": shown(after), "detail": detail})
    return rows


def _held(found: Substituted, name: str) -> Json:
    before, after = held_figure(found.old, name), held_figure(found.new, name)
    return {
        "figure": name,
        "unit": UNITS[name],
        "before": shown(before),
        "after": shown(after),
        "held": abs(after - before) <= HELD_WITHIN * max(abs(before), 1.0),
    }


def _figure(found: Substituted, name: str) -> Json:
    """A figure that was not asked to stay; ``null`` where it is not known."""
    field = FIELDS.get(name)
    sides = [
        shown(held_figure(mix, name)) if field is None or mix.knows(field) else None for mix in (found.old, found.new)
    ]
    return {"figure": name, "unit": UNITS[name], "before": sides[0], "after": sides[1]}


def _of(mix: Mixture) -> Json:
    """What a part of the drink held."""
    return {
        "volume_ml": shown(mix.volume_ml),
        "water_g": shown(mix.content("water")),
        "sugars_g": shown(mix.content("sugars")) if mix.knows("sugars_g") else None,
        "acid_g": shown(mix.acids_g) if mix.knows("acids_g") else None,
        "acid_mmol": shown(acid_mmol(mix)) if mix.knows("acids_g") else None,
        "ethanol_g": shown(mix.ethanol_g) if mix.knows("abv_percent") else None,
        "missing": missing_rows(mix.missing("abv_percent", "sugars_g", "acids_g")),
    }


def _juice(item: str) -> Json:
    """How far fruit of one kind spreads; what the drink is computed with stands in the reference."""
    entry = JUICE_ACIDS[item]
    return {
        "item": item,
        "citric_g_per_l": entry.scalar("citric_g_per_l"),
        "sd_g_per_l": entry.scalar("sd_g_per_l"),
        "source": entry.source,
        "standing": entry.standing,
        "note": f"{entry.note} The swap is computed with the acids that the item itself states.",
    }


def _notes(found: Substituted) -> list[str]:
    notes = []
    if "acid" in found.request.hold:
        notes.append(ACID_NOTE)
    notes.append("Aroma, colour and mouthfeel are in no figure, and another item brings other allergens: see compared.")
    return notes
