"""Materials of the study file."""

from collections.abc import Iterable
from typing import Annotated

from pydantic import Field

from studies.study.entries import LossAngle, Permeability, Table, number_entry, quantity_entry, text_entry, word_entry


def curve_names() -> Iterable[str]:
    """Names of the built-in magnetisation curves."""
    from fem.curve_data import CURVES  # heavy

    return tuple(CURVES)


class Brauer(Table):
    """Constants of H = (k1 exp(k2 B^2) + k3) B: k1 [m/H], k2 [1/T^2], k3 [m/H]."""

    k1: Annotated[float, number_entry(0, 1e6, "3.8", above=True), Field(description="k1 [m/H]")]
    k2: Annotated[float, number_entry(0, 100, "2.17", above=True), Field(description="k2 [1/T^2]")]
    k3: Annotated[float, number_entry(0, 1e6, "396.2"), Field(description="k3 [m/H]")]


class StudyMaterial(Table):
    """A material of the study.

    Conductivity [S/m] or resistivity [ohm m] at 20 degC, relative permeability [-], temperature coefficient [1/K]; for
    steel that saturates a magnetisation curve: a built-in one by name, a file of points, or constants; loss angle of
    the complex permeability [rad].
    """

    relative_permeability: Annotated[
        Permeability | None, Field(description="relative permeability; with a curve it may be left out")
    ] = None
    conductivity: Annotated[
        Annotated[float, quantity_entry("conductivity")] | None, Field(description="conductivity at 20 degC")
    ] = None
    resistivity: Annotated[
        Annotated[float, quantity_entry("resistivity")] | None,
        Field(description="resistivity at 20 degC, in place of conductivity"),
    ] = None
    temperature_coefficient: Annotated[
        float,
        quantity_entry("temperature coefficient"),
        Field(description="rise of the resistivity, relative to 20 degC"),
    ] = 0.0
    curve: Annotated[
        Annotated[str, word_entry("magnetisation curve", curve_names, '"mild-steel-curve"')] | None,
        Field(description="built-in magnetisation curve"),
    ] = None
    curve_file: Annotated[
        Annotated[str, text_entry('"steel.csv"')] | None,
        Field(description="file of points H_A_per_m,B_T, path from the study file's folder"),
    ] = None
    brauer: Annotated[
        Brauer | None,
        Field(description="constants of H = (k1 exp(k2 B^2) + k3) B", examples=["{ k1 = 3.8, k2 = 2.17, k3 = 396.2 }"]),
    ] = None
    loss_angle: Annotated[
        LossAngle,
        Field(
            description="angle of the complex permeability, for hysteresis; of steel sheet 15 to 20 deg at hundreds of "
            "A/m, less below"
        ),
    ] = 0.0
