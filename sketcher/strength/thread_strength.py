"""Threads in plastic: the area that strips, the torque a fitting may be tightened to, the side load on its neck.

Shear area of the internal thread (the hole's, the weak one in plastic) at the screw's major diameter:
A = π n L D [1/(2 n) + tan(α) (D - E)], n = 1 / pitch, L the engaged length, D the screw's least major diameter,
E the hole's largest pitch diameter, α half the thread's angle. FED-STD-H28; Machinery's Handbook, "Formulas for
stress areas and length of engagement of screw threads" (there for 60°, tan α = 0.57735).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sketcher.reference import screws as screw_table
from sketcher.reference import threads as pipe_table

#: Least major diameter of the screw (6g) and largest pitch diameter of the hole (6H), mm: ISO 965-2, from memory;
#: M5, M6 and M8 are checked by the published strip areas in tests/published.
_ISO_965 = {
    "M2": (1.886, 1.830),
    "M2.5": (2.380, 2.303),
    "M3": (2.874, 2.775),
    "M4": (3.838, 3.663),
    "M5": (4.826, 4.605),
    "M6": (5.794, 5.500),
    "M8": (7.760, 7.348),
}
#: Tolerances of pipe threads, mm: how far the fitting's major diameter may be below, the hole's pitch diameter above
#: the basic size (ISO 228-1, class B outside; from memory).
_ISO_228 = {"G1/8": (0.214, 0.107), "G1/4": (0.250, 0.125), "G3/8": (0.250, 0.125)}

_TAN_METRIC = math.tan(math.radians(30.0))
_TAN_PIPE = math.tan(math.radians(27.5))

#: A tapped hole's last thread is not full. Common practice, no source.
RUN_OUT_PITCHES = 1.0
#: Friction factor of a dry joint, T = k F d. General handbooks: 0.2 for unlubricated steel; taken for plastic too.
NUT_FACTOR = 0.2
#: Shear strength against tensile design stress (the largest shear stress hypothesis, Tresca).
SHEAR_SHARE = 0.5
#: Torque of a G1/4 fitting tightened by hand until its O-ring is home, N m; other sizes with the square of the
#: diameter. Common practice, no source.
HAND_TORQUE_N_M = 1.5
HAND_TORQUE_AT_MM = 13.157
#: Pull of a tube at a fitting that someone leans on or moves the case by, N. Common practice, no source.
SIDE_PULL_N = 20.0


class ThreadError(ValueError):
    """An engagement that cannot be, or a thread that no table has."""


@dataclass(frozen=True)
class ThreadForm:
    """What the strip area needs, mm: pitch, the screw's least major, the hole's largest pitch diameter, tan α."""

    name: str
    pitch_mm: float
    major_mm: float
    least_major_mm: float
    most_pitch_diameter_mm: float
    tangent: float


def thread_form(name: str) -> ThreadForm:
    """The form of a metric screw's (``M4``) or a pipe thread (``G1/4``).

    Raises:
        ThreadError: neither table has it.
    """
    if name in _ISO_965:
        screw = screw_table.screw(name)
        least, most = _ISO_965[name]
        return ThreadForm(name, screw.pitch_mm, screw.major_mm, least, most, _TAN_METRIC)
    if name in _ISO_228:
        pipe = pipe_table.thread(name)
        below, above = _ISO_228[name]
        return ThreadForm(
            name, pipe.pitch_mm, pipe.major_mm, pipe.major_mm - below, pipe.pitch_diameter_mm + above, _TAN_PIPE
        )
    known = ", ".join([*_ISO_965, *_ISO_228])
    raise ThreadError(f"no thread is called '{name}'; there are {known}")


def strip_area_mm2(form: ThreadForm, engaged_mm: float) -> float:
    """Area of the hole's thread that must shear for it to strip, mm².

    Raises:
        ThreadError: the engaged length is not above 0.
    """
    if not engaged_mm > 0:
        raise ThreadError(f"{form.name} is engaged over {engaged_mm:g} mm; give the thread a length above 0")
    width = form.pitch_mm / 2 + form.tangent * (form.least_major_mm - form.most_pitch_diameter_mm)
    return math.pi / form.pitch_mm * engaged_mm * form.least_major_mm * width


def engaged_mm(form: ThreadForm, thread_depth_mm: float, screw_length_mm: float = math.inf) -> float:
    """Full thread engaged, mm: the tapped depth less the run-out, or the screw's own length when that is less."""
    return min(max(thread_depth_mm - RUN_OUT_PITCHES * form.pitch_mm, 0.0), screw_length_mm)


def holding_force_n(form: ThreadForm, engaged: float, design_stress_mpa: float) -> float:
    """Pull that a thread in plastic takes for years, N: shear area times half the design stress."""
    return strip_area_mm2(form, engaged) * SHEAR_SHARE * design_stress_mpa


def shear_from_torque_mpa(form: ThreadForm, engaged: float, torque_n_m: float) -> float:
    """Shear stress in the hole's thread when a fitting is tightened, MPa."""
    force = torque_n_m * 1000.0 / (NUT_FACTOR * form.major_mm)
    return force / strip_area_mm2(form, engaged)


def hand_torque_n_m(form: ThreadForm) -> float:
    """Torque of a fitting of that thread tightened by hand, N m."""
    return HAND_TORQUE_N_M * (form.major_mm / HAND_TORQUE_AT_MM) ** 2


def neck_pressure_mpa(form: ThreadForm, engaged: float, side_n: float, height_mm: float) -> float:
    """Bearing pressure at the mouth of a threaded hole when a tube pulls the fitting sideways, MPa.

    A stiff pin in an even bedding of length L and diameter d: p = F/(d L) + 6 M/(d L²), M = F (h + L/2) about the
    middle of the engagement (statics: the bedding's pressure varies in a straight line).
    """
    if not engaged > 0:
        raise ThreadError(f"{form.name} is engaged over {engaged:g} mm; give the thread a length above 0")
    moment = side_n * (height_mm + engaged / 2)
    return side_n / (form.major_mm * engaged) + 6 * moment / (form.major_mm * engaged**2)
