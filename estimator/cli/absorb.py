"""`battenbook absorb`: what one panel make-up absorbs, estimated, with its ratings."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any

import typer

from estimator.cli.output import Result, Verbs, say
from estimator.core.errors import InputError, Problem, refuse
from estimator.core.units import metres, parse_length, read_amount

if TYPE_CHECKING:
    from estimator.acoustics.absorber import Absorption, Makeup, Sample
    from estimator.acoustics.ratings import Ratings

PLACES = 4


def _length_m(option: str, text: str) -> float:
    try:
        return metres(parse_length(text))
    except ValueError as error:
        raise refuse(option, str(error), "Give a length such as 38 mm.") from None


def _amount(option: str, text: str, dimension: str, shown: str) -> float:
    """A bare number is in the dimension's own unit; otherwise the number's own unit is turned into it."""
    try:
        return float(text)
    except ValueError:
        pass
    try:
        return float(read_amount(text, dimension).own)
    except ValueError:
        raise refuse(option, f"{text!r} is not an amount in {shown}", f"Write it like {shown}.") from None


def _sample(text: str) -> "Sample":
    sides = [part.strip() for part in text.replace("×", "x").split("x")]
    if len(sides) != 2:  # noqa: PLR2004 - a rectangle
        raise refuse("--sample", f"{text!r} is not two sides", "Write it like 3.6 m x 3.0 m.")
    a, b = (_length_m("--sample", side) for side in sides)
    return (a, b)


def _makeup(thickness: str, density: str | None, resistivity: str | None, gap: str, cloth: str) -> "Makeup":
    from estimator.acoustics.absorber import Layer, Makeup, flow_resistivity

    if resistivity is not None:
        sigma = _amount("--resistivity", resistivity, "resistivity", "16000 (Pa s/m2)")
    elif density is not None:
        sigma = flow_resistivity(_amount("--density", density, "density", "48 (kg/m3) or 3 lb/ft^3"))
    else:
        raise refuse("--density", "neither density nor flow resistivity is given", "Give one of them.")
    layer = Layer(_length_m("--thickness", thickness), sigma)
    return Makeup((layer,), _length_m("--gap", gap), _amount("--cloth", cloth, "resistance", "100 (Pa s/m)"))


def _density_warning(density: str | None, resistivity: str | None) -> list[Problem]:
    from estimator.acoustics.absorber import FIT_KG_M3

    if density is None or resistivity is not None:
        return []
    value = _amount("--density", density, "density", "48 (kg/m3) or 3 lb/ft^3")
    low, high = FIT_KG_M3
    if low <= value <= high:
        return []
    what = f"{value:g} kg/m3 is beyond the {low:g} to {high:g} kg/m3 its flow resistivity was fitted for"
    return [Problem("--density", what, "Give --resistivity from the maker.", severity="warning")]


@contextmanager
def _as_typed(*, dense: bool) -> Iterator[None]:
    """Name in a refusal the option that was typed for each part of a make-up."""
    sigma = "--density" if dense else "--resistivity"
    typed = {"layer[0].thickness": "--thickness", "layer[0].resistivity": sigma, "density": sigma}
    typed |= {part: f"--{part}" for part in ("gap", "cloth", "sample")}
    try:
        yield
    except InputError as error:
        raise InputError([replace(p, where=typed.get(p.where, p.where)) for p in error.problems]) from None


def _rounded(values: tuple[float, ...]) -> list[float]:
    return [round(v, PLACES) for v in values]


def _ratings(absorption: "Absorption") -> "Ratings":
    """Ratings of the values as they are printed, so that anyone can work them out again."""
    from estimator.acoustics.ratings import rate, six

    return rate(six(_rounded(absorption.alpha)), _rounded(absorption.thirds))


def _result(makeup: "Makeup", sample: "Sample | None", absorption: "Absorption") -> dict[str, Any]:
    from estimator.acoustics.absorber import PUBLISHED_RMS
    from estimator.acoustics.ratings import OCTAVES_HZ, THIRDS_HZ, reproducibility

    ratings = _ratings(absorption)
    normal = absorption.normal
    return {
        "octaves_hz": list(OCTAVES_HZ),
        "alpha": _rounded(absorption.alpha),
        "low": _rounded(absorption.low),
        "high": _rounded(absorption.high),
        "model_rms": PUBLISHED_RMS,
        "laboratory_u": _rounded(reproducibility(absorption.alpha)),
        "valid": list(absorption.valid),
        "valid_from_hz": round(absorption.valid_from_hz, 2),
        "normal_incidence": _rounded(normal) if normal else None,
        "thirds_hz": list(THIRDS_HZ),
        "thirds": _rounded(absorption.thirds),
        "thickness_m": makeup.layers[0].thickness_m,
        "resistivity_pa_s_m2": round(makeup.layers[0].resistivity, 1),
        "gap_m": makeup.gap_m,
        "cloth_pa_s_m": makeup.cloth,
        "sample_m": list(sample) if sample else None,
        "nrc": ratings.nrc,
        "saa": ratings.saa,
        "alpha_p": list(ratings.alpha_p),
        "alpha_w": ratings.alpha_w,
        "indicators": ratings.indicators,
        "class": ratings.absorption_class,
        "basis": ratings.basis,
        "origin": absorption.origin,
    }


def _show(result: dict[str, Any]) -> None:
    def row(name: str, cells: list[str]) -> None:
        say(f"{name:<22}" + "".join(f"{cell:>8}" for cell in cells))

    row("octave, Hz", [str(hz) for hz in result["octaves_hz"]])
    row("absorption", [f"{v:.2f}" for v in result["alpha"]])
    row("low (flow res. +-30%)", [f"{v:.2f}" for v in result["low"]])
    row("high", [f"{v:.2f}" for v in result["high"]])
    row("laboratories differ by", [f"{v:.2f}" for v in result["laboratory_u"]])
    row("within the model's fit", ["yes" if v else "no" for v in result["valid"]])
    shape = f"({result['indicators']})" if result["indicators"] else ""
    letter = result["class"]
    kind = f"class {letter}" if len(letter) == 1 else letter
    say(f"NRC {result['nrc']:.2f}   SAA {result['saa']:.2f}   alpha_w {result['alpha_w']:.2f}{shape}, {kind}")
    say(f"({result['basis']})")
    say(f"flow resistivity {result['resistivity_pa_s_m2']:.0f} Pa s/m2")
    say(result["origin"])
    say(f"low, high: flow resistivity only; against published rows it errs by {result['model_rms']:.2f} RMS")


def absorb(
    *,
    thickness: Annotated[str, typer.Option(help="Board thickness, such as '38 mm' or '1-1/2 in'.")],
    density: Annotated[
        str | None, typer.Option(help="Board density: a bare number is kg/m3; or '3 lb/ft^3'.")
    ] = None,
    resistivity: Annotated[
        str | None, typer.Option(help="Flow resistivity in Pa s/m2; wins over the density.")
    ] = None,
    gap: Annotated[str, typer.Option(help="Air gap behind the board.")] = "0 mm",
    cloth: Annotated[str, typer.Option(help="Flow resistance of the cloth, Pa s/m.")] = "0",
    sample: Annotated[str | None, typer.Option(help="Sides of the sample; else 3.6 m x 3.0 m.")] = None,
    infinite: Annotated[bool, typer.Option("--infinite", help="An infinite sample.")] = False,
) -> Result:
    """Estimate what a panel absorbs per octave, with NRC, SAA, alpha_w and class."""
    from estimator.acoustics import absorber

    if infinite and sample is not None:
        raise typer.BadParameter("give --sample or --infinite, not both")
    size = None if infinite else _sample(sample) if sample is not None else absorber.SAMPLE_M
    with _as_typed(dense=resistivity is None):
        makeup = _makeup(thickness, density, resistivity, gap, cloth)
        found = absorber.absorb(makeup, size)
    warnings = [*_density_warning(density, resistivity), *found.problems]
    return warnings, _result(makeup, size, found)


VERBS: Verbs = {"absorb": (absorb, _show)}
