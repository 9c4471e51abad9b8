"""Compare the absorber model with published reverberation-room rows and print the table of errors.

Run ``python tests/benchmarks/absorption_rows.py`` to see it, with ``--write`` to put it into
docs/validation/acoustics.md between its two marks. The rows, with their sources, are in absorption_rows.csv.
"""

import csv
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from estimator.acoustics.absorber import SAMPLE_M, Layer, Makeup, flow_resistivity, thirds_alpha
from estimator.acoustics.ratings import OCTAVES_HZ, Floats, octave_means, reproducibility, six

HERE = Path(__file__).parent
PAGE = HERE.parents[1] / "docs" / "validation" / "acoustics.md"
START, END = "<!-- rows: start -->", "<!-- rows: end -->"


@dataclass(frozen=True, slots=True)
class Row:
    """A published row: its make-up, coefficients, and why it is not expected to agree, '' where it is."""

    name: str
    makeup: Makeup
    alpha: tuple[float, ...]
    outlier: str
    source: str


def rows() -> list[Row]:
    """Return every published row."""
    with (HERE / "absorption_rows.csv").open(encoding="utf-8", newline="") as file:
        return [_row(r) for r in csv.DictReader(file)]


def _row(r: dict[str, str]) -> Row:
    layer = Layer(float(r["thickness_mm"]) / 1000, flow_resistivity(float(r["density_kg_m3"])))
    makeup = Makeup((layer,), float(r["gap_mm"]) / 1000)
    return Row(r["name"], makeup, tuple(float(r[str(hz)]) for hz in OCTAVES_HZ), r["outlier"], r["source"])


def errors(published: list[Row], *, finite: bool = True) -> Floats:
    """Return model less published, per row and octave, shape (N, 6)."""
    model = octave_means(thirds_alpha([r.makeup for r in published], SAMPLE_M if finite else None))
    return np.asarray(model - np.array([r.alpha for r in published]))


def rms(error: Floats) -> float:
    """Return the root mean square."""
    return float(np.sqrt((error**2).mean()))


def within_laboratories(published: list[Row], error: Floats) -> float:
    """Return the part of the cells that are off by no more than two laboratories may differ (k = 2)."""
    allowed = np.array([reproducibility(six(r.alpha)) for r in published])
    return float((np.abs(error) <= allowed).mean())


def _line(cells: list[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def _summary(name: str, error: Floats) -> str:
    bias = [f"{e:+.2f}" for e in error.mean(axis=0)]
    return _line([f"**{name}**", *bias, f"{rms(error):.3f}", f"{np.abs(error).max():.2f}", ""])


def table() -> str:
    """Return the table of errors as Markdown."""
    published = rows()
    finite, infinite = errors(published), errors(published, finite=False)
    expected = np.array([not r.outlier for r in published])
    lines = [
        _line(["row", *(f"{hz}" for hz in OCTAVES_HZ), "RMS", "worst", "source"]),
        _line(["---", *["---:"] * 8, "---"]),
    ]
    for row, error in zip(published, finite, strict=True):
        name = f"{row.name} (outlier: {row.outlier})" if row.outlier else row.name
        cells = [f"{e:+.2f}" for e in error]
        lines.append(_line([name, *cells, f"{rms(error):.3f}", f"{np.abs(error).max():.2f}", row.source]))
    lines.append(_summary("mean, finite sample, all rows", finite))
    lines.append(_summary("mean, finite sample, without outliers", finite[expected]))
    lines.append(_summary("mean, infinite sample, all rows", infinite))
    lines.append(_summary("mean, infinite sample, without outliers", infinite[expected]))
    return "\n".join(lines) + "\n"


def main() -> None:
    """Print the table, or write it into the page."""
    text = table()
    if "--write" not in sys.argv[1:]:
        sys.stdout.write(text)
        return
    page = PAGE.read_text(encoding="utf-8")
    head, _, rest = page.partition(START)
    _, _, tail = rest.partition(END)
    PAGE.write_text(f"{head}{START}\n{text}{END}{tail}", encoding="utf-8")


if __name__ == "__main__":
    main()
