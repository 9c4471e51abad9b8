"""Invented books: one of every feature, one of a given size, and text that tries to do harm."""

import datetime as dt
from decimal import Decimal as D

from estimator.calc.expressions import (
    All,
    Field,
    call,
    find,
    find_in,
    if_,
    product_total,
    round_to,
    total,
    total_where,
    whole_up,
)
from estimator.calc.tables import Book, Chart, Draft, Sheet, Table, bindings

AGREED = (
    "What was agreed with the client, and how the shop works. Change what differs for this job; all follows."
)
WASTE, FIRST = D("0.1"), D(48)
INVENTED = "invented for the demonstration"
HOSTILE = (
    '=HYPERLINK("http://example.com","x")', "+1+1", "-2", "@SUM(1)", "#REF!", "#N/A", "_x0041_", "TRUE",
    "007", "1e5", "é ü ß 漢字 🪵", "a\nb", "<b>&amp;</b>", "'quoted'", '"double"',
    " lead and trail ", "{=A1}", "x" * 300,
)  # fmt: skip


def terms(waste: D = WASTE) -> Draft:
    form = Draft("terms", "Client terms", "across", note="Ask before changing these for one client only.")
    form.input("waste", "Waste on sticks", "%", [waste], low=D(0), high=D("0.5"), source=INVENTED)
    form.input("margin", "Margin", "%", [D("0.285")], low=D(0), high=D("0.9"), source=INVENTED)
    form.input("stock_length", "Stick length", "in", [D(96)], low=D(1), high=D(240), source=INVENTED)
    form.input("per_foot", "Inches in a foot", "in/ft", [D(12)], low=D(12), high=D(12), source="definition")
    form.input("crew", "Crew", "people", [D(2)], low=D(1), high=D(9), whole=True, places=0, source=INVENTED)
    form.input(
        "basis", "Priced by", "", ["margin"], choices=("margin", "markup"), source="the client's terms"
    )
    form.input("start_day", "Start", "date", [dt.date(2026, 11, 30)], low=dt.date(2026, 1, 1))
    form.input("remark", "Remark", "", ["None yet"], optional=True)
    return form


def prices(spare: int = 3) -> Draft:
    out = Draft("prices", "Prices", spare=spare)
    out.names(["stick", "fabric", "staples"], "Code")
    out.label("what", "What", ["Stick 1×2", "Fabric, 66 in wide", "Staples 3/8 in, box"])
    out.label("unit", "Sold by", ["stick", "yd", "box"])
    out.input("price", "Price", "$", [D("3.97"), D("18.5"), D("6.25")], low=D(0), source=INVENTED)
    out.input("pack", "Pack holds", "", [D(1), D(1), D(1000)], low=D(1), places=0, source=INVENTED)
    return out


def frames(count: int, first_width: D = FIRST) -> Draft:
    out = Draft("frames", "Frames")
    out.names([f"N{i + 1}" for i in range(count)], "Frame")
    out.label("wall", "Wall", [("North", "East", "South")[i % 3] for i in range(count)])
    widths = [first_width, *(D(48) + D(i % 7) / 8 for i in range(1, count))][:count]
    out.input("width", "Width", "in", widths, low=D(4), high=D(120), source="survey")
    out.input("height", "Height", "in", [D(84)] * count, low=D(4), high=D(144), source="survey")
    return out


def _lists(form: list[Field], price: list[Field], frame: list[Field]) -> list[Table]:
    waste, _, stock, per_foot = form[:4]
    keys, what, _, money, pack = price
    frame_key, wall, width, height = frame
    work = Draft("lengths", "Length of each frame")
    own = work.names([str(k) for k in frame_key.values], "Frame")
    wide = work.formula("wide", "Width", "in", find(width, frame_key, own))
    high = work.formula("high", "Height", "in", find(height, frame_key, own))
    ring = work.formula("ring", "All round", "in", 2 * (wide + high))
    work.formula("feet", "All round", "ft", ring / per_foot.at())
    walls = Draft("walls", "By wall", note="Each wall once.")
    walls.keys(["North", "East", "South"])
    which = walls.label("wall", "Wall", ["North", "East", "South"])
    walls.formula("frames", "Frames", "", call("COUNTIF", All(wall), which), places=0)
    walls.formula("width", "Width of frames", "in", total_where(width, wall, which))
    buy = Draft("buy", "To buy")
    item = buy.keys(["stick", "staples"])
    buy.label("what", "What", [what.values[0], what.values[2]])
    need = buy.formula(
        "need",
        "Needed",
        "pieces",
        if_(
            item.eq("stick"),
            call("IFERROR", total(ring) * (1 + waste.at()) / stock.at(), 0),
            call("LN", 2 + total(ring)),
        ),
    )
    bought = buy.formula("packs", "Bought", "packs", whole_up(need / find(pack, keys, item)), places=0)
    column = buy.label("column", "Price column", ["price", "price"])
    unit = buy.formula("unit_price", "Price", "$", find_in((money, pack), keys, item, column))
    buy.formula("cost", "Cost", "$", round_to(bought * unit, 2))
    return [work.table(), walls.table(), buy.table()]


def _price_form(form: list[Field], buy: Table, walls: Table) -> tuple[Table, Table]:
    build = Draft("build_up", "Price build-up", "across")
    cost = build.formula("materials", "Materials", "$", total(buy["cost"]))
    markup = build.formula("as_margin", "Price at margin", "$", round_to(cost / (1 - form[1].at()), 2))
    other = build.formula("as_markup", "Price at markup", "$", round_to(cost * (1 + form[1].at()), 2))
    price = build.formula("price", "Price", "$", if_(form[5].at().eq("margin"), markup, other), strong=True)
    checks = Draft("checks", "Checks")
    checks.keys(["sum", "walls"])
    checks.label(
        "what", "What is checked", ["Materials add up by pack and price", "Every frame hangs on a wall"]
    )
    one = checks.each("one", "One way", "", [cost.at(), total(walls["width"])])
    two = checks.each(
        "two", "Another way", "", [product_total(buy["packs"], buy["unit_price"]), total(form[-1])]
    )
    gap = checks.formula("gap", "Difference", "", call("MAX", one - two, two - one))
    checks.formula("check", "Check", "", if_(round_to(gap, 2).eq(0), "ok", "look"))
    del price
    return build.table(), checks.table()


def _options() -> tuple[Table, Table]:
    out = Draft("options", "Options side by side", "across")
    out.keys(["base", "deep"], label="Option")
    out.label("title", "Option", ["As drawn", "Deeper frames"])
    depth = out.input("depth", "Depth", "in", [D(2), D(4)], low=D(1), high=D(8), source=INVENTED)
    sums = Draft("sums", "Sums of options", "across")
    sums.keys(["base", "deep"], label="Option")
    sums.formula("twice", "Both sides", "in", depth * 2, strong=True)
    return out.table(), sums.table()


def _about(checks: Table, bound: Table) -> Table:
    about = Draft("about", "This workbook", "across")
    about.label("purpose", "Purpose", ["To price one invented room from its frames."])
    about.label("version", "Version", ["3 of job DEMO-1"])
    about.label("made", "Date", [dt.date(2026, 11, 25)], unit="date")
    about.label(
        "how", "How to use", ["Change framed cells on the inputs sheets; all else follows at once. " * 3]
    )
    about.label("limits", "Limits", ["Prices are invented. Local code comes first; ask licensed trades."])
    wrong = call("COUNTIF", All(checks["check"]), "look") + call("COUNTIF", All(bound["check"]), "look")
    found = about.formula("to_look_at", "Checks to look at", "", wrong, places=0)
    about.formula("master", "All checks", "", if_(found.eq(0), "ok", "look"))
    return about.table()


def everything(count: int = 5, spare: int = 3, waste: D = WASTE, first_width: D = FIRST) -> Book:
    form, price, frame = terms(waste), prices(spare), frames(count, first_width)
    hostile = Draft("texts", "Texts")
    hostile.keys([str(i) for i in range(len(HOSTILE))])
    hostile.label("text", "Text", HOSTILE)
    empty = Draft("openings", "Openings")
    empty.names([], "Opening")
    opened = empty.input("opening", "Width", "in", [], low=D(1))
    empty.formula("double", "Twice", "in", opened * 2)
    nothing = Draft("nothing", "Of no openings", "across")
    nothing.formula("no_width", "Width of openings", "in", total(opened))
    parts = [*form.fields, frame.fields[2]]
    work, walls, buy = _lists(form.fields, price.fields, frame.fields)
    build, checks = _price_form(parts, buy, walls)
    options, sums = _options()
    lists = (work, walls, buy, nothing.table(), sums)
    bound = bindings((form.table(),))
    chart = Chart("Cost by what is bought", buy["what"], (buy["cost"], buy["unit_price"]), "$")
    return Book((
        Sheet("About", "control", "What this workbook is.", (_about(checks, bound),)),
        Sheet("Client terms", "inputs", AGREED, (form.table(), price.table())),
        Sheet("Frames", "inputs", "Every frame as surveyed.", (frame.table(),)),
        Sheet("Openings", "inputs", "Windows and doors.", (empty.table(), options)),
        Sheet("Materials", "workings", "What is needed and bought.", lists),
        Sheet("Price", "outputs", "From cost to price.", (build,), (chart,)),
        Sheet("Checks & texts", "control", "Independent sums.", (checks, bound, hostile.table())),
    ))  # fmt: skip
