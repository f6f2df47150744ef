"""Makes ``data/coolants.csv`` with CoolProp. Run by hand; the running program reads the file and never imports this.

    python -m sketcher.reference.make_coolants

Water is IAPWS R6-95 (density, heat capacity), R12-08 (viscosity) and R15-11 (conductivity) at 101.325 kPa. Glycol
mixtures are Melinder's correlations, mass fraction 0 to 60 %, from each mixture's freezing point upwards.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

PRESSURE_PA = 101_325.0
ZERO_C = 273.15
STRENGTHS_PERCENT = [2.5 * step for step in range(25)]
STEP_C = 5
HOTTEST_C = 100
MIXTURES = {"ethylene-glycol": "INCOMP::MEG", "propylene-glycol": "INCOMP::MPG"}
WATER_SOURCE = "IAPWS R6-95 R12-08 R15-11"
MIXTURE_SOURCE = "Melinder 2010"
HEADER = (
    "kind,strength_percent,freezing_c,temperature_c,"
    "density_kg_m3,heat_capacity_j_kg_k,viscosity_pa_s,conductivity_w_m_k,source"
)


def _row(prop: object, fluid: str, celsius: float, pressure: float) -> str:
    values = [prop(key, "T", celsius + ZERO_C, "P", pressure, fluid) for key in ("D", "C", "V", "L")]  # type: ignore[operator]
    return ",".join(f"{value:.7g}" for value in values)


def rows() -> Iterator[str]:
    """The lines of the file, header first."""
    import CoolProp
    from CoolProp.CoolProp import PropsSI

    yield (
        f"# Made by sketcher/reference/make_coolants.py with CoolProp {CoolProp.__version__}; "
        "every row names the source that CoolProp cites."
    )
    yield "# Pressure 101.325 kPa; mixtures are incompressible; a freezing point of water is that at this pressure."
    yield HEADER
    for celsius in [0.01, *range(STEP_C, HOTTEST_C, STEP_C), 99.9]:
        yield f"water,0,0,{celsius},{_row(PropsSI, 'Water', celsius, PRESSURE_PA)},{WATER_SOURCE}"
    for kind, name in MIXTURES.items():
        for strength in STRENGTHS_PERCENT:
            fluid = f"{name}[{strength / 100}]"
            freezing = PropsSI("T_FREEZE", "T", 300, "P", PRESSURE_PA, fluid) - ZERO_C
            first = math.ceil((freezing + 0.01) / STEP_C) * STEP_C
            for celsius in range(first, HOTTEST_C + STEP_C, STEP_C):
                # Near 100 °C CoolProp asks for more pressure, which changes nothing in an incompressible liquid.
                yield (
                    f"{kind},{strength:g},{freezing:.4f},{celsius},"
                    f"{_row(PropsSI, fluid, celsius, 3 * PRESSURE_PA)},{MIXTURE_SOURCE}"
                )


def main() -> None:
    """Writes the file beside the other tables."""
    target = Path(__file__).parent / "data" / "coolants.csv"
    target.write_text("\n".join(rows()) + "\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
