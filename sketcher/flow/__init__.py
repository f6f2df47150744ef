"""Coolant, friction, local losses, curves, network, heat: does it flow, and how warm does the water get."""

from sketcher.flow.findings import RULES, FlowFinding, FlowRule
from sketcher.flow.loop import solve_loop
from sketcher.flow.result import FlowResult

__all__ = ["RULES", "FlowFinding", "FlowResult", "FlowRule", "solve_loop"]
