"""GET /v1/physics/...: the bare formulas, for hydrometer and refractometer readings and for inspectors."""

from typing import Annotated

from fastapi import APIRouter, Depends, Query

from schemas.physics import (
    DilutionQuery,
    EthanolDensityQuery,
    FreezingPointQuery,
    ProofQuery,
    Reading,
    SucroseDensityQuery,
)
from service.api.documentation import QUERY_REFUSALS
from service.api.parameters import each_once
from service.errors import InputFault, OutOfRange
from service.physics import dilution, ethanol, freezing, mixing, sugar
from service.report.figures import shown

router = APIRouter(
    prefix="/v1/physics",
    tags=["physics"],
    responses=QUERY_REFUSALS,
    dependencies=[
        Depends(each_once(EthanolDensityQuery, SucroseDensityQuery, ProofQuery, FreezingPointQuery, DilutionQuery))
    ],
)

PROOF_NOTE = "Proof is defined at 60 F: the % vol is that at 60 F. At 20 C it reads {at_20:.2f} % vol."
FREEZING_NOTE = "Published tables disagree by about 1 C; keep 1.5 C above it. Acids and salt are left out."
DILUTION_NOTE = "Measure the water where it matters; trade figures quote about half as much."


def _reading(value: float, unit: str, source: str, note: str = "", in_range: bool = True, places: int = 2) -> Reading:
    return Reading(value=shown(value, places) or 0.0, unit=unit, in_range=in_range, source=source, note=note)


@router.get("/ethanol-density", operation_id="ethanol_density", summary="Density of ethanol and water")
async def ethanol_density(query: Annotated[EthanolDensityQuery, Query()]) -> Reading:
    """Density in kg/m3 of ethanol and water at a temperature, by OIML R 22."""
    if query.mass_percent is not None:
        fraction = query.mass_percent / 100.0
    else:
        fraction = ethanol.mass_fraction_from_abv_percent(query.abv_percent or 0.0)
    return _reading(ethanol.density_kg_per_m3(fraction, query.t_c), "kg/m3", "OIML R 22")


@router.get("/sucrose-density", operation_id="sucrose_density", summary="Density of sucrose and water")
async def sucrose_density(query: Annotated[SucroseDensityQuery, Query()]) -> Reading:
    """Density in kg/m3 of sucrose and water at a temperature, by ICUMSA."""
    return _reading(sugar.sucrose_density_kg_per_m3(query.brix / 100.0, query.t_c), "kg/m3", "ICUMSA")


@router.get("/proof", operation_id="proof", summary="US proof and % vol")
async def proof(query: Annotated[ProofQuery, Query()]) -> Reading:
    """% vol of a US proof, or the proof of a % vol; both at 60 F, where proof is twice the % vol (27 CFR 5.1)."""
    if query.us_proof is not None:
        at_20 = ethanol.abv_percent_from_us_proof(query.us_proof)
        return _reading(query.us_proof / 2.0, "% vol", "27 CFR 5.1", PROOF_NOTE.format(at_20=at_20))
    abv = query.abv_percent or 0.0
    at_20 = ethanol.abv_percent_from_us_proof(2.0 * abv)
    return _reading(2.0 * abv, "US proof", "27 CFR 5.1", PROOF_NOTE.format(at_20=at_20))


@router.get("/freezing-point", operation_id="freezing_point", summary="Freezing point of a drink")
async def freezing_point(query: Annotated[FreezingPointQuery, Query()]) -> Reading:
    """Temperature in C at which the first ice forms in ethanol, sugar and water."""
    sugars = query.sugars_g_per_100_ml
    try:
        if query.mass_percent is not None:
            fraction = query.mass_percent / 100.0
            solvent_g = _solvent_g(fraction, sugars)
            value = freezing.freezing_point_of_mix_c(solvent_g * fraction, solvent_g * (1.0 - fraction), sugars)
        else:
            value = freezing.freezing_point_of_strength_c(query.abv_percent or 0.0, sugars)
    except OutOfRange as fault:
        strength = "abv_percent" if query.mass_percent is None else "mass_percent"
        raise _freezing_fault(fault, strength) from None
    return _reading(value, "C", freezing.SOURCE, FREEZING_NOTE)


def _freezing_fault(fault: OutOfRange, strength: str) -> InputFault:
    """A fault in the caller's terms; the formula speaks of mass fractions and molality."""
    if fault.name == "ethanol_mass_fraction":
        detail = f"The formula holds to {100 * freezing.W_HIGH:g} % of ethanol by mass in ethanol and water: send less."
        return InputFault("out_of_range", detail, f"/{strength}")
    detail = f"The formula holds to {freezing.M_HIGH:g} mol of sugar in 1 kg of water: send less sugar or less ethanol."
    return InputFault("out_of_range", detail, "/sugars_g_per_100_ml")


def _solvent_g(ethanol_fraction: float, sugars_g: float) -> float:
    """Grams of ethanol and water that fill 100 ml beside ``sugars_g`` of sugar, by bisection."""
    low, high = 0.0, 110.0
    if mixing.volume_ml(0.0, 0.0, sugars_g) >= 100.0:
        raise OutOfRange("sugars_g_per_100_ml", sugars_g, 0.0, 155.0, "sugar alone fills 100 ml")
    for _ in range(60):
        middle = 0.5 * (low + high)
        if mixing.volume_ml(middle * ethanol_fraction, middle * (1.0 - ethanol_fraction), sugars_g) < 100.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@router.get("/dilution", operation_id="dilution", summary="Water from stirring or shaking on ice")
async def dilution_fraction(query: Annotated[DilutionQuery, Query()]) -> Reading:
    """Water added as a share of the volume before ice, by a published regression."""
    fraction = query.abv_percent / 100.0
    value = dilution.MODELS[query.method](fraction)
    low, high = (100 * bound for bound in dilution.IN_RANGE)
    inside = dilution.in_range(fraction)
    note = DILUTION_NOTE if inside else f"Published for {low:g} to {high:g} % vol. {DILUTION_NOTE}"
    return _reading(value, "fraction of the volume before ice", dilution.SOURCES[query.method], note, inside, 4)
