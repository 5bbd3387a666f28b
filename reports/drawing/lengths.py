"""Lengths as a shop writes them: feet, inches and sixteenths, or millimetres."""

from fractions import Fraction

MM_PER_IN = 25.4
EXACT_IN = 0.002  # nearer than this to a sixteenth, the fraction is the length


def length_text(length_in: float, units: str) -> str:
    """1 1/4″, 9′ 0″, ≈ 2 3/8″ where it is no whole sixteenth; 1200 or 37.5 in mm, bare: the drawing says so once."""
    if units == "si":
        return f"{round(length_in * MM_PER_IN, 1):.1f}".removesuffix(".0")
    sixteenths = round(abs(length_in) * 16)
    about = "≈ " if abs(abs(length_in) - sixteenths / 16) > EXACT_IN else ""
    sign = "−" if length_in < 0 and sixteenths else ""
    feet, rest = divmod(sixteenths, 192) if sixteenths >= 24 * 16 else (0, sixteenths)
    whole, part = divmod(rest, 16)
    inches = str(whole)
    if part:
        fraction = Fraction(part, 16)
        tail = f"{fraction.numerator}/{fraction.denominator}"
        inches = f"{whole} {tail}" if whole or feet else tail
    return f"{about}{sign}{feet}′ {inches}″" if feet else f"{about}{sign}{inches}″"


def unit_note(units: str) -> str:
    """The line that stands under every drawing."""
    if units == "si":
        return "Dimensions in millimetres."
    return "Feet ′ and inches ″. ≈ is rounded to the nearest 1/16 in; the specification has the exact figure."
