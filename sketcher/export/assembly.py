"""What the builder does with the finished parts: assembly, leak test, filling, with the cautions of each step."""

from __future__ import annotations

from sketcher.document import Document
from sketcher.reference import cautions
from sketcher.strength.pressure_test import pressure_test
from sketcher.strength.seal import SealDesign


def assembly_steps(document: Document, seal: SealDesign) -> str:
    """The steps as plain text, each with its cautions."""
    pressure = document.loop.test_pressure_kpa
    blocks = [
        ("Look and clean", [
            "Hold body and lid to the light: no crack, no chip in a groove, no swarf in a channel or a thread.",
            "Rinse with water and a little soap, then with clean water, and let them dry.",
        ], "assemble"),
        ("Close the plate", _closing(document, seal), "bond" if seal.kind == "bonded" else "assemble"),
        ("Leak test on the bench", [
            "Close every port but one with a plug. Fill the plate with water and let the air out at its highest port.",
            f"With a hand pump and a gauge, raise the pressure slowly to {pressure:g} kPa ({pressure / 100:g} bar).",
            pressure_test(document).text(),
            "Shut the pump off, wait ten minutes for the plate to settle, set the pressure again, and read the gauge.",
            "Wait 30 minutes. The gauge has not fallen and dry paper under every joint is dry: the plate is tight.",
            "If it falls: let the pressure off first, then look for the wet place; dry, fix, and test again.",
        ], "test"),
        ("Into the case", [
            "Cut and drill the case floor by floor-cut; put the electronics back only when all swarf is out.",
            "Screw the plate down, then the fittings by hand, then the tubes; nothing may pull at a fitting.",
        ], "drill"),
        ("Fill and run", [
            "Fill at the fill port, bleed at the highest, run the pump alone from a supply of its own for 24 hours.",
            "Only when every joint has stayed dry for a day is the computer connected.",
        ], "fill"),
        ("Power", ["Connect the computer last."], "power"),
    ]  # fmt: skip
    lines = [f"Assembly and leak test: {document.name or 'plate'}", ""]
    for number, (title, steps, step) in enumerate(blocks, start=1):
        lines.append(f"{number}. {title}")
        lines += [f"   {letter}) {words}" for letter, words in zip("abcdefgh", steps, strict=False)]
        lines += [f"   ! {c.title}: {c.text} {c.defer}" for c in cautions.for_step(step)]
        lines.append("")
    return "\n".join(lines)


def _closing(document: Document, seal: SealDesign) -> list[str]:
    if seal.kind == "bonded":
        return [
            "Bond the lid with the cement that the sheet's maker names, and let it stand for the cement's full time."
        ]
    found = []
    if seal.kind == "cord" and seal.gland is not None and seal.loops:
        pieces = ", ".join(f"{loop.cord_length_mm:.1f} mm" for loop in seal.loops)
        found.append(
            f"Cut the {seal.gland.cord_mm:g} mm cord square to {pieces}; join each into a ring,"
            " the joint on a straight run where the groove has its cross."
        )
        found.append("Lay it into the groove without stretching; silicone grease only, and little of it.")
    else:
        found.append("Lay the gasket on the joint face, its holes over the threads.")
    until = "until the faces meet" if seal.kind == "cord" else "to the torque on the drawing: the faces do not meet"
    found += [
        f"Set the lid on, start every screw by hand, then tighten crosswise in three rounds {until}.",
        "After 24 hours go round once more: plastic gives way under a screw's head in the first day.",
    ]
    return found
