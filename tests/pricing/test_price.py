"""The build-up against the same arithmetic in plain fractions, and against a spreadsheet program."""

import datetime as dt
from collections.abc import Callable, Sequence
from decimal import Decimal as D
from fractions import Fraction as F
from math import ceil, floor
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from estimator.calc.tables import Draft, Table
from estimator.catalogue.terms import Terms
from estimator.job.fields import Other
from estimator.pricing.cases import DirectCost, OptionCost
from estimator.pricing.other_lines import OtherLine, other_lines
from estimator.pricing.totals import Pricing, reckon_price

DAY = dt.date(2026, 11, 25)
Recalculate = Callable[..., dict[tuple[str, str, int], Any]]


def payment(label: str, share: str) -> dict[str, Any]:
    return {"label": label, "share": share, "when": "then"}


def tax(name: str, rate: str, base: str = "price", **more: Any) -> dict[str, Any]:
    plain = {"since": dt.date(2008, 1, 1), "authority": "nowhere", "source": "invented"}
    return {"name": name, "rate": rate, "base": base, **plain, **more}


def terms(**changes: Any) -> Terms:
    plain = {
        "schema": 1, "name": "t", "profit": {"margin": "25 %"}, "overhead": "0 %",
        "contingency": {"rate": "0 %"}, "payment": [payment("all", "100 %")], "validity_days": 30,
    }  # fmt: skip
    return Terms.model_validate(plain | changes)


def costs(
    materials: str = "0.00",
    labour: str = "0.00",
    other: str = "0.00",
    eighty: str = "0.00",
    ninety: str = "0.00",
) -> tuple[Table, DirectCost]:
    draft = Draft("given", "Given", "across")
    keys = ("given_materials", "given_labour", "given_other", "given_eighty", "given_ninety")
    for key, value in zip(keys, (materials, labour, other, eighty, ninety), strict=True):
        draft.input(key, key, "CAD", [D(value)])
    table = draft.table()
    return table, DirectCost(*(table[key].at() for key in keys))


def price(
    on: Terms,
    options: Sequence[OptionCost] = (),
    others: Sequence[OtherLine] = (),
    **given_costs: str,
) -> Pricing:
    return reckon_price(costs(**given_costs)[1], on, options, day=DAY, currency="CAD", others=others)


# --- plain arithmetic -----------------------------------------------------------------------------------


def near(value: F, steps: int = 100) -> F:
    """Round halves away from zero to 1/steps; values here are never negative."""
    return F(floor(value * steps + F(1, 2)), steps)


def plain(parts: dict[str, F], on: dict[str, Any]) -> dict[str, Any]:
    """The build-up in fractions, written from the description of it and from nothing else."""
    inside = F(0)
    marked, at_cost, untaxed = (parts.get(key, F(0)) for key in ("marked", "at_cost", "untaxed"))
    measured = parts["other"] + marked
    bases = {"materials": parts["materials"], "labour": parts["labour"], "other": measured + at_cost}
    for line in on["taxes"]:
        if line["inside"]:
            base = sum((bases[p] for p in line["base"].split("+")), F(0))
            inside += near(base * line["rate"], line["steps"])
    direct = parts["materials"] + parts["labour"] + measured + inside
    overhead = near(direct * on["overhead"])
    contingency = near((direct + overhead) * on["contingency"])
    cost = direct + overhead + contingency  # what stands in the price at cost carries none of these
    factor = 1 / (1 - on["profit"]) if on["by"] == "margin" else 1 + on["profit"]
    full = near(cost * factor)
    discount = near(full * on["discount"])
    net = full - discount + at_cost + untaxed
    final = net if on["step"] == 0 else F(ceil(net / on["step"]) * on["step"])
    out: dict[str, Any] = {
        "direct": direct, "overhead": overhead, "contingency": contingency,
        "cost": cost + at_cost + untaxed, "at_cost": at_cost + untaxed,
        "full_price": full, "discount": discount, "rounding": final - net, "price": final,
        "profit": final - cost - at_cost - untaxed,
    }  # fmt: skip
    taxed, lines = F(0), []
    for line in on["taxes"]:
        if not line["inside"]:
            base = sum(
                ((final - untaxed if p == "price" else bases[p]) for p in line["base"].split("+")), F(0)
            )
            base += taxed if line["compound"] else 0
            lines.append((base, near(base * line["rate"], line["steps"])))
            taxed += lines[-1][1]
    out |= {"taxes": lines, "tax": taxed, "total": final + taxed}
    early = [near(out["total"] * share) for share in on["shares"][:-1]]
    return out | {"payments": [*early, out["total"] - sum(early, F(0))]}


MEASURED, BESIDE = ("materials", "labour", "other"), ("marked", "at_cost", "untaxed")
cents = st.integers(0, 9_999_999).map(lambda n: D(n) / 100)
tenths = st.integers(0, 400).map(lambda n: D(n) / 1000)
tax_rates = st.integers(0, 250).map(lambda n: D(n * 125) / 100_000)
QUOTE_STEPS = ["none", "1.00", "5.00", "10.00", "50.00", "100.00"]
STEPS = {"cent": 100, "0.05": 20, "1.00": 1}


@st.composite
def tax_lines(draw: st.DrawFn) -> dict[str, Any]:
    inside = draw(st.booleans())
    bases = ["materials", "labour", "other", "materials+labour", "materials+other", "labour+other"]
    return {
        "inside": inside, "base": draw(st.sampled_from(bases if inside else ["price", *bases])),
        "rate": draw(tax_rates), "rounding": draw(st.sampled_from(["cent", "0.05", "1.00"])),
        "compound": draw(st.booleans()),
    }  # fmt: skip


@st.composite
def whole_terms(draw: st.DrawFn) -> dict[str, Any]:
    by = draw(st.sampled_from(["margin", "markup"]))
    cuts = sorted(draw(st.lists(st.integers(1, 99), max_size=4, unique=True)))
    shares = [D(b - a) / 100 for a, b in zip([0, *cuts], [*cuts, 100], strict=True)]
    return {
        "by": by, "profit": draw(tenths), "overhead": draw(tenths), "contingency": draw(tenths),
        "discount": draw(tenths), "step": draw(st.sampled_from(QUOTE_STEPS)),
        "taxes": draw(st.lists(tax_lines(), max_size=3)), "shares": shares,
    }  # fmt: skip


def percent(value: D) -> str:
    return f"{value * 100:f} %"


def as_terms(on: dict[str, Any]) -> Terms:
    lines = [
        tax(
            f"T{n}",
            percent(t["rate"]),
            t["base"],
            inside=t["inside"],
            compound=t["compound"],
            rounding=t["rounding"],
        )
        for n, t in enumerate(on["taxes"])
    ]
    return terms(
        profit={on["by"]: percent(on["profit"])}, overhead=percent(on["overhead"]),
        discount=percent(on["discount"]),
        contingency={"rate": percent(on["contingency"])}, rounding=on["step"], tax=lines,
        payment=[payment(f"p{n}", percent(s)) for n, s in enumerate(on["shares"])],
    )  # fmt: skip


def as_fractions(on: dict[str, Any]) -> dict[str, Any]:
    exact = {k: F(on[k]) for k in ("profit", "overhead", "contingency", "discount")}
    lines = [t | {"rate": F(t["rate"]), "steps": STEPS[t["rounding"]]} for t in on["taxes"]]
    step = 0 if on["step"] == "none" else int(D(on["step"]))
    return on | exact | {"taxes": lines, "step": step, "shares": [F(s) for s in on["shares"]]}


@settings(max_examples=150, deadline=None)
@given(parts=st.fixed_dictionaries(dict.fromkeys((*MEASURED, *BESIDE), cents)), on=whole_terms())
def test_build_up_is_the_plain_arithmetic(parts: dict[str, D], on: dict[str, Any]) -> None:
    given_parts = [str(parts[key]) for key in MEASURED]
    ways = zip(BESIDE, ({}, {"charged": "at cost"}, {"charged": "at cost", "taxed": False}), strict=True)
    beside = other_lines(Other(text=key, rate=str(parts[key]), **way) for key, way in ways)  # type: ignore[arg-type]
    got = reckon_price(costs(*given_parts)[1], as_terms(on), day=DAY, currency="CAD", others=beside).totals()
    want = plain({key: F(value) for key, value in parts.items()}, as_fractions(on))
    for key in (
        "direct",
        "overhead",
        "contingency",
        "cost",
        "full_price",
        "at_cost",
        "discount",
        "rounding",
        "price",
        "profit",
    ):
        assert F(getattr(got, key)) == want[key], key
    assert [(F(t.base), F(t.amount)) for t in got.taxes] == want["taxes"]
    assert (F(got.tax), F(got.total)) == (want["tax"], want["total"])
    assert [F(p.amount) for p in got.payments] == want["payments"]


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(materials=cents, more=cents, on=whole_terms())
def test_a_spreadsheet_program_finds_every_cell(
    recalculate: Recalculate, materials: D, more: D, on: dict[str, Any]
) -> None:
    table, direct = costs(str(materials), "2996.12", "384.20", "206.61", "403.80")
    option = OptionCost("more", "More of it", materials + more, D("3100.05"), D("384.20"))
    hire = Other(text="Hire", quantity=3, unit="day", rate="41.17", charged="at cost")  # type: ignore[arg-type]
    less = Other(text="Less", rate="-12.00")  # type: ignore[arg-type]
    others = other_lines((hire, less))
    got = reckon_price(direct, as_terms(on), [option], day=DAY, currency="CAD", others=others)
    found = recalculate({"inputs": (table, *got.inputs), "workings": got.workings, "outputs": got.outputs})
    for one in got.tables:
        for field in one.fields:
            for n, value in enumerate(field.values):
                if isinstance(value, D):
                    assert found[one.key, field.key, n] == pytest.approx(float(value), abs=1e-9), field.key
                elif isinstance(value, str):
                    assert found[one.key, field.key, n] == value
