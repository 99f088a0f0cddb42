"""What a pack states and what its label lacks, in the words that panel, sheet and menu print."""

from service.renderers.phrases import Phrases
from service.renderers.reading import Row, shown

STATED = ("net_ml", "lot", "made_on", "use_by", "storage", "responsible")
"""What a pack states, in the order of the panel."""

DAYS = ("made_on", "use_by")
"""Which of it are days: written out in day, month and year, as Regulation (EU) 1169/2011, Annex X, 2(b) asks."""


def pack_rows(pack: Row, words: Phrases) -> list[tuple[str, str]]:
    """Name and text of all that a pack states."""
    names = (
        words["net_quantity"], words["lot"], words["made_on"], words["date_use_by"], words["storage"],
        words["responsible"],
    )  # fmt: skip
    return [(name, _text(pack, key, words)) for name, key in zip(names, STATED, strict=True)]


def net_quantity(pack: Row, words: Phrases) -> str:
    """The net quantity with its unit."""
    return _text(pack, "net_ml", words)


def _text(pack: Row, key: str, words: Phrases) -> str:
    value = pack[key]
    if value is None:
        return words["not_known"]
    if key in DAYS:
        return words.day(value)
    return f"{words.number(value)} ml" if key == "net_ml" else str(value)


def lacking_of(pack: Row, code: str | None, words: Phrases) -> list[str]:
    """What the panel of one jurisdiction lacks, in words; of one that was not asked for nothing is known."""
    row = next((row for row in pack["panels"] if row["jurisdiction"] == code), None)
    missing = (
        [*(key for key in STATED if pack[key] is None), "strength", "allergens", "nutrition"]
        if row is None
        else row["missing"]
    )
    return [_missed(key, words) for key in missing]


def _missed(key: str, words: Phrases) -> str:
    if key == "net_ml":
        return words["net_quantity"]
    if key == "use_by":
        return words["use_by_date"]
    return words[key] if key in STATED else words[f"missing_{key}"]


def readiness(pack: Row, code: str | None, words: Phrases) -> str:
    """That the panel of a jurisdiction is ready, or that it is not and what it lacks."""
    lacking = lacking_of(pack, code, words)
    return words["not_ready_missing"].format(what=", ".join(lacking)) if lacking else words["pack_ready"]


def contents_of(pack: Row, code: str | None, words: Phrases) -> list[tuple[str, str]]:
    """What a panel prints of the whole pack in one jurisdiction; a figure that is not known says so."""
    names = {"standard_drinks": "standard_drinks", "ethanol_g": "ethanol", "energy": "nutrient_energy"}
    return [
        (
            f"{words[names[row['what']]]}, {words['whole_pack']}",
            words["not_known"] if row["text"] is None else words.foreign(row["text"], row["lang"]),
        )
        for held in pack["contents"]
        if held["jurisdiction"] == code
        for row in held["printed"]
    ]


def whole_packs_of(pack: Row, words: Phrases) -> list[tuple[str, str]]:
    """Standard drinks and energy of the whole pack in each jurisdiction, for the bar team."""
    rows = []
    for held in pack["contents"]:
        energy = shown(held["energy_kcal"], words, "kcal")
        if held["energy_kj"] is not None:
            energy = f"{shown(held['energy_kj'], words, 'kJ')}, {energy}"
        said = [shown(held["ethanol_g"], words, "g"), energy]
        if held["standard_drinks_text"] is not None:
            said.insert(0, held["standard_drinks_text"])
        rows.append((f"{words['pack']}, {held['jurisdiction']}", "; ".join(said)))
    return rows


def languages_of(pack: Row, words: Phrases) -> list[tuple[str, str, str]]:
    """A label in each of the languages that its jurisdiction asks for, with how far each text was checked."""
    return [
        (
            f"{words['on_the_label']}, {row['jurisdiction']}, {row['lang']}",
            words["not_known"] if one["text"] is None else words.foreign(one["text"], one["lang"]),
            words[f"standing_{one['standing']}"],
        )
        for row in pack["languages"]
        for one in row["texts"]
    ]


def sizes_of(pack: Row, words: Phrases) -> list[tuple[str, str]]:
    """How the net quantity stands to the sizes and servings of a law, in English, since they are for the bar team."""
    rows = []
    for fill in pack["fills"]:
        ends = [f"{words.number(fill[end])} ml" for end in ("below_ml", "above_ml") if fill[end] is not None]
        said = "it is one of them" if fill["standard"] else f"it is none of them; next to it {' and '.join(ends)}"
        rows.append((f"Sizes for {fill['commodity']}, {fill['jurisdiction']}", said))
    for span in pack["fill_within"]:
        low, high = (words.number(f"{span[end]:.10g}") for end in ("low_ml", "high_ml"))
        percent = words.number(f"{span['percent']:g}")
        name = f"Fill of each pack of {span['commodity']}, {span['jurisdiction']}"
        rows.append((name, f"between {low} and {high} ml, {percent} % either way ({span['source']})"))
    for serving in pack["servings"]:
        said = f"{words.number(serving['serving_ml'])} ml, "
        said += (
            words["not_known"] if serving["servings"] is None else f"{words.number(serving['servings'])} in the pack"
        )
        rows.append((f"Reference serving of {serving['commodity']}, {serving['jurisdiction']}", said))
    return [(words.foreign(name), words.foreign(said)) for name, said in rows]
