"""A page of drawn cutting plans: one self-contained HTML file that prints on A4 and Letter."""

from collections.abc import Sequence
from html import escape

_STYLE = """
body{font:10pt/1.35 sans-serif;color:#000;background:#fff;margin:12mm auto;max-width:186mm}
h1{font-size:15pt;margin:0 0 3mm} h2{font-size:11pt;margin:5mm 0 1.5mm}
section{break-inside:avoid} svg{display:block;max-width:100%;height:auto}
table{border-collapse:collapse;margin:1mm 0 3mm}
th,td{border:.2mm solid #777;padding:.4mm 1.6mm;text-align:left}
table.legend,p.legend{font-size:8pt} p.legend{margin:.6mm 0} th{font-weight:600}
rect.stock{fill:#fff;stroke:#000;stroke-width:.5} rect.piece{fill:#e4e4e4;stroke:#000;stroke-width:.25}
rect.waste{fill:#fff;stroke:#555;stroke-width:.2;stroke-dasharray:1.2 .8}
rect.trim{fill:#777;stroke:#000;stroke-width:.25}
svg text{font-family:sans-serif;text-anchor:middle;fill:#000}
@page{margin:12mm} @media print{body{margin:0}}
"""


def cutting_page(title: str, facts: Sequence[tuple[str, str]], drawings: Sequence[tuple[str, str]]) -> str:
    """Return the page.

    Args:
        title: what it is.
        facts: name and value of each figure of the plan, shown as a table.
        drawings: heading and drawing (see `sheet_drawings`) of each sheet or roll.
    """
    rows = "".join(f"<tr><th>{escape(name)}</th><td>{escape(value)}</td></tr>" for name, value in facts)
    sections = "".join(
        f"<section><h2>{escape(heading)}</h2>{drawing}</section>" for heading, drawing in drawings
    )
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f"<title>{escape(title)}</title><style>{_STYLE}</style></head>"
        f"<body><h1>{escape(title)}</h1><table>{rows}</table>{sections}</body></html>\n"
    )
