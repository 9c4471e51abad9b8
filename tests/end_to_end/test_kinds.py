"""Every kind of piece shows everywhere, and a new kind is a model and a record: these are tried here."""

from collections.abc import Iterator
from decimal import Decimal

import pytest

from estimator.catalogue.load import shipped_practice
from estimator.catalogue.records import KINDS
from estimator.job.agreement import disagreements
from estimator.job.description import job_file
from estimator.job.description_pieces import PIECES, Cloud, HeldBy, PieceKind, Treatment
from estimator.job.document import parse_document, validated
from estimator.job.fields import Product
from estimator.job.schema import reference
from tests.end_to_end.kinds import PIECE_ROWS, ROOM, Walked, estimate_of, job_text, missing


class Raft(Cloud):
    """A frame covered on both faces that hangs flat from two hangers."""


RAFT = PieceKind(
    Raft, "Rafts below the ceiling.", "hanging raft", "hanging rafts", faces=("front", "back"),
    held=HeldBy(named_by="hanger", choice="product_hanger", number="feet_per_screen"),
)  # fmt: skip
"""The practice has no number of its own for a trial; a screen's two feet are its two hangers."""


class Lining(Treatment):
    """A band on a wall like any, under a name of its own."""


LINING = PieceKind(Lining, "Linings of walls.", "lining", "linings")
LINING_ROWS = ('name = "L"\non = "north"\nto = "48 in"\nband = { bottom = "30 in", height = "3 ft" }',)
RAFT_ROWS = ('name = "F"\nwidth = "96 in"\nlength = "96 in"\ndrop = "8 in"\ncount = 2',)


SHIPPED = frozenset(PIECES)


@pytest.fixture(scope="module")
def every_kind(tmp_path_factory: pytest.TempPathFactory) -> Walked:
    folder = tmp_path_factory.mktemp("kinds")
    return Walked(estimate_of(job_text(PIECE_ROWS), folder), folder)


@pytest.fixture(scope="module")
def with_trials(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Walked]:
    folder = tmp_path_factory.mktemp("raft")
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(PIECES, "raft", RAFT)
        patch.setitem(PIECES, "lining", LINING)
        rows = {"wall": PIECE_ROWS["wall"], "raft": RAFT_ROWS, "lining": LINING_ROWS}
        yield Walked(estimate_of(job_text(rows), folder), folder)


def test_the_job_has_every_kind(every_kind: Walked) -> None:
    assert {f.kind for f in every_kind.made.scope.layout.frames} == SHIPPED


def test_every_kind_shows_everywhere(every_kind: Walked) -> None:
    assert not list(missing(every_kind))


def test_new_kinds_show_everywhere(with_trials: Walked) -> None:
    assert not list(missing(with_trials))


def test_a_new_kind_is_built_as_its_record_says(with_trials: Walked) -> None:
    """96 x 96 in: by spacing a cloud of that size has 3 x 3 hangers; this one has two, and two faces."""
    rafts = [f for f in with_trials.made.scope.layout.frames if f.kind == "raft"]
    assert [f.name for f in rafts] == ["F1", "F2"]
    for raft in rafts:
        assert with_trials.hardware(raft.name) == (Decimal(2), Decimal(2), Decimal(2))
        assert [x.holds_in for x in raft.fixings] == ["hanger", "hanger"]
        assert [face.name for face in raft.faces] == [f"{raft.name} front", f"{raft.name} back"]
    assert "2 hanging rafts" in with_trials.papers["quote"]
    assert any("F1, F2 hang over people" in p.what for p in with_trials.made.problems)


@pytest.mark.usefixtures("with_trials")
def test_a_new_kind_stands_in_the_reference_and_its_mistakes_are_told() -> None:
    assert "## `[[raft]]`" in reference()
    assert "| `raft` | array of table (at most 200) |  | Rafts below the ceiling. |" in reference()
    text = ROOM + '[[raft]]\nmake-up = "standart"\nat = { x = "84 in", y = "60 in" }\n' + RAFT_ROWS[0]
    document = parse_document(text, "job.toml")
    told = {p.where: p.what for p in disagreements(validated(job_file(), document), document)}
    assert told["raft[0].make-up"] == "there is no make-up 'standart'"
    assert "hanging rafts 'F' would hang in one place" in told["raft[0].at"]


def test_records_name_only_what_there_is() -> None:
    practice = shipped_practice()
    for kind in PIECES.values():
        fields = kind.model.model_fields
        assert {kind.held.named_by} <= {"", *fields}
        assert {kind.held.number} <= {"", *practice.values}
        assert {kind.held.choice} <= {"", *practice.choices}
        products = {m.kind for field in fields.values() for m in field.metadata if isinstance(m, Product)}
        assert products <= set(KINDS)


def test_what_is_missing_is_told_by_place(every_kind: Walked, monkeypatch: pytest.MonkeyPatch) -> None:
    """A paper, a sheet and a count without the screen: each is named."""
    blind = Walked(every_kind.made, every_kind.folder)
    sheets = {title: [t for t in texts if "S" not in t] for title, texts in every_kind.sheets.items()}
    papers = {**every_kind.papers, "quote": every_kind.papers["quote"].replace("freestanding", "")}
    monkeypatch.setitem(blind.__dict__, "sheets", sheets)
    monkeypatch.setitem(blind.__dict__, "papers", papers)
    monkeypatch.setitem(blind.__dict__, "against", every_kind.against - {"S"})
    monkeypatch.setitem(blind.__dict__, "heard", every_kind.heard | {"S": 0.0})
    told = set(missing(blind))
    assert {f"screen S: {place}" for place in ("quote", "comparison", "room", "sheet Hardware")} <= told
