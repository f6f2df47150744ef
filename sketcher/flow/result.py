"""The answer for one document: operating point, losses by element, temperatures, findings; as plain data for JSON.

Quantities here are in the units of the boundary (l/min, kPa, °C, W, mm), as their names say.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any

import numpy as np

from sketcher.document.remembered import Remembered
from sketcher.findings import Finding
from sketcher.flow.device_curves import KPA, L_MIN
from sketcher.flow.diagnosis import diagnose
from sketcher.flow.ducts import Duct, DuctState
from sketcher.flow.network import STILL
from sketcher.flow.operating import Operation
from sketcher.flow.plumbing import Plumbing
from sketcher.flow.rings import pumped, rings

#: Digits kept in JSON: enough for anything that is drawn or compared, few enough to read.
_DIGITS = "%.9g"
_AS_IT_IS = (str, int, bool, type(None))


@dataclass(frozen=True, eq=False)
class FlowResult:
    """A loop and what it does. Everything else is worked out from the two when it is asked for."""

    loop: Plumbing
    now: Operation

    @cached_property
    def state(self) -> DuctState:
        """Reynolds numbers, friction and velocities of the ways."""
        ways = len(self.loop.links.ducts)
        return self.loop.links.ducts.state(self.now.flow[:ways], self.now.density, self.now.viscosity)

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What is wrong, or worth knowing."""
        return tuple(diagnose(self.loop, self.now, self.state))

    @property
    def flows(self) -> bool:
        """Whether anything flows at all."""
        return bool(float(np.abs(self.now.flow).max(initial=0.0)) > STILL)

    @cached_property
    def pump_flow_l_min(self) -> float:
        """The loop's flow: that of pumps in series, the sum of pumps side by side."""
        return pumped(self.loop, self.now)[0] / L_MIN

    @cached_property
    def pump_pressure_kpa(self) -> float:
        """Pressure that the pumps give together at that flow."""
        return pumped(self.loop, self.now)[1] / KPA

    def link(self, element: str) -> int:
        """The link of an element's id. Raises KeyError."""
        return self.loop_links[element]

    @cached_property
    def loop_links(self) -> dict[str, int]:
        """The link of every element, by its id."""
        return {element.id: link for link, element in enumerate(self.loop.elements)}

    def as_json(self) -> dict[str, Any]:
        """The answer with the keys of ``flow --json``; further answers stand in ``answers.further``."""
        fluid, now = self.loop.coolant, self.now
        plain: dict[str, Any] = rounded(
            {
                "coolant": {
                    "name": fluid.name,
                    "temperature_c": now.mean_c,
                    "density_kg_m3": now.density,
                    "viscosity_pa_s": float(fluid.viscosity(now.mean_c)),
                    "heat_capacity_j_kg_k": now.capacity / now.density,
                    "conductivity_w_m_k": float(fluid.conductivity(now.mean_c)),
                },
                "operating_point": {
                    "flow_l_min": self.pump_flow_l_min,
                    "pump_pressure_kpa": self.pump_pressure_kpa,
                    "settled": now.settled,
                },
                "pumps": [self._pump(link) for link in self.loop.pumps],
                "loops": list(self._loops()),
                "elements": (),  # their rows are most of the answer, and are rounded as they are made
                "temperatures": list(self._temperatures()),
                "heat": {
                    "into_water_w": float(now.temperatures.heat[now.temperatures.heat > 0].sum()),
                    "out_of_water_w": float(-now.temperatures.heat[now.temperatures.heat < 0].sum()),
                    "lost_w": now.temperatures.lost_w,
                    "room_c": self.loop.document.loop.room_c,
                },
                "volume_l": self.loop.volume * 1000,
                "findings": [finding.as_json() for finding in self.findings],
            }
        )
        plain["elements"] = list(self._elements())
        return plain

    def _loops(self) -> Iterator[dict[str, Any]]:
        """Every loop of its own, with its operating point; one without a running pump stands."""
        for ring in rings(self.loop):
            flow, pressure = pumped(self.loop, self.now, ring) if ring.driven else (0.0, 0.0)
            yield {
                "devices": list(ring.devices),
                "pumps": [self.loop.elements[link].id for link in ring.pumps],
                "driven": ring.driven,
                "flow_l_min": flow / L_MIN,
                "pump_pressure_kpa": pressure / KPA,
            }

    def _pump(self, link: int) -> dict[str, Any]:
        pump, flow = self.loop.pumps[link], float(self.now.flow[link])
        return {
            "id": self.loop.elements[link].id,
            "flow_l_min": flow / L_MIN,
            "pressure_kpa": -float(self.now.drop[link]) / KPA if pump.curve.known else 0.0,
            "speed_percent": pump.speed * 100,
            "within_points": pump.curve.covers(flow, pump.speed),
        }

    @cached_property
    def _power(self) -> float:
        """What all passive elements take out of the flow, W of pumping."""
        power = self.now.flow * self.now.drop
        return float(sum(lost for link, lost in enumerate(power.tolist()) if link not in self.loop.pumps))

    def _elements(self) -> Iterator[dict[str, Any]]:
        now, ways, flows, pumps, power = self.now, len(self.loop.links.ducts), self.flows, self.loop.pumps, self._power
        # As plain numbers: taking them out of arrays one by one takes longer than the sums.
        columns = (now.flow.tolist(), now.drop.tolist(), now.temperatures.inlet.tolist(),
                   now.temperatures.outlet.tolist())  # fmt: skip
        state = self._state_rows()
        for link, (element, flow, drop, inlet, outlet) in enumerate(zip(self.loop.elements, *columns, strict=True)):
            still = abs(flow) <= STILL
            along = 0.0 if still else drop * (1 if flow >= 0 else -1)
            row: dict[str, Any] = {
                "id": element.id,
                "kind": element.kind,
                "item": element.item,
                "flow_l_min": _short(abs(flow) / L_MIN),
                "direction": 0 if still else (1 if flow > 0 else -1),
                "pressure_drop_kpa": _short(along / KPA),
                "share": 0.0 if link in pumps or not power else _short(abs(flow) * along / power),
                "inlet_c": _short(inlet) if flows else None,
                "outlet_c": _short(outlet) if flows else None,
            }
            if link < ways:
                row |= self._way(self.loop.links.ducts.items[link], state[link], still, along)
            yield row

    def _state_rows(self) -> list[tuple[float, ...]]:
        """Of every way Reynolds number, friction factor, velocity, friction (Pa) and viscosity (Pa s)."""
        state = self.state
        columns = (state.reynolds, state.friction_factor, state.velocity, state.friction, self.now.viscosity)
        return list(zip(*(column.tolist() for column in columns), strict=True))

    def _way(self, duct: Duct, state: tuple[float, ...], still: bool, along: float) -> dict[str, Any]:
        reynolds, factor, velocity, friction, viscosity = state
        friction = 0.0 if still else friction
        minor = 0.0 if still else along - friction
        head = 0.5 * self.now.density * velocity**2
        return {
            **_sections.of((duct,), None, partial(_section, duct)),
            "velocity_m_s": _short(velocity),
            "reynolds": _short(reynolds),
            "friction_factor": None if still else _short(factor),
            "friction_kpa": _short(friction / KPA),
            "minor_loss_coefficient": None if still else _short(minor / head),
            "minor_kpa": _short(minor / KPA),
            "viscosity_pa_s": _short(viscosity),
        }

    def _temperatures(self) -> Iterator[dict[str, Any]]:
        found = self.now.temperatures
        for link in range(len(self.loop.links.ducts), len(self.loop.elements)):
            moving = abs(self.now.flow[link]) > STILL and self.flows
            yield {
                "id": self.loop.elements[link].id,
                "inlet_c": float(found.inlet[link]) if moving else None,
                "outlet_c": float(found.outlet[link]) if moving else None,
                "heat_w": float(found.heat[link]) if moving else 0.0,
            }


_sections: Remembered[dict[str, float]] = Remembered()


def _section(duct: Duct) -> dict[str, float]:
    """What of a way depends on no flow, rounded."""
    sides = {"diameter_mm": duct.width} if duct.round else {"width_mm": duct.width, "depth_mm": duct.depth}
    sides |= {"length_mm": duct.length, "hydraulic_diameter_mm": duct.hydraulic_diameter}
    return {key: rounded(value * 1000) for key, value in sides.items()}


def _short(value: float) -> float:
    """A number as it is written: rounded to a readable number of significant digits; -0.0 becomes 0.0."""
    return float(_DIGITS % value) + 0.0


def rounded(value: Any) -> Any:
    """Plain data with its floats rounded to a readable number of significant digits; -0.0 becomes 0.0."""
    if isinstance(value, float):
        return _short(value)
    if value.__class__ is dict:
        # Most entries are floats and names: they are not worth a call each.
        return {
            key: _short(entry)
            if entry.__class__ is float
            else entry
            if entry.__class__ in _AS_IT_IS
            else rounded(entry)
            for key, entry in value.items()
        }
    if isinstance(value, list | tuple):
        return [rounded(entry) for entry in value]
    return value
