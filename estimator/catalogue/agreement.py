"""Whether a job agrees with its catalogue: products exist, are of the right kind, and fit; money is one."""

from collections.abc import Iterator, Mapping

from estimator.catalogue.records import Catalogue, Item
from estimator.core.errors import Problem
from estimator.core.units import Nm, format_length, millimetres
from estimator.intake.structured import KeyPath
from estimator.job.description import Job
from estimator.job.document import Document, nearest
from estimator.job.fields import Product, Record

Wanted = tuple[KeyPath, str, str]


def _wanted(value: object, path: KeyPath = (), kind: str = "") -> Iterator[Wanted]:
    """Yield every product that a job names: key path, product, and the kind it must be."""
    if isinstance(value, Record):
        for name, field in type(value).model_fields.items():
            marks = (mark.kind for mark in field.metadata if isinstance(mark, Product))
            yield from _wanted(getattr(value, name), (*path, field.alias or name), next(marks, ""))
    elif isinstance(value, Mapping):
        for key, inner in value.items():
            yield from _wanted(inner, (*path, key), kind)
    elif isinstance(value, tuple):
        for n, inner in enumerate(value):
            yield from _wanted(inner, (*path, n), kind)
    elif kind and isinstance(value, str):
        yield path, value, kind


def _products(job: Job, catalogue: Catalogue, document: Document) -> Iterator[Problem]:
    for path, product, kind in _wanted(job):
        if product not in catalogue.by_product:
            known = dict.fromkeys(item.product for item in catalogue.of_kind(kind))
            what = f"the price list {catalogue.prices_name!r} has no product {product!r}"
            yield document.problem(path, what, nearest(product, known))
        elif catalogue.kind(product) != kind:
            what = f"{product!r} is of kind {catalogue.kind(product)}, wanted is a {kind}"
            known = dict.fromkeys(item.product for item in catalogue.of_kind(kind))
            yield document.problem(path, what, f"Known here: {', '.join(map(repr, known))}.")


def _first(catalogue: Catalogue, product: str | None) -> Item | None:
    return catalogue.by_product[product][0] if product and product in catalogue.by_product else None


def _shown(lengths: tuple[Nm, ...], job: Job) -> list[str]:
    """Return lengths as the job shows them, or exactly where two that differ would look the same."""
    texts = [format_length(length, job.header.display) for length in lengths]
    if len(set(texts)) < len(set(lengths)):
        return [f"{millimetres(length):g} mm" for length in lengths]
    return texts


def _fill(job: Job, catalogue: Catalogue, document: Document) -> Iterator[Problem]:
    """Board thickness x layers + gap must equal the member's depth, which is its width in the price list."""
    for name, make_up in job.make_ups.items():
        member, board = _first(catalogue, make_up.member), _first(catalogue, make_up.board)
        if not member or not board or not member.width or not board.thickness:
            continue
        boards = board.thickness * make_up.layers
        filled, room = boards + make_up.gap, member.width - boards
        if filled == member.width:
            continue
        lengths = (board.thickness, make_up.gap, filled, member.width, max(room, 0))
        one, gap, all_of_it, depth, right = _shown(lengths, job)
        what = (
            f"{make_up.layers} x {one} of board and a gap of {gap} fill {all_of_it}, "
            f"the member {make_up.member!r} is {depth} deep"
        )
        fix = f"Write a gap of {right}, or other boards." if room >= 0 else "Take a deeper member."
        yield document.problem(("make-up", name, "gap"), what, fix)


def _strips(job: Job, catalogue: Catalogue, document: Document) -> Iterator[Problem]:
    for name, make_up in job.make_ups.items():
        member, casing = _first(catalogue, make_up.member), _first(catalogue, make_up.casing)
        if member and casing and member.width and casing.width and casing.width < member.width:
            wide, deep = _shown((casing.width, member.width), job)
            what = f"the casing {make_up.casing!r} is {wide} wide and does not cover an edge {deep} deep"
            fix = "Name a casing at least as wide; it is ripped to fit."
            yield document.problem(("make-up", name, "casing"), what, fix)
        if make_up.primer and not make_up.finish:
            what = "primer without a paint over it"
            yield document.problem(("make-up", name, "primer"), what, "Add finish, or leave primer out.")


def _money(job: Job, catalogue: Catalogue, document: Document) -> Iterator[Problem]:
    path: KeyPath = ("job", "currency")
    prices = catalogue.items[0].currency
    if prices != job.header.currency:
        what = f"the job is in {job.header.currency}, the price list {catalogue.prices_name!r} in {prices}"
        yield document.problem(
            path, what, "Prices are not converted; name a price list in the job's currency."
        )
    for name, own in (("terms", catalogue.terms), ("labour rates", catalogue.labour)):
        if own.currency is not None and own.currency != job.header.currency:
            what = f"the job is in {job.header.currency}, the {name} {own.name!r} are in {own.currency}"
            yield document.problem(path, what, f"Name {name} in the job's currency.")


OPTIONAL_CHOICES = ("product_guard", "product_staple_heavy", "product_glue", "product_adhesive")
"""What a price list may leave out: covers, glue and adhesive are then the shop's own, and all cloth takes one
staple."""


def _choices(catalogue: Catalogue, document: Document) -> Iterator[Problem]:
    for key, choice in catalogue.practice.choices.items():
        if not choice.kind:
            continue
        found = _first(catalogue, choice.value)
        if found is None and key in OPTIONAL_CHOICES:
            continue
        if found is None or found.kind != choice.kind:
            what = f"the practice {key} names {choice.value!r}, no {choice.kind} of the price list"
            yield document.problem(("job", "prices"), what, "Add a row, or name another in the practice.")


def _dates(job: Job, catalogue: Catalogue, document: Document) -> Iterator[Problem]:
    days = catalogue.practice.number("price_age_days")
    ages = [(job.header.date - item.price_date).days for item in catalogue.items]
    if max(ages) > days:
        old = sum(age > days for age in ages)
        what = f"{old} of {len(ages)} prices are over {days:g} days old, the oldest {max(ages)} days"
        yield document.problem(("job", "prices"), what, "Ask the suppliers again before quoting.", "warning")
    if min(ages) < 0:
        what = f"{sum(age < 0 for age in ages)} prices are dated after the job"
        yield document.problem(("job", "date"), what, "Check the job's date.", "warning")


def _taxes(job: Job, catalogue: Catalogue, document: Document) -> Iterator[Problem]:
    for tax in catalogue.terms.taxes:
        if tax not in catalogue.terms.taxes_on(job.header.date):
            what = f"the tax {tax.name!r} is not in force on {job.header.date.isoformat()}"
            yield document.problem(("job", "terms"), what, "It is left out; check the terms.", "warning")


def _surfaces(job: Job) -> Iterator[tuple[KeyPath, str]]:
    yield ("room", "floor"), job.room.floor
    yield ("room", "ceiling"), job.room.ceiling
    yield from ((("room", "wall", n, "finish"), wall.finish) for n, wall in enumerate(job.room.walls))


def _finishes(job: Job, catalogue: Catalogue, document: Document) -> Iterator[Problem]:
    for path, key in _surfaces(job):
        if key not in catalogue.references.finishes:
            fix = nearest(key, catalogue.references.finishes)
            yield document.problem(path, f"the absorption table has no {key!r}", fix)


def _tasks(job: Job, catalogue: Catalogue, document: Document) -> Iterator[Problem]:
    known = [*catalogue.labour.by_key, "all"]
    for n, difficulty in enumerate(job.header.difficulty):
        for m, task in enumerate(difficulty.tasks):
            if task not in known:
                path: KeyPath = ("job", "difficulty", n, "tasks", m)
                yield document.problem(path, f"there is no labour task {task!r}", nearest(task, known))


def product_disagreements(job: Job, catalogue: Catalogue, document: Document) -> list[Problem]:
    """Return everything in which a job and its price list do not agree."""
    found = [*_products(job, catalogue, document), *_fill(job, catalogue, document)]
    return [*found, *_strips(job, catalogue, document), *_money(job, catalogue, document)]


def catalogue_disagreements(job: Job, catalogue: Catalogue, document: Document) -> list[Problem]:
    """Return everything in which a job and its whole catalogue do not agree, errors and warnings."""
    found = [*product_disagreements(job, catalogue, document), *_finishes(job, catalogue, document)]
    found += [*_tasks(job, catalogue, document), *_choices(catalogue, document)]
    return [*found, *_dates(job, catalogue, document), *_taxes(job, catalogue, document)]
