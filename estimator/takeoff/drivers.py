"""What the labour is driven by: counts and lengths of the takeoff that hours are worked out from."""

from collections.abc import Mapping
from decimal import Decimal

from estimator.calc.expressions import Expr, find_line, if_, product_total, total, total_where
from estimator.calc.tables import Draft, Table
from estimator.catalogue.labour import JOURNEYS, STANDING
from estimator.core.units import Measures
from estimator.layout.records import Layout


def layout_counts(layout: Layout, trips: tuple[int, int]) -> Table:
    """Return the form of what is counted in the layout: frames by how they are held, openings, bevels.

    Args:
        layout: what is built.
        trips: to the site, and people on all of them.
    """
    form = Draft("layout_counts", "Counted from the layout", "across")
    frames = layout.frames
    overhead, covering = sum(f.overhead for f in frames), sum(bool(f.placement.covers) for f in frames)
    bevels = sum(1 for s in layout.strips if s.bevel_deg or any(e.cut == "mitre" for e in s.ends))
    for key, label, value in (
        ("count_frames", "Frames", len(frames)),
        ("count_hung", "Frames fixed to a wall", covering),
        ("count_clouds", "Clouds", overhead),
        ("count_screens", "Screens", len(frames) - covering - overhead),
        ("count_openings", "Openings that frames go round", len(layout.worked_round)),
        ("count_fixed", "Frames fixed to the building", sum(bool(f.fixings) for f in frames)),
        ("count_bevels", "Strips with a bevel or mitre", bevels),
        ("count_strips", "Casing and cover strips", len(layout.strips)),
        ("count_inspections", "Inspections that a caution asks for", _inspections(layout)),
        ("count_trips", "Trips to the site", trips[0]),
        ("count_journeys", "People on all trips", trips[1]),
        ("count_jobs", "Jobs", 1),
    ):
        form.decided(key, label, "ea", [Decimal(value)], places=0)
    return form.table()


def _inspections(layout: Layout) -> int:
    """Return how often work waits for a licensed trade: at boxes behind frames, at what hangs overhead."""
    frames = layout.frames
    return any(f.boxes for f in frames) + any(f.overhead for f in frames)


def drivers(worked: Mapping[str, Table], counted: Table, units: Measures) -> tuple[Table, Table]:
    """Return the form of sums, and the table of drivers: key, description, unit and live quantity.

    Args:
        worked: the takeoff's tables.
        counted: as `layout_counts`.
        units: of the job.
    """
    rows = {
        **_frame_drivers(worked, units),
        **_strip_drivers(worked, units),
        **_chosen(worked),
        **_counted(counted, worked["hardware"]),
    }
    form = Draft("driver_sums", "Sums that drive the hours", "across")
    for key, (label, unit, expr) in rows.items():
        form.formula(key, label, unit, expr)
    sums = form.table()
    table = Draft("drivers", "What the hours follow from")
    keys = table.keys(list(rows), "Driver")
    table.label("description", "Description", [r[0] for r in rows.values()])
    table.label("unit", "Unit", [r[1] for r in rows.values()])
    table.formula("quantity", "Quantity", "", find_line(sums.fields, keys))
    return sums, table.table()


_Rows = Mapping[str, tuple[str, str, Expr]]


def _frame_drivers(worked: Mapping[str, Table], units: Measures) -> _Rows:
    facts, work, counts = worked["frame_facts"], worked["frame_work"], worked["count_trail"]
    return {
        "frame_area": ("Frame area", units.area, total(work["frame_area"])),
        "member_cuts": ("Member pieces cut", "ea", total(work["member_cuts"])),
        "joints": ("Member joints", "ea", total(work["joints"])),
        "board_pieces": ("Board pieces", "ea", total(facts["boards"])),
        "cavity_area": ("Cavities filled", units.area, total(work["board_area"])),
        "fabric_pieces": ("Pieces of cloth", "ea", total(work["cloths"])),
        "seam_length": ("Seams of cloth", units.large, total(work["sewn"])),
        "face_area": ("Covered face", units.area, product_total(facts["faces"], work["frame_area"])),
        "wrapped_edge": ("Wrapped edge", units.large, total(work["wrapped_edge"])),
        "staples": ("Staples", "ea", total(work["staples"])),
        "protect_area": ("Floor protected", units.area, total(work["protection"])),
        "boxes": ("Electrical boxes behind frames", "ea", total(facts["boxes"])),
        "fixing_screws": ("Fixing screws", "ea", total_where(counts["quantity"], counts["is_fixing"], "yes")),
    }


def _strip_drivers(worked: Mapping[str, Table], units: Measures) -> _Rows:
    work = worked["strip_work"]
    coats, in_shop = total(work["coat_run"]), finished_in_shop(worked["practice"])
    return {
        "casing_length": ("Casings and cover strips", units.large, total(work["run"])),
        "painted_length_coats": ("Painted on site × coats", units.large, coats * (1 - in_shop)),
        "finished_length_coats": ("Painted in the shop × coats", units.large, coats * in_shop),
        "touched_length": ("Painted length touched up", units.large, total(work["painted_run"]) * in_shop),
        "primed_length": ("Primed length", units.large, total(work["primer_run"])),
        "nails": ("Nails", "ea", total(work["nails"])),
        "sealant_length": ("Sealed length", units.large, total(work["seal_run"])),
        "masked_length": ("Masked length", units.large, total(work["masked"])),
    }


def finished_in_shop(practice: Table) -> Expr:
    """Return 1 where strips are painted before they leave the shop, 0 where they are painted on site."""
    return if_(practice["strips_finished"].at().eq("shop"), 1, 0)


def _chosen(worked: Mapping[str, Table]) -> _Rows:
    priced = if_(worked["practice"]["standing_time"].at().eq("priced"), 1, 0)
    rubbish = if_(total(worked["frame_work"]["bags"]).gt(0), 1, 0)
    return {
        STANDING: ("Hours stood on site, where they are priced", "ea", priced),
        "tip_runs": ("Runs to the tip", "ea", rubbish),
    }


def _counted(counted: Table, hardware: Table) -> _Rows:
    names = {
        "frames": "count_frames",
        "fixed_pieces": "count_fixed",
        "hung_pieces": "count_hung",
        "clouds": "count_clouds",
        "screens": "count_screens",
        "openings": "count_openings",
        "bevel_cuts": "count_bevels",
        "casing_pieces": "count_strips",
        "inspections": "count_inspections",
        "visits": "count_trips",
        JOURNEYS: "count_journeys",
        "job": "count_jobs",
    }
    rows = {key: (counted[name].label, "ea", counted[name].at()) for key, name in names.items()}
    return {**rows, "hardware_pieces": ("Hangers, hooks and feet", "ea", total(hardware["pieces"]))}
