"""What is asked of the flow: its rules, in the one registry."""

from __future__ import annotations

from sketcher.findings import PRACTICE, Rule, register

#: Every rule of the flow. A document overrides a limit by name under ``limits``.
RULES: dict[str, Rule] = {
    rule.name: register(rule, __name__)
    for rule in (
        Rule("no-pump", "flows", "The loop has a pump", None, "", "Nothing moves without one.", PRACTICE),
        Rule("pump-curve-unknown", "flows", "The pump's curve says what it moves", None, "",
                 "Without a flow and a pressure there is no operating point.", PRACTICE),
        Rule("pump-dead-headed", "flows", "The pump's outlet leads back to its inlet", None, "",
                 "A pump that runs against a closed end moves nothing and heats its own water.", PRACTICE),
        Rule("pumps-fight", "flows", "No pump is pushed backwards by another", None, "",
                 "A weaker pump beside a stronger one only turns the flow round in a circle.", PRACTICE),
        Rule("pump-curve-rises", "flows", "The operating point lies on the falling part of the curve", None, "",
                 "On the rising part the flow hunts between two points.", "pump handbooks, for example Karassik"),
        Rule("dead-end", "flows", "Water moves in every channel", None, "",
                 "Standing water carries no heat off, and keeps its air.", PRACTICE),
        Rule("short-circuit", "flows", "Little water passes the blocks by", 20.0, "%",
                 "A short way past the blocks takes the flow they need.", PRACTICE),
        Rule("device-unconnected", "flows", "Every device of the loop is joined to it", None, "",
                 "A block that no water reaches is not cooled.", PRACTICE),
        Rule("device-backwards", "flows", "Devices are passed from inlet to outlet", None, "",
                 "Many blocks cool worse from the wrong side.", PRACTICE),
        Rule("device-without-curve", "flows", "Every device has measured points", None, "",
                 "A made-up curve in their place gives a made-up flow.", PRACTICE),
        Rule("block-without-flow", "flows", "Water moves through every block that gives off heat", None, "",
                 "It would boil.", PRACTICE),
        Rule("no-radiator", "flows", "The loop's heat has somewhere to go", None, "",
                 "Without a radiator the water warms without end.", PRACTICE),
        Rule("water-too-warm", "flows", "The water stays below the loop's limit", None, "°C",
                 "Warm water softens tubes and leaves the chips no margin.", PRACTICE),
        Rule("plate-too-warm", "flows", "The water stays below what the plate's material bears", None, "°C",
                 "The plate creeps and its seal lets go.", "reference/data/materials.toml"),
        Rule("coolant-range", "flows", "The coolant is liquid and within its table", None, "°C",
                 "Ice bursts the plate, steam stops the flow, and outside the table nothing is known.",
                 "IAPWS; Melinder 2010"),
        Rule("velocity-high", "flows", "The water is not too fast", 2.0, "m/s",
                 "Fast water is loud and wears copper at its corners.", PRACTICE),
        Rule("velocity-low", "flows", "The water takes its air along", 0.1, "m/s",
                 "Bubbles stay where the water creeps.", PRACTICE),
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
