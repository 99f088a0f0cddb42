import pytest

from service.errors import OutOfRange
from service.physics import proof


def test_a_gallon_of_water_weighs_what_the_manual_says() -> None:
    """27 CFR 30.41 (b): 0.120074 wine gallons per pound of water at 60 F."""
    assert proof.wine_gallons_per_lb(0.0) == pytest.approx(0.120074, rel=6e-5)


def test_reduction_by_weight_and_by_volume_agree() -> None:
    """A gallon of water weighs 1 / 0.120074 pounds (27 CFR 30.41): both routes must add the same water."""
    spirits_lb = 100.0 / proof.wine_gallons_per_lb(160.0)
    by_weight = proof.water_to_reduce_lb(spirits_lb, 160.0, 80.0) * proof.wine_gallons_per_lb(0.0)
    assert by_weight == pytest.approx(proof.water_to_reduce_gallons(160.0, 80.0), rel=2e-4)


def test_proof_gallons_are_kept_when_water_is_added() -> None:
    water_lb = proof.water_to_reduce_lb(1000.0, 190.0, 100.0)
    after = proof.proof_gallons(1000.0 + water_lb, 100.0)
    assert after == pytest.approx(proof.proof_gallons(1000.0, 190.0), rel=1e-12)


def test_mixing_shrinks() -> None:
    for us_proof in (20.0, 80.0, 100.0, 150.0, 190.0):
        assert us_proof / 2.0 + proof.water_parts(us_proof) > 100.0
    assert proof.water_parts(0.0) == pytest.approx(100.0)
    assert proof.water_parts(200.0) == pytest.approx(0.0, abs=1e-9)


def test_no_reduction_upwards() -> None:
    for from_proof, to_proof in ((80.0, 90.0), (80.0, 0.0)):
        with pytest.raises(OutOfRange, match="to_proof"):
            proof.water_to_reduce_lb(100.0, from_proof, to_proof)
        with pytest.raises(OutOfRange, match="to_proof"):
            proof.water_to_reduce_gallons(from_proof, to_proof)
    with pytest.raises(OutOfRange, match="us_proof"):
        proof.proof_gallons(1.0, 201.0)
