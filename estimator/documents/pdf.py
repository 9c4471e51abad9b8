"""PDFs of the papers, by whichever way is found: the library weasyprint, or a Chromium on the path."""

import importlib.util
import shutil
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path

from estimator.core.errors import OutputError, Problem

PROGRAMS = ("chromium", "chromium-browser", "google-chrome", "chrome")
LIBRARY = "weasyprint"
_PATIENCE_S = 120
NOTHING = Problem(
    "--pdf",
    "no way to make PDFs is found here; the HTML files are written",
    'Install the extra "pdf" (weasyprint), or put Chromium on the path; or print the HTML from a browser.',
    severity="warning",
)


@dataclass(frozen=True, slots=True)
class Way:
    """How PDFs are made: the library's name, or the program's path."""

    name: str
    program: str = ""


def way() -> Way | None:
    """Return the way PDFs can be made here: the library first; None where there is none."""
    if importlib.util.find_spec(LIBRARY):
        return Way(LIBRARY)
    for name in PROGRAMS:
        if path := shutil.which(name):
            return Way(name, path)
    return None


def pdfs(pages: dict[str, bytes], chosen: Way) -> dict[str, bytes]:
    """Return a PDF for each page by file name.

    Raises:
        OutputError: the library or the program fails on a page.
    """
    return {f"{Path(name).stem}.pdf": pdf(body, chosen) for name, body in pages.items()}


def pdf(page: bytes, chosen: Way) -> bytes:
    """Return one HTML page as PDF.

    Raises:
        OutputError: the library or the program fails.
    """
    try:
        return _by_program(page, chosen.program) if chosen.program else _by_library(page)
    except Exception as error:
        what = f"{chosen.name} made no PDF: {error}"
        raise OutputError([Problem("--pdf", what, "Leave out --pdf, and print the HTML.")]) from error


def _by_library(page: bytes) -> bytes:
    import weasyprint  # noqa: PLC0415 - an extra, and slow to load

    return bytes(weasyprint.HTML(string=page.decode()).write_pdf())


def _by_program(page: bytes, program: str) -> bytes:
    with tempfile.TemporaryDirectory(prefix="battenbook-pdf-") as folder:
        source, target = Path(folder) / "page.html", Path(folder) / "page.pdf"
        source.write_bytes(page)
        command = [
            program, "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer",
            f"--user-data-dir={folder}/profile", f"--print-to-pdf={target}", source.as_uri(),
        ]  # fmt: skip
        subprocess.run(command, check=True, capture_output=True, timeout=_PATIENCE_S)  # noqa: S603 - found on the path
        return target.read_bytes()
