"""Coolant, friction, local losses, curves, network, heat: does it flow, and how warm does the water get."""

from sketcher.flow.loop import solve_loop
from sketcher.flow.result import FlowResult
from sketcher.flow.rules import RULES

__all__ = ["RULES", "FlowResult", "solve_loop"]
