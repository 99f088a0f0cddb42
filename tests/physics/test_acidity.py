"""Titratable acidity against arithmetic with atomic weights (C 12.011, H 1.008, O 15.999, P 30.974)."""

import pytest

from service.errors import DataFault, OutOfRange
from service.item import ACIDS
from service.physics.acidity import MMOL_PER_G, titratable_mmol

CARBON, HYDROGEN, OXYGEN, PHOSPHORUS = 12.011, 1.008, 15.999, 30.974

FORMULAS = {
    "citric": (6 * CARBON + 8 * HYDROGEN + 7 * OXYGEN, 3),
    "malic": (4 * CARBON + 6 * HYDROGEN + 5 * OXYGEN, 2),
    "tartaric": (4 * CARBON + 6 * HYDROGEN + 6 * OXYGEN, 2),
    "lactic": (3 * CARBON + 6 * HYDROGEN + 3 * OXYGEN, 1),
    "acetic": (2 * CARBON + 4 * HYDROGEN + 2 * OXYGEN, 1),
    "phosphoric": (3 * HYDROGEN + PHOSPHORUS + 4 * OXYGEN, 2),
    "titratable_as_citric": (6 * CARBON + 8 * HYDROGEN + 7 * OXYGEN, 3),
}


def test_every_acid_of_an_item_is_held() -> None:
    assert set(MMOL_PER_G) == set(ACIDS) == set(FORMULAS)


@pytest.mark.parametrize("acid", FORMULAS)
def test_a_gram_gives_protons_over_molar_mass(acid: str) -> None:
    molar_mass, protons = FORMULAS[acid]
    assert titratable_mmol({acid: 1.0}) == pytest.approx(1000 * protons / molar_mass, rel=1e-5)


def test_lime_acid_by_hand() -> None:
    """Arithmetic: 4 g citric and 2 g malic are 4 / 192.12 x 3 + 2 / 134.09 x 2 = 62.46 + 29.83 mmol."""
    assert titratable_mmol({"citric": 4.0, "malic": 2.0}) == pytest.approx(92.29, abs=0.01)


def test_what_is_no_acid_or_no_mass_is_refused() -> None:
    with pytest.raises(DataFault):
        titratable_mmol({"carbonic": 1.0})
    with pytest.raises(OutOfRange):
        titratable_mmol({"citric": -1.0})
