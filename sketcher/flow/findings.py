"""What the flow has to say beside numbers: findings with a stable rule name, and the rules themselves."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

Level = Literal["error", "warning", "note"]
PRACTICE = "common practice, no source"


@dataclass(frozen=True)
class FlowRule:
    """A rule: its name, what it asks, its default limit with its unit, and why it is there."""

    name: str
    title: str
    limit: float | None
    unit: str
    reason: str
    source: str


#: Every rule of the flow. A document overrides a limit by name under ``limits``.
RULES: dict[str, FlowRule] = {
    rule.name: rule
    for rule in (
        FlowRule("no-pump", "The loop has a pump", None, "", "Nothing moves without one.", PRACTICE),
        FlowRule("pump-curve-unknown", "The pump's curve says what it moves", None, "",
                 "Without a flow and a pressure there is no operating point.", PRACTICE),
        FlowRule("pump-dead-headed", "The pump's outlet leads back to its inlet", None, "",
                 "A pump that runs against a closed end moves nothing and heats its own water.", PRACTICE),
        FlowRule("pumps-fight", "No pump is pushed backwards by another", None, "",
                 "A weaker pump beside a stronger one only turns the flow round in a circle.", PRACTICE),
        FlowRule("pump-curve-rises", "The operating point lies on the falling part of the curve", None, "",
                 "On the rising part the flow hunts between two points.", "pump handbooks, for example Karassik"),
        FlowRule("dead-end", "Water moves in every channel", None, "",
                 "Standing water carries no heat off, and keeps its air.", PRACTICE),
        FlowRule("short-circuit", "Little water passes the blocks by", 20.0, "%",
                 "A short way past the blocks takes the flow they need.", PRACTICE),
        FlowRule("device-unconnected", "Every device of the loop is joined to it", None, "",
                 "A block that no water reaches is not cooled.", PRACTICE),
        FlowRule("device-backwards", "Devices are passed from inlet to outlet", None, "",
                 "Many blocks cool worse from the wrong side.", PRACTICE),
        FlowRule("device-without-curve", "Every device has measured points", None, "",
                 "A made-up curve in their place gives a made-up flow.", PRACTICE),
        FlowRule("block-without-flow", "Water moves through every block that gives off heat", None, "",
                 "It would boil.", PRACTICE),
        FlowRule("no-radiator", "The loop's heat has somewhere to go", None, "",
                 "Without a radiator the water warms without end.", PRACTICE),
        FlowRule("water-too-warm", "The water stays below the loop's limit", None, "°C",
                 "Warm water softens tubes and leaves the chips no margin.", PRACTICE),
        FlowRule("plate-too-warm", "The water stays below what the plate's material bears", None, "°C",
                 "The plate creeps and its seal lets go.", "reference/data/materials.toml"),
        FlowRule("coolant-range", "The coolant is liquid and within its table", None, "°C",
                 "Ice bursts the plate, steam stops the flow, and outside the table nothing is known.",
                 "IAPWS; Melinder 2010"),
        FlowRule("velocity-high", "The water is not too fast", 2.0, "m/s",
                 "Fast water is loud and wears copper at its corners.", PRACTICE),
        FlowRule("velocity-low", "The water takes its air along", 0.1, "m/s",
                 "Bubbles stay where the water creeps.", PRACTICE),
        FlowRule("flow-uncertain", "The flow is clearly laminar or clearly turbulent", None, "",
                 "Between Re 2300 and 4000 the friction may be either.", "Shah and London 1978; Moody 1944"),
        FlowRule("outside-range", "Curves and formulas are used within their range", None, "",
                 "Beyond the points that were measured a curve is a guess.", PRACTICE),
        FlowRule("not-settled", "The flow and its temperature were found", None, "",
                 "An answer that did not settle is no answer.", PRACTICE),
        FlowRule("assumed", "What was assumed where the document is silent", None, "",
                 "So that nobody takes an assumption for a measurement.", PRACTICE),
    )
}  # fmt: skip


@dataclass(frozen=True)
class FlowFinding:
    """One thing found, with the keys of the checks' findings; ``at`` is filled in by whoever knows places."""

    rule: str
    level: Level
    items: tuple[str, ...]
    message: str
    mend: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""

    def as_json(self) -> dict[str, Any]:
        """The finding as plain data."""
        return {
            "rule": self.rule,
            "level": self.level,
            "items": list(self.items),
            "message": self.message,
            "mend": self.mend,
            "value": None if self.value is None else round(self.value, 4),
            "limit": self.limit,
            "unit": self.unit,
        }
