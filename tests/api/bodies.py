"""Request bodies of an invented bar: a small one, and one that has every field of the contract."""

import copy
import json
from typing import Any


def small() -> dict[str, Any]:
    """The smallest request that has an answer."""
    return {"drink": {"id": "dock-light", "name": "Dock Light", "lines": [{"item": "water", "amount": "10 ml"}]}}


def full() -> dict[str, Any]:
    """A request with every field of every schema in it at least once."""
    return copy.deepcopy(_FULL)


def raw(body: object) -> bytes:
    """The body as compact JSON."""
    return json.dumps(body, separators=(",", ":")).encode()


_FULL: dict[str, Any] = {
    "drink": {
        "id": "quay-sour",
        "name": "Quay Sour",
        "serves": 2,
        "parts_total": "120 ml",
        "lines": [
            {"item": "pier-rum", "amount": "2 parts", "alternatives": ["rum-aged-40"], "charge": "used"},
            {"item": "tea-syrup-own", "amount": {"value": 2, "unit": "part"}},
            {"item": "lime-juice", "amount": {"value": "3/4", "unit": "oz"}},
            {"item": "absinthe-60", "amount": "5 ml", "role": "rinse", "residue_ml": 1},
            {"item": "soda-water", "amount": "fill", "role": "top", "charge": "whole_unit"},
            {"item": "pier-rum", "amount": "1 wheel", "role": "garnish", "eaten": False},
            {"item": "whey-own", "amount": "5 ml"},
            {"item": "salt-foam", "amount": "10 ml"},
            {"item": "fizz-base", "amount": "5 ml"},
        ],
        "method": {"kind": "shaken", "water": {"ml": 40}},
        "serve": {"glass_ml": 500, "line_ml": 480, "ice": {"kind": "cubes", "ice_g": 80}},
        "modifiers": [
            {
                "id": "double",
                "name": "Double",
                "remove": ["fizz-base"],
                "replace": [{"item": "lime-juice", "with": "lemon-juice", "amount": "20 ml"}],
                "scale": [{"item": "pier-rum", "factor": "1.5"}, {"role": "rinse", "factor": 0.5}],
                "add": [
                    {"item": "orange-bitters", "amount": "1 dash", "role": "top", "residue_ml": 0, "eaten": False,
                     "alternatives": ["aromatic-bitters"], "charge": "used"},
                ],
                "price_delta": "-0.50",
                "external_id": "PLU 4711",
            },
            {"id": "large", "name": "Large", "scale": 1.25},
        ],
        "measured": {
            "volume_ml": 800, "mass_g": 790, "brix": 12, "hydrometer": {"abv_percent": 5, "t_c": 18}, "use": False,
        },
    },
    "with": ["double", "large"],
    "ingredients": [
        {
            "id": "pier-rum",
            "name": "Pier rum",
            "kind": "spirit",
            "abv_percent": "46",
            "density_g_per_ml": 0.94,
            "per_100": {
                "basis": "ml",
                "sugars_g": 0.5,
                "carbohydrate_g": 0.6,
                "acids_g": {"citric": 0.1},
                "protein_g": 0,
                "fat_g": 0,
                "saturates_g": 0,
                "fibre_g": 0,
                "polyols_g": {"sorbitol": 0.1},
                "salt_g": 0,
                "caffeine_mg": 0,
                "quinine_mg": 0,
                "sulphites_mg": 1,
                "glycyrrhizin_mg": 0,
            },
            "process": ["distilled"],
            "pieces": {"each_g": 100, "wheel": {"g": 8}, "wedge": {"share": 0.125}},
            "animal_origin": ["honey"],
            "allergens": {"milk": {"state": "may_contain", "process": "whey_distillate"}, "nuts": "absent"},
            "allergens_declared": "partial",
            "evidence": {
                "document": "Specification R-46", "issuer": "Pier Distillery", "dated": "2026-02-01",
                "reviewed_by": "bar manager", "review_by": "2027-02-01", "supplier": "Example Quay Supply",
            },
            "open_life_days": 90,
            "bottle_residue_ml": 5,
        },
        {
            "id": "pier-curds",
            "name": "Curds",
            "density_g_per_ml": 1.1,
            "per_100": {"basis": "g", "polyols_g": 0},
            "animal_origin": "unknown",
        },
    ],
    "preparations": [
        {
            "id": "tea-syrup-own",
            "name": "Tea syrup",
            "parts_total": "1 l",
            "lines": [
                {"item": "white-sugar", "amount": "500 g"},
                {"item": "water", "amount": {"value": "500", "unit": "g"}},
                {"item": "black-tea-leaf", "amount": "20 g", "strained_out": True, "absorbs_ml": 40, "role": "pour",
                 "alternatives": ["green-tea-leaf"], "charge": "used"},
            ],
            "steps": [
                {
                    "kind": "clarifying",
                    "keeps": {
                        "ethanol": 1, "water": 1, "sugars": 1, "acids": 1, "salt": 1, "protein": 0.5, "fat": 0.5,
                    },
                    "measured": {"brix": 49.5},
                },
                {"kind": "other", "measured": {"mass_g": 950}},
                {"kind": "other", "measured": {"volume_ml": 770}},
                {"kind": "other", "measured": {"abv_percent": 0}},
            ],
            "yield": {"loss_percent": "4"},
            "made_on": "2026-11-20",
            "shelf_life_days": 14,
            "storage": "chilled",
            "minutes": 20,
        },
        {
            "id": "milk-split",
            "name": "Split milk",
            "lines": [{"item": "whole-milk", "amount": "1 l"}],
            "outputs": [
                {"id": "whey-own", "amount": "800 ml", "cost_share_percent": "60"},
                {"id": "pier-curds", "amount": "150 g", "cost_share_percent": "40"},
            ],
        },
        {
            "id": "salt-foam",
            "name": "Salt foam",
            "lines": [{"item": "water", "amount": "100 ml"}],
            "overrun_percent": 100,
            "yield": {"amount": "50 ml", "reduced": True},
        },
        {
            "id": "fizz-base",
            "name": "Fizz base",
            "lines": [{"item": "water", "amount": "100 ml"}],
            "yield": {"outputs": [{"id": "fizz-own", "amount": "90 ml", "cost_share_percent": "100"}]},
        },
    ],
    "offers": [
        {
            "id": "offer-1",
            "item": "pier-rum",
            "supplier": "Example Quay Supply",
            "code": "R-46",
            "gtin": "9520123456788",
            "pack": {"count": 6, "size": "700 ml"},
            "price": {"amount": "141.00", "currency": "EUR"},
            "tax_included": True,
            "tax_rate_percent": "21",
            "deposit": {"amount": "1.20", "currency": "EUR"},
            "delivery": "2.00",
            "discount_percent": "2",
            "free_units": 1,
            "rebate": "1.00",
            "duty": {"state": "suspended", "amount": "20.00"},
            "valid_from": "2026-09-01",
            "valid_to": "2026-12-31",
            "preferred": True,
        },
        {
            "id": "offer-2",
            "item": "white-sugar",
            "supplier": "Example Quay Supply",
            "pack": {"size": "1 kg"},
            "price": {"amount": "1.50", "currency": "USD"},
            "duty": "paid",
            "deposit": "0.10",
            "delivery": {"amount": "0.10", "currency": "USD"},
            "rebate": {"amount": "0.05", "currency": "USD"},
        },
    ],
    "pricing": {
        "currency": "EUR",
        "choose": {"pier-rum": "offer-1"},
        "rates": [{"from": "USD", "to": "EUR", "rate": "0.92", "as_of": "2026-11-20"}],
        "target": {
            "gross_margin_percent": "78", "pour_cost_percent": "22", "markup_percent": "300", "cash_margin": "5.00",
        },
        "tax": {"rate_percent": "21", "included": True},
        "round": {"to": "0.50", "mode": "up"},
        "allowances": {"over_pour_percent": "3", "spillage_percent": "1"},
        "labour": {"minutes": "2", "rate_per_hour": "18.00"},
        "floor": "2.00",
        "menu_price": "13.00",
    },
    "measures": {
        "ounce": "us", "dash_ml": 0.8, "drop_ml": 0.05, "barspoon_ml": 5, "water_fraction": {"built": 0.2},
        "tolerances": {
            "pour_with": "jigger", "pour_percent": {"jigger": 4}, "strength_percent_vol": {"pier-rum": 0.3},
            "acid_percent": {"lime-juice": 12}, "water_percent": 10,
        },
    },
    "house": {
        "cross_contact": [
            {"allergens": ["eggs"], "equipment": "shaker", "methods": ["shaken"], "control": "rinsed"}
        ],
        "sold_as": "poured",
        "max_standard_drinks": 3,
        "chain_menu": True,
        "use_measured": False,
    },
    "jurisdictions": ["EU", "US"],
    "as_of": "2026-11-25",
    "include": ["cost", "price", "alcohol", "nutrition", "allergens", "balance"],
    "trace": False,
    "bands": False,
}  # fmt: skip
