"""The job file a shop starts from: commented, complete, and ready to be measured over."""

import datetime as dt
import json
from pathlib import Path

from estimator.core.units import Display

STARTERS = Path(__file__).parent / "starters"


def starter(
    display: Display, date: dt.date, *, number: str, title: str, client: str, site: str = "not given"
) -> str:
    """Return the text of a job file to start from.

    Args:
        display: which of the two starters: 'imperial' or 'metric'.
        date: date of the estimate.
        number: the job's number.
        title: the job's title.
        client: who it is for.
        site: where it is.
    """
    text = (STARTERS / f"{display}.toml").read_text(encoding="utf-8")
    for key, value in {"number": number, "title": title, "client": client, "site": site}.items():
        text = text.replace(f'"@{key}@"', json.dumps(value, ensure_ascii=False))
    return text.replace("@date@", date.isoformat())
