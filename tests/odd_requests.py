"""Legal requests that no bar would write: every value the schemas allow, in every combination."""

from typing import Any

from hypothesis import strategies as st

KINDS = (
    "spirit",
    "liqueur",
    "fortified",
    "wine",
    "beer",
    "bitters",
    "syrup",
    "juice",
    "fruit",
    "dairy",
    "egg",
    "nut",
    "spice",
    "mixer",
    "acid",
    "additive",
    "water",
    "ice",
    "other",
)
STEPS = (
    "straining",
    "filtering",
    "centrifuging",
    "clarifying",
    "washing",
    "milk_washing",
    "fat_washing",
    "reducing",
    "drying",
    "heating",
    "carbonating",
    "freezing_out",
    "fermenting",
    "distilling",
    "redistilling",
    "other",
)
METHODS = (
    "none",
    "stirred",
    "shaken",
    "whipped",
    "dry_shaken",
    "thrown",
    "swizzled",
    "built",
    "blended",
    "spindle",
    "frozen",
    "carbonated",
    "heated",
    "draught",
    "prediluted",
)
KNOWN = (
    "gin-london-dry-40",
    "lime-juice",
    "simple-syrup-1-1",
    "white-sugar",
    "water",
    "salt",
    "egg-white",
    "whole-milk",
    "lime",
    "citric-acid",
    "erythritol",
    "ice",
    "aromatic-bitters",
    "gum-arabic",
    "sparkling-wine-dry",
    "almond",
    "honey",
)
MADE = tuple(f"made-{number}" for number in range(4))
ODD = tuple(f"odd-{number}" for number in range(4))

maybe = st.none
few = st.sampled_from((0, 0.0, 1e-9, 0.5, 1, 10, 40, 99.9, 100))
positive = st.sampled_from((5e-324, 1e-300, 1e-9, 0.01, 0.5, 1, 1.4, 30, 700, 100_000))
share = st.sampled_from((0, 1e-9, 0.25, 0.5, 1, 1.0))
amount = st.one_of(
    st.sampled_from(
        ("50 ml", "30 ml", "3/4 oz", "1 oz", "2 dashes", "1 drop", "100 l", "0.000000000001 ml", "5 g", "20 ml")
    ),
    st.sampled_from(
        ("100 kg", "1 mg", "1 cup", "2 parts", "1/3 part", "3/4 oz (22.5 ml)", "700 ml", "500 g", "1 l", "3 tsp")
    ),
    st.fixed_dictionaries(
        {"value": st.sampled_from((2, 0.1, 1e-12, "3/4", 99_999.5)), "unit": st.sampled_from(("ml", "ml", "g", "dash"))}
    ),
    st.sampled_from(("1 each", "50 ml", "10 g", "30 ml", "10000 each", "1 wheel", "60 ml")),
)


def without_none(made: dict[str, Any]) -> dict[str, Any]:
    """A mapping without the keys that were drawn as absent."""
    return {key: value for key, value in made.items() if value is not None}


def table(**fields: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    """A JSON object whose fields may each be absent."""
    return st.fixed_dictionaries({key: st.one_of(maybe(), value) for key, value in fields.items()}).map(without_none)


grams = st.one_of(st.sampled_from((0, 0, 0.5, 5, 10, 12)), few, st.sampled_from((0.1, 200)))
compositions = st.builds(
    lambda basis, rest: {"basis": basis, **rest},
    st.sampled_from(("ml", "g")),
    table(
        sugars_g=grams,
        carbohydrate_g=grams,
        acids_g=st.dictionaries(
            st.sampled_from(("citric", "malic", "tartaric", "lactic", "acetic", "phosphoric", "titratable_as_citric")),
            grams,
            max_size=2,
        ),
        protein_g=grams,
        fat_g=grams,
        saturates_g=grams,
        fibre_g=grams,
        polyols_g=st.one_of(
            grams, st.dictionaries(st.sampled_from(("erythritol", "glycerol", "unspecified")), grams, max_size=2)
        ),
        salt_g=grams,
        caffeine_mg=few,
        sulphites_mg=few,
    ),
)
pieces = table(
    each_g=positive,
    wheel=st.one_of(
        positive.map(lambda g: {"g": g}), st.sampled_from((5e-324, 0.125, 1)).map(lambda part: {"share": part})
    ),
)


def ingredients(item_id: str) -> st.SearchStrategy[dict[str, Any]]:
    return st.builds(
        lambda rest: {"id": item_id, "name": item_id, **rest},
        table(
            kind=st.sampled_from(KINDS),
            abv_percent=few,
            density_g_per_ml=st.sampled_from((0.9, 0.01, 0.5, 0.79, 1, 1.42, 5, 1.1, 0.95, 1.05, 0.005, 1.3)),
            per_100=st.one_of(compositions, compositions),
            pieces=pieces,
            open_life_days=st.integers(0, 3),
            bottle_residue_ml=few,
        ),
    )


measured = table(mass_g=positive, volume_ml=positive, brix=few, abv_percent=few)
keeps = table(ethanol=share, water=share, sugars=share, acids=share, salt=share, protein=share, fat=share)
steps = st.lists(
    st.builds(lambda kind, rest: {"kind": kind, **rest}, st.sampled_from(STEPS), table(keeps=keeps, measured=measured)),
    max_size=3,
)


def yields(number: int) -> st.SearchStrategy[dict[str, Any]]:
    loss = few.map(lambda percent: {"loss_percent": percent})
    whole = st.builds(lambda read, reduced: {"amount": read, "reduced": reduced}, amount, st.booleans())
    two = st.builds(
        lambda first, second: {
            "outputs": [
                {"id": f"product-{number}", "amount": first, "cost_share_percent": "60"},
                {"id": f"rest-{number}", "amount": second, "cost_share_percent": "40"},
            ]
        },
        amount,
        amount,
    )
    return st.one_of(loss, whole, loss, whole, two)


def preparations(number: int, refs: st.SearchStrategy[str]) -> st.SearchStrategy[dict[str, Any]]:
    """A preparation whose lines name any of ``refs``."""
    lines = st.lists(
        st.builds(
            lambda item, read, rest: {"item": item, "amount": read, **rest},
            refs,
            amount,
            table(strained_out=st.booleans(), absorbs_ml=st.one_of(st.just(0), st.just(0), few, positive)),
        ),
        min_size=1,
        max_size=4,
    )
    return st.builds(
        lambda made, rest: {"id": MADE[number], "name": MADE[number], "lines": made, "parts_total": "90 ml", **rest},
        lines,
        st.builds(
            lambda first, second: {**first, **second},
            table(
                steps=steps,
                overrun_percent=st.sampled_from((0, 0, 80, 2000)),
                shelf_life_days=st.integers(0, 9),
                made_on=st.sampled_from(("2026-11-20", "2026-12-01")),
                minutes=few,
            ),
            st.one_of(st.just({}), yields(number).map(lambda made: {"yield": made})),
        ),
    )


on_the_bar = st.builds(
    lambda rest, reading, use: {"volume_ml": 100, **rest, **reading, "use": use},
    table(volume_ml=positive, mass_g=positive, brix=st.sampled_from((0, 5, 20))),
    st.builds(
        lambda scale, t_c: {} if scale is None else {"hydrometer": {**scale, "t_c": t_c}},
        st.sampled_from((None, {"abv_percent": 20}, {"us_proof": 1}, {"density_kg_per_m3": 1010})),
        st.sampled_from((0, 20, 40)),
    ),
    st.sampled_from((False, False, True)),
)
"""What a house measured of the drink, sense or nonsense."""

tolerances = table(
    pour_with=st.sampled_from(("free_pour", "stamped_measure")),
    pour_percent=st.sampled_from(({}, {"jigger": 0}, {"dash": 100, "mass": 100, "piece": 50})),
    strength_percent_vol=st.dictionaries(st.sampled_from((*KNOWN, *ODD)), st.sampled_from((0, 1, 20)), max_size=3),
    acid_percent=st.sampled_from(({}, {"lime-juice": 100})),
    water_percent=few,
)

water = st.one_of(
    few.map(lambda ml: {"ml": ml}),
    share.map(lambda part: {"fraction": part}),
    st.builds(lambda g, c: {"ice_g": g, "ice_c": c}, positive, st.sampled_from((-80, -18, 0))),
)


@st.composite
def requests(draw: st.DrawFn) -> dict[str, Any]:
    """A whole request; items, preparations and joint products may all be named."""
    names = [*KNOWN, *ODD]
    made = []
    for number in range(draw(st.integers(0, 4))):
        made.append(draw(preparations(number, st.sampled_from(tuple(names)))))
        names += [MADE[number], *(output["id"] for output in made[-1].get("yield", {}).get("outputs", ()))]
    refs = st.sampled_from((*names, *names[len(KNOWN) + len(ODD) :]))
    lines = draw(
        st.lists(
            st.builds(
                lambda item, read, rest: {"item": item, "amount": read, **rest},
                refs,
                amount,
                table(
                    role=st.sampled_from(("pour", "pour", "top", "rinse", "garnish", "consumable")),
                    residue_ml=share,
                    eaten=st.booleans(),
                    alternatives=st.lists(refs, max_size=2),
                    charge=st.sampled_from(("used", "used", "whole_unit")),
                ),
            ),
            min_size=1,
            max_size=5,
        )
    )
    if draw(st.integers(0, 4)) == 0:
        lines.append({"item": draw(refs), "amount": "fill", "role": "top"})
    ounce = draw(st.sampled_from(("us", "imperial", "metric")))
    return {
        "drink": {
            "id": "odd",
            "name": "Odd",
            "serves": draw(st.sampled_from((1, 1, 3, 10_000))),
            "lines": lines,
            "parts_total": "120 ml",
            "method": without_none({"kind": draw(st.sampled_from(METHODS)), "water": draw(st.one_of(maybe(), water))}),
            "serve": without_none(
                {
                    "glass_ml": draw(st.sampled_from((None, 5e-324, 180, 400, 100_000, 1000))),
                    "ice": draw(table(kind=st.sampled_from(("none", "cubes")), ice_g=positive)),
                }
            ),
            **draw(st.sampled_from(({}, {}, {"measured": draw(on_the_bar)}))),
        },
        "ingredients": [draw(ingredients(item_id)) for item_id in ODD],
        "preparations": made,
        "offers": [
            {
                "id": f"offer-{item}",
                "item": item,
                "supplier": "S",
                "pack": {"size": draw(st.sampled_from(("700 ml", "1 kg", "1 each")))},
                "price": {"amount": "10.00", "currency": "EUR"},
            }
            for item in draw(st.lists(st.sampled_from((*KNOWN, *ODD)), max_size=3, unique=True))
        ],
        "measures": {
            "ounce": ounce,
            "water_fraction": draw(st.sampled_from(({}, {"swizzled": 0.3}, {"shaken": 5}))),
            "tolerances": draw(tolerances),
        },
        "pricing": {
            "currency": "EUR",
            "target": {"gross_margin_percent": "78"},
            "labour": {"minutes": "2", "rate_per_hour": "15.00"},
        },
        "jurisdictions": ["EU", "US"],
        "as_of": "2026-11-25",
        "bands": draw(st.booleans()),
    }
