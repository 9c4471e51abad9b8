"""Random jobs: rooms, treatments, pieces, options and terms that a shop could well be asked for.

A job is drawn as the text of its files, as the office would write them; what the program refuses (a corner
trap into a treated wall, a frame no two people can lift) is for the caller to pass over.
"""

import datetime as dt
from dataclasses import dataclass
from math import atan2, degrees
from pathlib import Path

from hypothesis import strategies as st


@dataclass(frozen=True, slots=True)
class Shop:
    """What a shop in one set of units works with; lengths are counted in its steps.

    A make-up is member, board, layers, steps of air behind them, and the casings that cover its edge.
    """

    display: str
    currency: str
    unit: str
    step: float
    foot: int
    make_ups: tuple[tuple[str, str, int, int, tuple[str, ...]], ...]
    fabrics: tuple[str, ...]
    covers: tuple[str | None, ...]
    paints: tuple[str, ...]
    foot_product: str

    def length(self, steps: int) -> str:
        """Return a length as the job file takes it."""
        value = steps * self.step
        return f"{value:g} {self.unit}"


IMPERIAL = Shop(
    "imperial", "CAD", "in", 0.125, 96,
    (("member-2x2", "board-48-1.5", 1, 0, ("casing-half", "casing-primed")),
     ("member-2x2", "board-48-1", 1, 4, ("casing-half", "casing-half-4")),
     ("member-2x4", "board-48-1.5", 2, 4, ("casing-half-4",)),
     ("member-2x3", "board-128-1", 2, 4, ("casing-half-4",))),
    ("fabric-plain", "fabric-rib", "fabric-velour", "fabric-check"), ("cover-strip", None),
    ("paint-trim", "paint-black"), "foot-ballast-32",
)  # fmt: skip
METRIC = Shop(
    "metric", "EUR", "mm", 1.0, 300,
    (("member-38x38", "board-48-38", 1, 0, ("casing-12",)),
     ("member-38x38", "board-48-25", 1, 13, ("casing-12", "casing-12-95")),
     ("member-38x89", "board-48-38", 2, 13, ("casing-12-95",)),
     ("member-38x89", "board-128-38", 2, 13, ("casing-12-95",))),
    ("fabric-plain", "fabric-velour", "fabric-check"), ("cover-6", None), ("paint-trim",),
    "foot-ballast-800",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class JobText:
    """The texts of a job file and of the client's terms beside it."""

    job: str
    terms: str

    def write(self, folder: Path) -> Path:
        """Write both into a folder; returns the job file."""
        (folder / "terms.toml").write_text(self.terms, encoding="utf-8")
        path = folder / "job.toml"
        path.write_text(self.job, encoding="utf-8")
        return path


def _table(head: str, **values: object) -> str:
    """Return a TOML table; text that begins with a brace or bracket stands as it is, None is left out."""
    rows = [head]
    for key, value in values.items():
        named = "make-up" if key == "make_up" else key
        if isinstance(value, str) and value[:1] not in "{[":
            rows.append(f'{named} = "{value}"')
        elif value is not None:
            rows.append(f"{named} = {str(value).lower() if isinstance(value, bool) else value}")
    return "\n".join(rows) + "\n"


@dataclass(frozen=True, slots=True)
class Wall:
    """A wall of the plan: length in the shop's steps, turn at its right end in degrees."""

    name: str
    steps: int
    turn: float = 90.0


@st.composite
def plans(draw: st.DrawFn, shop: Shop) -> list[Wall]:
    """Draw a box, or one with a corner cut off by a 3:4:5 triangle, so that it closes exactly."""
    wide, deep = (shop.foot * draw(st.integers(8, 20)) for _ in range(2))
    if not draw(st.booleans()):
        return [Wall("north", wide), Wall("east", deep), Wall("south", wide), Wall("west", deep)]
    third = shop.foot * draw(st.integers(1, 2)) // 2
    lean = degrees(atan2(4, 3))
    return [
        Wall("north", wide - 3 * third, lean), Wall("cut", 5 * third, 90 - lean),
        Wall("east", deep - 4 * third), Wall("south", wide), Wall("west", deep),
    ]  # fmt: skip


@st.composite
def make_ups(draw: st.DrawFn, shop: Shop) -> str:
    """Draw the make-ups: two that may be cased, one that hangs or stands free."""
    out = []
    for name in ("standard", "other", "bare"):
        member, board, layers, gap, casings = draw(st.sampled_from(shop.make_ups))
        casing = draw(st.sampled_from((*casings, None))) if name != "bare" else None
        cover = draw(st.sampled_from(shop.covers)) if casing else None
        finish = draw(st.sampled_from((*shop.paints, None))) if casing else None
        out.append(_table(
            f"[make-up.{name}]", member=member, board=board, layers=layers,
            gap=shop.length(gap) if gap else None, fabric=draw(st.sampled_from(shop.fabrics)),
            colour=draw(st.sampled_from(("slate", "oat", "moss"))), casing=casing, cover=cover,
            finish=finish, primer="primer-wood" if finish and casing != "casing-primed" else None,
        ))  # fmt: skip
    return "\n".join(out)


@st.composite
def openings(draw: st.DrawFn, shop: Shop, wall: Wall, head: str, names: str) -> str:
    """Draw up to two openings that stand clear of each other: one in each half of the wall."""
    out, foot = [], shop.foot
    half = wall.steps // 2
    for number in range(draw(st.integers(0, 2 if half >= 5 * foot else 0))):
        kind = draw(st.sampled_from(("window", "door", "outlet", "switch", "vent")))
        width, height, bottom = {
            "window": (draw(st.integers(8, 16)) * foot // 4, draw(st.integers(2, 4)) * foot, 3 * foot),
            "door": (3 * foot, 20 * foot // 3, 0),
            "outlet": (foot // 4, foot // 3, draw(st.integers(1, 4)) * foot),
            "switch": (foot // 4, foot // 3, 4 * foot),
            "vent": (foot, foot // 2, foot),
        }[kind]
        room = half - width - foot
        left = number * half + foot // 2 + draw(st.integers(0, max(room // 8, 0))) * 8
        out.append(_table(
            head, name=f"{names}{number + 1}", kind=kind, left=shop.length(left), bottom=shop.length(bottom),
            width=shop.length(width), height=shop.length(height),
            casing=shop.length(foot // 4) if kind in {"window", "door"} else None,
            egress=True if kind == "door" else None,
        ))  # fmt: skip
    return "\n".join(out)


@st.composite
def treatments(draw: st.DrawFn, shop: Shop, chosen: list[Wall], height: int) -> str:
    """Draw the treatments of the walls that were chosen."""
    out, foot = [], shop.foot
    for number, wall in enumerate(chosen, start=1):
        name, band, sides = f"T{number}", None, None
        if draw(st.booleans()):
            top = draw(st.integers(2 * height // 3, height - foot // 2))
            band = f'{{ bottom = "{shop.length(foot // 2)}", height = "{shop.length(top - foot // 2)}" }}'
            sides = '{ bottom = "baseboard" }'
        kind = draw(st.sampled_from(("gypsum", "masonry")))
        backing = '{ kind = "masonry" }'
        if kind == "gypsum":
            layers, direction = draw(st.integers(1, 2)), draw(st.sampled_from(("vertical", "horizontal")))
            backing = f'{{ kind = "gypsum", layers = {layers}, direction = "{direction}" }}'
        out.append(_table(
            "[[wall]]", name=name, on=wall.name, make_up=draw(st.sampled_from(("standard", "other"))),
            band=band, sides=sides, backing=backing, exterior=draw(st.booleans()),
        ))  # fmt: skip
        out.append(draw(openings(shop, wall, "[[wall.opening]]", f"{name}-")))
    return "\n".join(out)


@st.composite
def pieces(draw: st.DrawFn, shop: Shop, walls: list[Wall], bare: set[str]) -> str:
    """Draw what hangs or stands free: clouds, screens, and now and then a trap between two `bare` walls."""
    out, foot = [], shop.foot
    wide, deep = walls[-2].steps, walls[-1].steps
    if draw(st.booleans()):
        out.append(_table(
            "[[cloud]]", name="K", width=shop.length(draw(st.integers(8, 16)) * foot // 4),
            length=shop.length(draw(st.integers(2, 6)) * foot), make_up="bare",
            drop=shop.length(draw(st.integers(2, 4)) * foot // 4), count=1,
            at=f'{{ x = "{shop.length(wide // 2)}", y = "{shop.length(deep // 2)}" }}',
        ))  # fmt: skip
    if draw(st.booleans()):
        out.append(_table(
            "[[screen]]", name="S", width=shop.length(4 * foot), make_up="bare",
            height=shop.length(draw(st.integers(4, 6)) * foot), count=draw(st.integers(1, 3)),
            feet=shop.foot_product,
        ))  # fmt: skip
    if bare >= {"south", "west"} and draw(st.booleans()):
        out.append(_table(
            "[[corner]]", name="C", between='["south", "west"]', make_up="other",
            kind=draw(st.sampled_from(("flat", "solid"))),
            leg=shop.length(draw(st.integers(4, 6)) * foot // 4), bottom=shop.length(foot // 2),
            height=shop.length(draw(st.integers(4, 6)) * foot),
        ))  # fmt: skip
    return "\n".join(out)


@st.composite
def changes(draw: st.DrawFn, shop: Shop) -> str:
    """Draw a colour, up to two options, an allowance and factors on the labour."""
    out = []
    if draw(st.booleans()):
        out.append(_table("[[colour]]", wall="T1", colour="rust", fabric=draw(st.sampled_from(shop.fabrics))))
    if draw(st.booleans()):
        out.append(_table("[[option]]", name="other", title="The other make-up",
                          make_up='{ standard = "other" }'))  # fmt: skip
    if draw(st.booleans()):
        colour = f'[{{ wall = "T1", fabric = "{shop.fabrics[0]}", colour = "oat" }}]'
        out.append(_table("[[option]]", name="plain", title="One cloth: =cheaper+", colour=colour))
    if draw(st.booleans()):
        out.append(_table("[[allowance]]", text="Box extensions, by others", amount="145.55"))
    return "\n".join(out)


def _percent(low: int, high: int) -> st.SearchStrategy[str]:
    """Return shares in quarters of a percent, as the terms file takes them."""
    return st.integers(4 * low, 4 * high).map(lambda quarters: f"{quarters / 4:g} %")


@st.composite
def taxes(draw: st.DrawFn) -> str:
    """Draw none, one, two (the second on the first or not), or one paid on purchases inside the price."""
    kind = draw(st.sampled_from(("none", "one", "two", "inside")))
    out = []
    for number in range({"none": 0, "one": 1, "two": 2, "inside": 2}[kind]):
        inside = kind == "inside" and number == 0
        base = draw(
            st.sampled_from(
                ("materials", "labour+other") if inside else ("price", "labour", "materials+other")
            )
        )
        out.append(_table(
            "[[tax]]", name=f"Tax {number + 1}",
            rate=draw(st.sampled_from(("5 %", "9.975 %", "13 %", "20 %"))), base=base,
            inside=inside, compound=number > 0 and draw(st.booleans()),
            rounding=draw(st.sampled_from(("cent", "0.05", "1.00"))), authority="an invented state",
            source="invented", since=dt.date(2020, 1, 1),
        ))  # fmt: skip
    return "\n".join(out)


@st.composite
def terms(draw: st.DrawFn) -> str:
    """Draw a client's terms."""
    by, share = draw(st.sampled_from((("margin", 60), ("markup", 120))))
    contingency = draw(
        st.sampled_from(('{ rate = "5 %" }', '{ from_spread = "80 %" }', '{ from_spread = "95 %" }'))
    )
    head = _table(
        "schema = 1", name="Drawn", overhead=draw(_percent(0, 30)), contingency=contingency,
        discount=draw(st.sampled_from(("0 %", "2.5 %", "10 %"))), margin_floor="15 %",
        rounding=draw(st.sampled_from(("none", "1.00", "5.00", "100.00"))), validity_days=30,
        profit=f'{{ {by} = "{draw(_percent(1, share))}" }}',
    )  # fmt: skip
    steps = draw(st.sampled_from((("100 %",), ("50 %", "50 %"), ("33.33 %", "33.33 %", "33.34 %"))))
    deposit = draw(st.booleans())
    if deposit:
        steps = (*steps[:-1], "0 %")
    paid = [
        _table("[[payment]]", label=f"Step {n}", share=s, when="as agreed") for n, s in enumerate(steps, 1)
    ]
    if deposit:
        paid.insert(0, _table("[[payment]]", label="Deposit", amount="250.00", when="with the order"))
    return "\n".join([head, *paid, draw(taxes())])


@st.composite
def jobs(draw: st.DrawFn) -> JobText:
    """Draw a whole job with its terms."""
    shop = draw(st.sampled_from((IMPERIAL, METRIC)))
    walls = draw(plans(shop))
    height = draw(st.integers(30, 40)) * shop.foot // 4
    chosen = draw(st.lists(st.sampled_from(walls), min_size=1, max_size=4, unique=True))
    bare = {w.name for w in walls if w not in chosen}
    lists = "default" if shop is IMPERIAL else "metric"
    factor = draw(st.sampled_from((None, '[{ factor = 1.15, reason = "stairs", tasks = ["all"] }]')))
    parts = [
        "schema = 1\n",
        _table(
            "[job]", number="R-1", title="A drawn room", client="Drawn (invented)", currency=shop.currency,
            display=shop.display, prices=lists, practice=lists, terms="terms.toml", date=dt.date(2026, 4, 7),
            visits=draw(st.sampled_from((None, 2))), difficulty=factor,
        ),
        _table("[room]", name="Room", use=draw(st.sampled_from(("control", "worship", "classroom"))),
               height=shop.length(height)),
        *(_table("[[room.wall]]", name=w.name, length=shop.length(w.steps), turn=w.turn) for w in walls),
        draw(make_ups(shop)), draw(treatments(shop, chosen, height)),
        draw(pieces(shop, walls, bare)), draw(changes(shop)),
    ]  # fmt: skip
    return JobText("\n".join(parts), draw(terms()))
