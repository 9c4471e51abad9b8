"""``battenbook archive`` as its user types it: what it prints, what it files, what it ends with."""

import datetime as dt
import io
import json
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pandas as pd
import pytest
from typer.testing import CliRunner, Result

from estimator.archive import gather
from estimator.archive.summary import FiledTotals, PaymentStep, QuoteLine, Summary, TaxLine
from estimator.cli import archive_reading, estimate
from estimator.cli.app import app as program

D = Decimal
# An invented job: 100 materials, 60 labour, cost 160, price 200, HST 26.
QUOTE = Summary(
    "2026-7", 0, "Example Dental", "Reception wall", "1 Example Road", dt.date(2026, 11, 2), "CAD",
    FiledTotals(D("100.00"), D("60.00"), D("0.00"), D("0.00"), D("0.00"), D("160.00"), D("40.00"), D("0.2"),
           D("200.00"), D("226.00")),
    (TaxLine("HST", D(13), D("200.00"), D("26.00"), "R1"),), (PaymentStep("All", D("226.00")),),
    D("4.0"), D(1), (QuoteLine("Wall", "Panels", D(4), "each", D("200.00")),), "0.1.0",
)  # fmt: skip


class Desk:
    """A user at a desk: an archive, a job, and the command."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.archive = folder, folder / "archive"

    def says(self, *words: str) -> Result:
        return CliRunner().invoke(program, ["archive", *words, "--archive", str(self.archive)])

    def json(self, *words: str) -> Any:
        return json.loads(self.says(*words, "--json").stdout)

    def paper(self, name: str, content: bytes = b"%PDF made up") -> str:
        (self.folder / name).write_bytes(content)
        return str(self.folder / name)


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    """Return a desk whose jobs all estimate to the invented quote."""
    job = tmp_path / "job.toml"
    job.write_text("# invented\n")
    monkeypatch.setattr(estimate, "estimated", lambda _: (None, ()))
    monkeypatch.setattr(gather, "gather", lambda path, *_: (QUOTE, {"job.toml": path}))
    return Desk(tmp_path)


@pytest.fixture
def filled(desk: Desk) -> Desk:
    """Return a desk with a quote filed, won, invoiced, part paid, and reported on."""
    assert desk.says("add", str(desk.folder / "job.toml")).exit_code == 0
    assert desk.says("outcome", "2026-7", "won").exit_code == 0
    pdf = desk.paper("INV-3.pdf")
    assert desk.says("invoice", "2026-7", pdf, "--amount", "113.00", "--date", "2026-12-01").exit_code == 0
    paid = ("paid", "2026-7", "--amount", "100.00", "--date", "2026-12-20", "--invoice", "INV-3")
    assert desk.says(*paid).exit_code == 0
    actual = desk.paper("spent.csv", b"kind,name,amount\nhours,cut,3\ncost,materials,150\n")
    assert desk.says("actual", "2026-7", actual).exit_code == 0
    return desk


def test_add_says_where(desk: Desk) -> None:
    done = desk.says("add", str(desk.folder / "job.toml"))
    where = f"of the archive {desk.archive}"
    assert done.stdout == f"Filed 2026-7 revision 0 in 2026/Example Dental/2026-7-r0\n{where}\n"
    assert (desk.archive / "2026/Example Dental/2026-7-r0/job.toml").read_text() == "# invented\n"


def test_adding_again_is_refused_with_exit_4(desk: Desk) -> None:
    desk.says("add", str(desk.folder / "job.toml"))
    again = desk.says("add", str(desk.folder / "job.toml"))
    assert again.exit_code == 4
    assert "quote 2026-7: revision 0 is filed already" in again.stderr
    told = desk.json("add", str(desk.folder / "job.toml"))
    assert (told["result"], told["problems"][0]["where"]) == (None, "quote 2026-7")


def test_list_shows_quoted_invoiced_paid_open_and_spent(filled: Desk) -> None:
    text = filled.says("list").stdout
    assert "2026-7" in text
    row = next(line for line in text.splitlines() if line.startswith("2026-7"))
    assert row.split()[-5:] == ["226.00", "113.00", "100.00", "13.00", "150.00"]
    assert "CAD: quoted 226.00, invoiced 113.00, paid 100.00, open 13.00" in text


def test_list_and_find_as_json(filled: Desk) -> None:
    [quote] = filled.json("list", "--year", "2026", "--outcome", "won")["result"]["quotes"]
    assert (quote["quoted"], quote["to_invoice"], quote["due"]) == (226.0, 113.0, 13.0)
    assert (quote["margin"], quote["margin_earned"], quote["price_per_m2"]) == (0.2, 0.25, 50.0)
    assert filled.json("find", "dental reception")["result"]["quotes"] == [quote]
    assert filled.json("find", "nobody")["result"]["quotes"] == []
    assert filled.json("list", "--client", "else")["result"]["quotes"] == []


def test_a_long_list_shows_the_newest_and_says_so(filled: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Three quotes of 226.00 each, the oldest filed last: totals are of all; --all and --json hold all."""
    for number, day in (("2026-8", 3), ("2026-6", 1)):
        other = replace(QUOTE, number=number, date=dt.date(2026, 11, day))
        monkeypatch.setattr(gather, "gather", lambda *_, other=other: (other, {}))
        assert filled.says("add", "job.toml").exit_code == 0
    monkeypatch.setattr(archive_reading, "NEWEST", 2)
    text = filled.says("list").stdout
    assert [line.split()[0] for line in text.splitlines()[2:4]] == ["2026-7", "2026-8"]
    assert "The newest 2 of 3 quotes; --all prints every one." in text
    assert "CAD: quoted 678.00" in text
    assert len(filled.says("list", "--all").stdout.splitlines()) == 2 + 3 + 1
    assert [q["number"] for q in filled.json("list")["result"]["quotes"]] == ["2026-6", "2026-7", "2026-8"]
    assert "No quote fits." in filled.says("find", "nobody").stdout


def test_show_names_every_paper(filled: Desk) -> None:
    text = filled.says("show", "2026-7").stdout
    for wanted in (
        "Reception wall",
        "Margin quoted 20.0 %, earned 25.0 %",
        "INV-3.pdf",
        "won",
        "spent.csv",
        "50.00",
    ):
        assert wanted in text, wanted
    told = filled.json("show", "2026-7")["result"]
    assert [p["kind"] for p in told["papers"]] == ["outcome", "invoice", "paid", "actual"]


def test_verify_ends_with_0_and_then_with_5(filled: Desk) -> None:
    whole = filled.says("verify")
    assert (whole.exit_code, whole.stdout[:6]) == (0, "Whole:")
    (filled.archive / "2026/Example Dental/2026-7-r0/job.toml").write_text("# another\n")
    damaged = filled.says("verify")
    assert damaged.exit_code == 5
    assert "2026/Example Dental/2026-7-r0/job.toml: is damaged" in damaged.stderr
    assert filled.says("verify", "--json").exit_code == 5
    assert filled.json("verify")["problems"][0]["where"] == "2026/Example Dental/2026-7-r0/job.toml"


def test_rebuild_counts(filled: Desk) -> None:
    assert filled.says("rebuild").stdout == "The index holds 1 quote and 4 papers\n"
    assert filled.json("rebuild")["result"] == {"quotes": 1, "papers": 4, "entered": []}


def test_stats_print_and_write_a_workbook(filled: Desk) -> None:
    out = filled.folder / "stats.xlsx"
    done = filled.says("stats", "--out", str(out))
    assert done.exit_code == 0, done.output
    assert "Example Dental" in done.stdout
    assert openpyxl.load_workbook(out).sheetnames == ["Quotes", "By year", "By client"]
    assert filled.says("stats", "--out", str(out)).exit_code == 4
    assert filled.says("stats", "--out", str(out), "--force").exit_code == 0
    [year] = filled.json("stats")["result"]["by_year"]
    assert (year["won"], year["margin_earned"], year["price_per_m2"]) == (1, 0.25, 50.0)


def test_exports(filled: Desk) -> None:
    out = filled.folder / "journal.csv"
    assert filled.says("export", "journal", "--out", str(out)).exit_code == 0
    table = pd.read_csv(io.BytesIO(out.read_bytes()))
    assert table["debit"].sum() == table["credit"].sum() == 213.0
    assert "<Quotation" in filled.says("export", "quotation", "2026-7").stdout
    assert "<Invoice" in filled.says("export", "invoice", "2026-7", "--reference", "INV-3").stdout
    assert filled.json("export", "quotes", "--format", "json")["result"]["content"].startswith("[")
    assert filled.says("export", "gold").exit_code == 3


def test_what_cannot_be_right_takes_force_and_a_note_and_is_shown_with_them(filled: Desk) -> None:
    words = ("invoice", "2026-7", filled.paper("INV-4.pdf", b"%PDF other"), "--amount", "99999",
             "--date", "2026-12-02")  # fmt: skip
    refused = filled.says(*words)
    assert (refused.exit_code, refused.stdout, refused.stderr.count("\n")) == (3, "", 1)
    assert "invoice INV-4: 99999.00 makes 100112.00 invoiced, and 226.00 is quoted" in refused.stderr
    assert filled.says(*words, "--force").exit_code == 3
    assert filled.says(*words, "--force", "--note", "agreed by telephone").exit_code == 0
    assert (
        "99999.00 makes 100112.00 invoiced, and 226.00 is quoted; agreed by"
        in filled.says("show", "2026-7").stdout
    )
    unknown = filled.says("paid", "2026-7", "--amount", "5", "--date", "2026-12-21", "--invoice", "INV-99")
    assert (unknown.exit_code, "no invoice INV-99 is filed beside 2026-7" in unknown.stderr) == (3, True)


def test_the_same_report_is_filed_once(filled: Desk) -> None:
    done = filled.says("actual", "2026-7", str(filled.folder / "spent.csv"))
    assert done.stdout == "Nothing new: all of it is filed already\n"
    later = filled.paper("spent.csv", b"kind,name,amount\nhours,cut,4\ncost,materials,150\n")
    assert "Filed actual" in filled.says("actual", "2026-7", later).stdout


def test_a_paper_is_reversed_and_show_says_so(filled: Desk) -> None:
    done = filled.says("reverse", "2026-7", "3", "--note", "bounced", "--date", "2026-12-28")
    assert done.stdout == "Filed reversal of payment INV-3, -100.00, 2026-12-28, beside 2026-7 as paper 5\n"
    text = filled.says("show", "2026-7").stdout
    assert "reversed by 5" in text
    assert "reverses 3; bounced" in text
    row = next(line for line in filled.says("list").stdout.splitlines() if line.startswith("2026-7"))
    assert row.split()[-5:] == ["226.00", "113.00", "0.00", "113.00", "150.00"]
    again = filled.says("reverse", "2026-7", "3", "--note", "again")
    assert (again.exit_code, "is reversed already, by paper 5" in again.stderr) == (3, True)
    assert filled.says("reverse", "2026-7", "3").exit_code == 2
    assert filled.says("verify").exit_code == 0


def test_without_its_own_folder_an_archive_is_not_proved_until_somebody_says_why(filled: Desk) -> None:
    kept = filled.says("seal").stdout.strip()
    assert re.fullmatch("[0-9a-f]{64}", kept)
    assert "As it was sealed then, and 0 entries since" in filled.says("verify", "--seal", kept).stdout
    shutil.rmtree(filled.archive / ".battenbook")
    gone = filled.says("verify")
    assert (gone.exit_code, "archive rebuild" in gone.stderr) == (5, True)
    assert filled.says("seal").exit_code == 5
    rebuilt = filled.says("rebuild")
    assert rebuilt.stderr.count("was not in the ledger: entered, not proved") == 5
    assert rebuilt.stdout == "The index holds 1 quote and 4 papers; 5 entered, not proved\n"
    for seal in ((), ("--seal", kept)):
        told = filled.says("verify", *seal)
        assert (told.exit_code, told.stdout) == (5, "")
        assert told.stderr.count("is not proved") == 5
    assert "is the seal of no state of this archive" in filled.says("verify", "--seal", kept).stderr
    assert filled.says("acknowledge", "2026-7").exit_code == 2
    assert filled.says("acknowledge", "--note", "x").exit_code == 3
    assert filled.says("acknowledge", "2026-8", "--note", "x").exit_code == 3
    done = filled.says("acknowledge", "2026-7", "--note", "held against the tape of Friday")
    assert done.stdout.count("Taken for good: ") == 5
    whole = filled.says("verify")
    assert (whole.exit_code, whole.stdout[:6]) == (0, "Whole:")
    assert whole.stderr.count("was taken for good: held against the tape of Friday") == 5


def test_a_receipt_is_filed_and_shown(filled: Desk) -> None:
    slip = filled.paper("slip.jpg", b"a slip")
    assert filled.says("receipt", "2026-7", slip, "--amount", "42.5", "--date", "2026-11-30").exit_code == 0
    assert filled.json("show", "2026-7")["result"]["account"]["receipts"] == 42.5


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("invoice", "2026-7", "{pdf}", "--amount", "1,000", "--date", "2026-12-01"), "no amount of money"),
        (("invoice", "2026-7", "{pdf}", "--amount", "1.005", "--date", "2026-12-01"), "no amount of money"),
        (("invoice", "2026-7", "{pdf}", "--amount", "NaN", "--date", "2026-12-01"), "no amount of money"),
        (("invoice", "2026-7", "{pdf}", "--amount", "5", "--date", "soon"), "no date"),
        (("invoice", "2026-7", "/nowhere.pdf", "--amount", "5", "--date", "2026-12-01"), "no such file"),
        (("invoice", "2026-8", "{pdf}", "--amount", "5", "--date", "2026-12-01"), "not filed here"),
        (("outcome", "2026-7", "maybe"), "neither won nor lost"),
        (("actual", "2026-7", "{pdf}"), "kind, name, amount"),
        (("list", "--outcome", "maybe"), "not known"),
        (("show", "2026-8"), "not filed here"),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_said_with_exit_3(filled: Desk, words: tuple[str, ...], said: str) -> None:
    pdf = filled.paper("other.pdf")
    done = filled.says(*(w.format(pdf=pdf) for w in words))
    assert (done.exit_code, done.stdout) == (3, "")
    assert said in done.stderr


def test_no_archive_ends_with_5_and_none_named_with_3(desk: Desk) -> None:
    assert desk.says("list").exit_code == 5
    done = CliRunner().invoke(program, ["archive", "list"], env={"BATTENBOOK_ARCHIVE": ""})
    assert (done.exit_code, "no archive was named" in done.stderr) == (3, True)


def test_the_archive_can_be_named_by_the_environment(filled: Desk) -> None:
    env = {"BATTENBOOK_ARCHIVE": str(filled.archive)}
    assert CliRunner().invoke(program, ["archive", "list"], env=env).exit_code == 0


def test_a_name_cannot_steer_the_terminal(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(gather, "gather", lambda *_: (replace(QUOTE, client="A\x1b[2J\u202eB"), {}))
    desk.says("add", "job.toml")
    for verb in (("list",), ("show", "2026-7"), ("stats",)):
        done = desk.says(*verb)
        assert done.exit_code == 0, done.output
        assert "\x1b" not in done.stdout
        assert "\u202e" not in done.stdout


FILE = ("add", "invoice", "receipt", "paid", "outcome", "actual", "reverse", "acknowledge")
READ = ("list", "show", "verify", "find", "stats", "rebuild", "export", "seal")


@pytest.mark.parametrize("verb", FILE + READ)
def test_every_verb_has_help_json_and_debug(verb: str) -> None:
    text = (
        CliRunner()
        .invoke(program, ["archive", verb, "--help"], env={"COLUMNS": "200", "TERM": "dumb"})
        .stdout
    )
    for option in ("--archive", "--practice", "--json", "--debug"):
        assert option in text


def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys, estimator.cli.archive;"
        "print([m for m in ('pandas', 'openpyxl', 'numpy', 'sqlite3', 'pydantic') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_lists_answer_without_pandas(filled: Desk) -> None:
    code = (
        "import sys, pathlib; from estimator.archive import index;"
        "index.accounts(index.contents(pathlib.Path(sys.argv[1])));"
        "print([m for m in ('pandas', 'openpyxl', 'numpy') if m in sys.modules])"
    )
    command = [sys.executable, "-c", code, str(filled.archive)]
    assert subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip() == "[]"


def test_a_real_job_is_filed_whole_and_only_once(tmp_path: Path) -> None:
    job = Path(__file__).parents[2] / "examples/one_panel/job.toml"
    desk = Desk(tmp_path)
    done = desk.says("add", str(job))
    assert done.exit_code == 0, done.output
    [folder] = desk.archive.glob("2026/*/*-r0")
    names = {p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()}
    catalogue = {f"catalogue/{n}" for n in ("prices.csv", "practice.toml", "terms.toml", "labour.toml")}
    assert names >= {"job.toml", "manifest.json", "summary.json", *catalogue}
    assert any(n.endswith(".xlsx") for n in names)
    assert any(n.endswith(".html") for n in names)
    again = desk.says("add", str(job))
    assert (again.exit_code, "nothing has changed since" in again.stderr) == (4, True)
    assert desk.says("verify").exit_code == 0
    changed = tmp_path / "job.toml"
    changed.write_text(job.read_text() + "\n# another word\n")
    assert desk.json("add", str(changed))["result"]["revision"] == 1


def test_a_job_with_problems_files_nothing(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text("schema = 1\n")
    desk = Desk(tmp_path)
    assert desk.says("add", str(tmp_path / "job.toml")).exit_code == 3
    assert not desk.archive.exists()


@pytest.mark.parametrize(
    "client",
    ["../../../up", "/etc", "a/../../b", "..", "．．／．．／up", "a∕b⁄c", "C:\\\\up", "x" * 200, "nul",
     "~root", "-r"],
)  # fmt: skip
def test_no_clients_name_in_a_job_leaves_the_archive(tmp_path: Path, client: str) -> None:
    """The name is in the job file, as it comes from outside; what it names is inside, or it is refused."""
    text = (Path(__file__).parents[2] / "examples/one_panel/job.toml").read_text()
    desk = Desk(tmp_path / "desk")
    desk.folder.mkdir()
    job = desk.folder / "job.toml"
    job.write_text(re.sub(r"^client = .*", lambda _: f'client = "{client}"', text, flags=re.MULTILINE))
    done = desk.says("add", str(job))
    assert [p.name for p in tmp_path.iterdir()] == ["desk"]
    assert {p.name for p in desk.folder.iterdir()} <= {"archive", "job.toml"}
    if done.exit_code == 0:
        [manifest] = desk.archive.rglob("manifest.json")
        assert len(manifest.relative_to(desk.archive).parts) == 4, "year, client, quote, file"
        assert desk.says("verify").exit_code == 0
    else:
        assert (done.exit_code, "client" in done.stderr) == (3, True)
