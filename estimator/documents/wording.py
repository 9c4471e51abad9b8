"""Sizes and masses as every paper writes them."""

from estimator.core.units import Display, Nm, format_length

POUND_KG = 0.453_592_37
"""Source: international yard and pound agreement (1959); NIST SP 811, app. B."""


def size_text(width: Nm, height: Nm, display: Display) -> str:
    """Return width × height."""
    return f"{format_length(width, display)} × {format_length(height, display)}"


def mass_text(kilograms: float, display: Display) -> str:
    """Return a mass as it is lifted: in whole pounds with kilograms beside them, or in kilograms alone."""
    if display == "metric":
        return f"{kilograms:.0f}\u00a0kg"
    return f"{kilograms / POUND_KG:.0f}\u00a0lb ({kilograms:.0f}\u00a0kg)"
