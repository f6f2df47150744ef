"""What is asked of the flow: its rules, in the one registry."""

from __future__ import annotations

from sketcher.document import Document
from sketcher.findings import PRACTICE, Rule, register

#: Every rule of the flow. A document overrides a limit by name under ``limits``.
RULES: dict[str, Rule] = {
    rule.name: register(rule, __name__)
    for rule in (
        Rule("no-pump", "flows", "The loop has a pump", None, "", "Nothing moves without one.", PRACTICE),
        Rule("pump-curve-unknown", "flows", "The pump's curve says what it moves", None, "",
                 "Without a flow and a pressure there is no operating point.", PRACTICE),
        Rule("pump-dead-headed", "flows", "The pump's outlet leads back to its inlet", None, "",
                 "A pump that runs against a closed end moves nothing and heats its own coolant.", PRACTICE),
        Rule("pumps-fight", "flows", "No pump is pushed backwards by another", None, "",
                 "A weaker pump beside a stronger one only turns the flow round in a circle.", PRACTICE),
        Rule("pump-curve-rises", "flows", "The operating point lies on the falling part of the curve", None, "",
                 "On the rising part the flow hunts between two points.", "pump handbooks, for example Karassik"),
        Rule("pump-stopped", "flows", "Every pump runs", None, "%",
                 "A pump that stands holds the flow back, or drives nothing.", PRACTICE),
        Rule("pump-reversed", "flows", "The pump drives the loop the right way round", None, "",
                 "Passed from the wrong side, many blocks cool worse.", PRACTICE),
        Rule("flow-low", "flows", "Every device gets the flow it needs", 0.5, "l/min",
                 "Below it a block or radiator works badly and a pump heats its own coolant; a device's own "
                 "flow_min_l_min takes precedence.", PRACTICE),
        Rule("block-starved", "flows", "The coolant warms little in any block", 10.0, "K",
                 "The far end of a starved block is as much warmer as its coolant.", PRACTICE),
        Rule("loops-separate", "flows", "All devices are in one loop", None, "",
                 "Two loops that do not meet are two pumps, two fillings and two temperatures.", PRACTICE),
        Rule("ring-without-pump", "flows", "Every ring has a pump", None, "W",
                 "Nothing moves in a ring that no pump drives.", PRACTICE),
        Rule("dead-end", "flows", "Coolant moves in every channel", None, "",
                 "Standing coolant carries no heat off, and keeps its air.", PRACTICE),
        Rule("short-circuit", "flows", "Little coolant passes the blocks by", 20.0, "%",
                 "A short way past the blocks takes the flow they need.", PRACTICE),
        Rule("device-unconnected", "flows", "Every device of the loop is joined to it", None, "",
                 "A block that no coolant reaches is not cooled.", PRACTICE),
        Rule("device-backwards", "flows", "Devices are passed from inlet to outlet", None, "",
                 "Many blocks cool worse from the wrong side.", PRACTICE),
        Rule("device-without-curve", "flows", "Every device has measured points", None, "",
                 "A made-up curve in their place gives a made-up flow.", PRACTICE),
        Rule("curve-doubted", "flows", "A block or radiator holds the coolant up more than an open hole so wide", 11.0,
                 "mm", "A curve in another unit makes every figure of the loop wrong.", PRACTICE),
        Rule("block-without-flow", "flows", "Coolant moves through every block that gives off heat", None, "",
                 "It would boil.", PRACTICE),
        Rule("no-radiator", "flows", "The loop's heat has somewhere to go", None, "",
                 "Without a radiator the coolant warms without end.", PRACTICE),
        Rule("water-too-warm", "flows", "The coolant stays below the loop's limit", None, "°C",
                 "Warm coolant softens tubes and leaves the chips no margin.", PRACTICE),
        Rule("plate-too-warm", "flows", "The coolant stays below what the plate's material bears", None, "°C",
                 "The plate creeps and its seal lets go.", "reference/data/materials.toml"),
        Rule("coolant-range", "flows", "The coolant is liquid and within its table", None, "°C",
                 "Ice bursts the plate, steam stops the flow, and outside the table nothing is known.",
                 "IAPWS; Melinder 2010"),
        Rule("velocity-high", "flows", "The coolant is not too fast in any channel, bore, tube or fitting", 2.0, "m/s",
                 "Fast coolant is loud and wears copper at its corners.", PRACTICE),
        Rule("velocity-low", "flows", "The coolant takes its air along", 0.1, "m/s",
                 "Bubbles stay where the coolant creeps.", PRACTICE),
        Rule("flow-uncertain", "flows", "The flow is clearly laminar or clearly turbulent", None, "",
                 "Between Re 2300 and 4000 the friction may be either.", "Shah and London 1978; Moody 1944"),
        Rule("outside-range", "flows", "Curves and formulas are used within their range", None, "",
                 "Beyond the points that were measured a curve is a guess.", PRACTICE),
        Rule("not-settled", "flows", "The flow and its temperature were found", None, "",
                 "An answer that did not settle is no answer.", PRACTICE),
        Rule("assumed", "flows", "What was assumed where the document is silent", None, "",
                 "So that nobody takes an assumption for a measurement.", PRACTICE),
    )
}  # fmt: skip


def limit_in_force(document: Document, rule: str) -> float:
    """The document's own limit for a rule, or the usual one. The rule must have one."""
    limit = document.limits.get(rule, RULES[rule].limit)
    assert limit is not None
    return limit
