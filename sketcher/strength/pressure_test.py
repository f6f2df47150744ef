"""The pressure to test the filled loop at, and why."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sketcher.document import Document
from sketcher.strength.lid import USUAL_DEAD_HEAD_KPA, dead_head_kpa

#: Test pressure against the greatest working pressure: 1.5 for a test with liquid (ASME B31.3, section 345; read in
#: reprints).
TEST_FACTOR = 1.5
KPA_PER_BAR = 100.0
#: How long it is held at least, minutes: the same section.
HOLD_MIN = 10


@dataclass(frozen=True)
class PressureTest:
    """The document's test pressure, the pumps' at no flow, and whether a curve of theirs is known, kPa."""

    pressure_kpa: float
    dead_head_kpa: float
    curve_known: bool

    @property
    def needed_kpa(self) -> float:
        """The pressure the test should have."""
        return TEST_FACTOR * self.dead_head_kpa

    @property
    def enough(self) -> bool:
        """Whether the document's test pressure is high enough."""
        return self.pressure_kpa >= self.needed_kpa - 1e-6

    def text(self) -> str:
        """For a drawing, a README or the page."""
        source = (
            "the pump's pressure at no flow" if self.curve_known else "the pressure assumed for a pump without a curve"
        )
        share = self.pressure_kpa / self.dead_head_kpa
        return (
            f"Test pressure {self.pressure_kpa:g} kPa ({self.pressure_kpa / KPA_PER_BAR:.2f} bar) gauge, with "
            f"water, for at least {HOLD_MIN} minutes: {share:.1f} times {self.dead_head_kpa:.0f} kPa, {source}; "
            f"{TEST_FACTOR:g} times is asked for (ASME B31.3, 345)."
        )

    def as_json(self) -> dict[str, Any]:
        """Plain values."""
        return {
            "pressure_kpa": self.pressure_kpa,
            "pressure_bar": round(self.pressure_kpa / KPA_PER_BAR, 3),
            "dead_head_kpa": round(self.dead_head_kpa, 1),
            "needed_kpa": round(self.needed_kpa, 1),
            "enough": self.enough,
            "text": self.text(),
        }


def pressure_test(document: Document) -> PressureTest:
    """The test of one document. A pump at no flow at 0 kPa counts as one without a curve."""
    head = dead_head_kpa(document)
    known = any(device.kind == "pump" and device.curve for device in document.devices) and head > 0
    return PressureTest(document.loop.test_pressure_kpa, head if head > 0 else USUAL_DEAD_HEAD_KPA, known)
