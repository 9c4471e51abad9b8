"""The workbook's units: inches, feet and gallons, or millimetres, metres and litres, as the job says.

Everything downstream of the layout is worked out in one of these two sets; conversion is exact.
Source: 1 in = 25.4 mm (1959 agreement); 1 US gal = 231 in3, 1 gal = 128 fl oz (NIST Handbook 44, App. C).
"""

from dataclasses import dataclass
from decimal import Decimal

from estimator.calc.tables import Draft, Table
from estimator.catalogue.measures import converted
from estimator.core.money import rounded
from estimator.core.units import INCH, MM, Display, Nm

_SHOWN = {"kg/m^2": "kg/m²", "m^2/L": "m²/L", "ft^2/gal": "ft²/gal", "m^2": "m²", "ft^2": "ft²"}


@dataclass(frozen=True, slots=True)
class Measures:
    """Units by what is measured, and the named factors between them.

    Attributes:
        small, large: units of length (in and ft, or mm and m); cloth: unit cloth is sold by.
        area: unit of area, `large` squared; liquid: of paint; bead: of sealant;
            spread: of the rate at which paint covers; money: ISO 4217 code.
    """

    display: Display
    small: str
    large: str
    cloth: str
    area: str
    liquid: str
    bead: str
    spread: str
    money: str

    def length(self, value: Nm) -> Decimal:
        """Return a length in `small` units, exact."""
        return Decimal(value) / (INCH if self.display == "imperial" else MM)

    def own(self, value: Decimal, unit: str) -> tuple[Decimal, str]:
        """Return a value of the shop's practice that is no length, in the job's units, and that unit."""
        wanted = {"m^2/L": self.spread, "m^2": plain(self.area)}.get(unit, unit)
        shown = _SHOWN.get(wanted, wanted)
        if wanted == unit:
            return value, shown
        return rounded(converted(value, unit, wanted), 6).normalize() + 0, shown

    def factors(self) -> Table:
        """Return the form of named unit factors."""
        form = Draft("units", "Unit factors", "across", note="Facts of arithmetic; not for change.")
        imperial = self.display == "imperial"
        per = (12, 3, Decimal(231) / 128) if imperial else (1000, 1, 1000)
        for key, label, value in (
            ("small_per_large", f"{self.small} in one {self.large}", per[0]),
            ("large_per_cloth", f"{self.large} in one {self.cloth} of cloth", per[1]),
            ("cubes_per_bead", f"{self.small}³ in one {self.bead} of sealant", per[2]),
        ):
            form.decided(key, label, "", [Decimal(value)], places=4)
        return form.table()


def shown_unit(unit: str) -> str:
    """Return a unit of the catalogue as people read it: ft^2 is ft²."""
    return _SHOWN.get(unit, unit)


def readable(text: str) -> str:
    """Return a value as the shop wrote it, such as 9 m^2, with its powers as people read them: 9 m²."""
    return text.replace("^2", "²").replace("^3", "³")


def plain(unit: str) -> str:
    """Return a shown unit as the catalogue writes it: ft² is ft^2."""
    return unit.replace("²", "^2").replace("³", "^3")


def measures(display: Display, currency: str) -> Measures:
    """Return the units of a job."""
    if display == "imperial":
        return Measures("imperial", "in", "ft", "yd", "ft²", "gal", "fl oz", "ft^2/gal", currency)
    return Measures("metric", "mm", "m", "m", "m²", "L", "mL", "m^2/L", currency)
