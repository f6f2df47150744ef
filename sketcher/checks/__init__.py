"""Rules: each a function from shapes to findings, in one registry."""

from sketcher.checks import (  # noqa: F401  (their rules register themselves)
    as_measured,
    carried,
    channel_runs,
    connected,
    contradictions,
    cutters,
    device_figures,
    dimension_ends,
    faces,
    fastened,
    filling,
    fits,
    fittings,
    floors,
    flows,
    groove_floor,
    hold_height,
    hold_lid,
    hold_life,
    hold_sag,
    hold_screw_edge,
    hold_screws,
    hold_seal,
    hold_sheet,
    hold_webs,
    in_step,
    made,
    measured,
    mounting,
    plate_edges,
    port_bores,
    slot_mouths,
    space,
    sure,
    thick_heights,
    tube_rules,
    unlikely_sizes,
    walls,
    within_case,
)
from sketcher.checks.running import run
from sketcher.checks.unasked import check_json
from sketcher.findings import Change, Finding, Fix, Rule, all_rules, counts, findings_json

__all__ = ["Change", "Finding", "Fix", "Rule", "all_rules", "check_json", "counts", "findings_json", "run"]
