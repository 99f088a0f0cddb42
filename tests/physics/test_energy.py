import pytest

from service.errors import DataFault
from service.physics.energy import energy

# Regulation (EU) No 1169/2011, annex XIV, kJ/g and kcal/g.
EU_KJ = {"carbohydrate": 17.0, "protein": 17.0, "fat": 37.0, "ethanol": 29.0, "organic_acids": 13.0}
EU_KCAL = {"carbohydrate": 4.0, "protein": 4.0, "fat": 9.0, "ethanol": 7.0, "organic_acids": 3.0}


def test_each_unit_is_summed_with_its_own_factors() -> None:
    grams = {"ethanol": 18.72, "carbohydrate": 9.6, "organic_acids": 1.35}
    assert energy(grams, EU_KJ) == pytest.approx(542.88 + 163.2 + 17.55)
    assert energy(grams, EU_KCAL) == pytest.approx(131.04 + 38.4 + 4.05)


def test_sum_is_exact_whatever_the_order() -> None:
    grams = {"carbohydrate": 1e16, "protein": 1.0, "fat": 1.0}
    assert energy(grams, dict.fromkeys(grams, 1.0)) == 1e16 + 2.0


def test_nothing_has_no_energy() -> None:
    assert energy({}, EU_KJ) == 0.0


def test_missing_factor_is_never_zero() -> None:
    with pytest.raises(DataFault, match="No energy factor for 'polyols'; factors are held for carbohydrate"):
        energy({"polyols": 1.0}, EU_KJ)
