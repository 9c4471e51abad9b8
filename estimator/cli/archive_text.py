"""How ``battenbook archive`` prints: tables in plain text, nothing that could steer a terminal."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from estimator.cli.output import counted, say

Shown = Mapping[str, Any]
MISSING = "–"
SUMS = ("quoted", "invoiced", "paid", "due")


def plain(value: object) -> str:
    """Return `value` as one line of printable text."""
    if value is None or value == "":
        return MISSING
    if isinstance(value, Decimal):
        return f"{value:,.2f}"
    return "".join(c if c.isprintable() else "?" for c in str(value))


def short(value: object, longest: int) -> str:
    """Return `value` as one line of printable text of at most `longest` characters."""
    text = plain(value)
    return text if len(text) <= longest else f"{text[: longest - 1]}…"


def percent(value: Decimal | float | None) -> str:
    """Return a fraction as per cent."""
    return MISSING if value is None else f"{100 * value:.1f} %"


def money(value: float | None) -> str:
    """Return a figure to two decimals."""
    return MISSING if value is None else f"{value:,.2f}"


def table(heads: Sequence[str], rows: Sequence[Sequence[str]], right: Sequence[int]) -> None:
    """Print a table; the columns in `right` are numbers and stand to the right."""
    widths = [max(len(str(r[i])) for r in (heads, *rows)) for i in range(len(heads))]
    for row in (heads, ["-" * w for w in widths], *rows):
        cells = [
            c.rjust(w) if i in right else c.ljust(w) for i, (c, w) in enumerate(zip(row, widths, strict=True))
        ]
        say("  ".join(cells).rstrip())


def show_filed(result: dict[str, Any]) -> None:
    """Print what was filed and where."""
    say(f"Filed {plain(result['number'])} revision {result['revision']} in {plain(result['folder'])}")
    say(f"of the archive {plain(result['archive'])}")


def show_event(result: dict[str, Any]) -> None:
    """Print what was filed beside a quote."""
    kind = "payment" if result["kind"] == "paid" else result["kind"]
    kind = f"reversal of {kind}" if result["reverses"] else kind
    what = " ".join(plain(text) for text in (kind, result["reference"], result["outcome"]) if text)
    amount = f", {plain(result['amount'])}" if result["amount"] else ""
    where = f"beside {plain(result['number'])} as paper {result['sequence']}"
    say(f"Filed {what}{amount}, {result['date']}, {where}")


def show_events(result: dict[str, Any]) -> None:
    """Print every thing that was filed beside a quote, or that there was nothing new."""
    for event in result["filed"]:
        show_event(event)
    if not result["filed"]:
        say("Nothing new: all of it is filed already")


def show_list(result: dict[str, Any]) -> None:
    """Print one line for each quote that is to be printed, and the totals of all, by currency."""
    found, printed = result["quotes"], result["printed"]
    _print_list(found[len(found) - printed :])
    if printed < len(found):
        say(f"The newest {printed} of {len(found):,} quotes; --all prints every one. Totals are of all.")
    for currency in sorted({a["currency"] for a in found}):
        own = [a for a in found if a["currency"] == currency]
        sums = [plain(sum((a[k] for a in own), Decimal(0))) for k in SUMS]
        named = (f"{k} {s}" for k, s in zip(("quoted", "invoiced", "paid", "open"), sums, strict=True))
        say(f"{currency}: {', '.join(named)}")
    if not found:
        say("No quote fits.")


def _print_list(quotes: Sequence[Shown]) -> None:
    rows = [
        [plain(a["number"]), str(a["revision"]), str(a["date"]), short(a["client"], 30), a["outcome"],
         a["currency"], *(plain(a[k]) for k in SUMS), plain(a["actual_cost"])]
        for a in quotes
    ]  # fmt: skip
    heads = ["Quote", "Rev", "Date", "Client", "Outcome", "", "Quoted", "Invoiced", "Paid", "Open",
             "Actual cost"]  # fmt: skip
    table(heads, rows, (1, 6, 7, 8, 9, 10))


def show_quote(result: dict[str, Any]) -> None:
    """Print one quote with its account, lines and papers."""
    quote, account = result["quote"], result["account"]
    say(f"{plain(quote['number'])} revision {quote['revision']}, {quote['date']}: {plain(quote['title'])}")
    say(f"{plain(quote['client'])}, {plain(quote['site'])}")
    say(f"In {plain(result['folder'])}")
    if account:
        _account(account)
    say("")
    lines = [[plain(n["section"]), short(n["description"], 60), plain(f"{n['quantity']:f} {n['unit']}"),
              plain(n["amount"])] for n in quote["lines"]]  # fmt: skip
    table(["Section", "Line", "Quantity", "Amount"], lines, (2, 3))
    say("")
    gone = {e["reverses"]: f"reversed by {e['sequence']}" for e in result["papers"] if e["reverses"]}
    papers = [[str(e["sequence"]), e["kind"], plain(e["reference"] or e["outcome"]), str(e["date"]),
               plain(e["amount"] or None), plain(e["file"]), _remark(e, gone)]
              for e in result["papers"]]  # fmt: skip
    table(["No.", "Paper", "Reference", "Date", "Amount", "File", "Remark"], papers, (0, 4))


def _remark(event: Shown, gone: Mapping[int, str]) -> str:
    """Return what there is to say of a paper: what it reverses or is reversed by, what spoke against it."""
    reverses = f"reverses {event['reverses']}" if event["reverses"] else ""
    said = (gone.get(event["sequence"], ""), reverses, *event["against"], event["note"])
    return plain("; ".join(text for text in said if text))


def _account(a: Shown) -> None:
    filed = counted(a["revisions"], "revision")
    say(f"Outcome {a['outcome']}; {filed} filed, revision {a['revision']} counts")
    say(f"Price {plain(a['price'])} {a['currency']} before tax, {plain(a['price_per_m2'])} per m²")
    say(f"Margin quoted {percent(a['margin'])}, earned {percent(a['margin_earned'])}")
    say(f"Hours expected {plain(a['hours'])}, spent {plain(a['actual_hours'])}")
    money = (("Quoted", "quoted"), ("Invoiced", "invoiced"), ("Paid", "paid"), ("Receipts", "receipts"),
             ("Still to invoice", "to_invoice"), ("Open (invoiced, not paid)", "due"),
             ("Actual cost", "actual_cost"))  # fmt: skip
    table(["", a["currency"]], [[head, plain(a[key])] for head, key in money], (1,))


def show_verdict(result: dict[str, Any]) -> None:
    """Print what was read and found whole."""
    held = ", ".join(counted(result[f"{one}s"], one) for one in ("quote", "paper", "file"))
    say(f"Whole: {held}, {result['bytes'] / 1e6:,.1f} MB read")
    if result["since"] is not None:
        say(f"As it was sealed then, and {counted(result['since'], 'entry', 'entries')} since")


def show_seal(result: dict[str, Any]) -> None:
    """Print the seal."""
    say(result["seal"])


def show_acknowledged(result: dict[str, Any]) -> None:
    """Print what was taken for good."""
    for folder in result["acknowledged"]:
        say(f"Taken for good: {plain(folder)}")


def show_rebuilt(result: dict[str, Any]) -> None:
    """Print what the index now holds."""
    entered = f"; {len(result['entered'])} entered, not proved" if result["entered"] else ""
    held = f"{counted(result['quotes'], 'quote')} and {counted(result['papers'], 'paper')}"
    say(f"The index holds {held}{entered}")


def show_copy(result: dict[str, Any]) -> None:
    """Print what was copied and where to."""
    say(f"Copied {plain(result['number'])} revision {result['revision']}; estimate {result['files'][0]}")


def show_stats(result: dict[str, Any]) -> None:
    """Print the figures by year and by client."""
    for by in ("year", "client"):
        rows = [
            [short(r[by], 30), r["currency"], *(str(r[k]) for k in ("quotes", "won", "lost", "open")),
             percent(r["won_share"]), money(r["price"]), percent(r["margin_quoted"]),
             percent(r["margin_earned"]), money(r["price_per_m2"])]
            for r in result[f"by_{by}"]
        ]  # fmt: skip
        heads = [by.capitalize(), "", "Quotes", "Won", "Lost", "Open", "Won share", "Price", "Margin quoted",
                 "Margin earned", "Per m²"]  # fmt: skip
        table(heads, rows, range(2, 11))
        say("")
    if result["file"]:
        say(f"Written to {result['file']}")


def show_export(result: dict[str, Any]) -> None:
    """Print the export, or where it was written."""
    say(f"Written to {result['file']}" if result["file"] else result["content"].rstrip("\r\n"))
