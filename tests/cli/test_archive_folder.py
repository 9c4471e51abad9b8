"""Which archive a verb works in: typed, environment, job's practice, nearest practice, the user's settings.

The places of settings follow the XDG Base Directory Specification, version 0.8: XDG_CONFIG_HOME, else
~/.config; then XDG_CONFIG_DIRS, else /etc/xdg; paths that are not absolute are ignored.
"""

import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from estimator.cli.app import gather
from estimator.cli.output import configurations

JOB = Path(__file__).parents[2] / "examples" / "one_panel" / "job.toml"
VERBS = {
    "add": ("{job}",),
    "outcome": ("2026-001", "won"),
    "invoice": ("2026-001", "{paper}", "--amount", "5", "--date", "2026-12-01"),
    "paid": ("2026-001", "--amount", "5", "--date", "2026-12-01", "--force", "--note", "a deposit"),
    "receipt": ("2026-001", "{paper}", "--amount", "5", "--date", "2026-12-01"),
    "actual": ("2026-001", "{spent}"),
    "list": (),
    "find": ("panel",),
    "show": ("2026-001",),
    "verify": (),
    "rebuild": (),
    "stats": (),
    "export": ("journal",),
}


def shop(folder: Path, archive: str, name: str = "practice.toml") -> Path:
    """Write a shop's practice that names an archive."""
    folder.mkdir(parents=True, exist_ok=True)
    file = folder / name
    file.write_text(f'name = "ours"\n[firm]\nname = "Ours (invented)"\narchive = "{archive}"\n')
    return file


class Office:
    """A folder with a job in it, nothing named in the environment, and the command."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.jobs = folder / "shop" / "jobs" / "one"
        self.jobs.mkdir(parents=True)
        self.job = self.jobs / "job.toml"
        shutil.copyfile(JOB, self.job)
        (self.jobs / "paper.pdf").write_bytes(b"%PDF made up")
        (self.jobs / "spent.csv").write_text("kind,name,amount\nhours,cut,3\n")
        self.env = {
            "BATTENBOOK_ARCHIVE": "",
            "XDG_CONFIG_HOME": str(folder / "config"),
            "XDG_CONFIG_DIRS": "",
        }

    def says(self, verb: str, *words: str) -> Result:
        own = [
            w.format(job=self.job, paper=self.jobs / "paper.pdf", spent=self.jobs / "spent.csv")
            for w in VERBS[verb]
        ]
        return CliRunner().invoke(gather(), ["archive", verb, *own, *words], env=self.env)

    def quotes(self, *words: str) -> list[str]:
        done = self.says("list", "--json", *words)
        assert done.exit_code == 0, done.output
        return [q["number"] for q in json.loads(done.stdout)["result"]["quotes"]]


@pytest.fixture
def office(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Office:
    """Return an office whose desk is the job's folder."""
    made = Office(tmp_path)
    monkeypatch.chdir(made.jobs)
    return made


@pytest.fixture
def filed(office: Office) -> Office:
    """Return an office with a quote in ``shop/filed``."""
    assert office.says("add", "--archive", str(office.folder / "shop" / "filed")).exit_code == 0
    return office


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_finds_the_archive_that_a_practice_above_names(filed: Office, verb: str) -> None:
    shop(filed.folder / "shop", "filed")
    if verb == "add":
        shutil.rmtree(filed.folder / "shop" / "filed")
    done = filed.says(verb)
    assert done.exit_code == 0, done.output


def test_rates_are_learned_from_the_shops_archive_where_nothing_is_given(filed: Office) -> None:
    shop(filed.folder / "shop", "filed")
    (filed.jobs / "spent.csv").write_text("kind,name,amount\nhours,wrap,1.25\n")
    assert filed.says("actual").exit_code == 0

    def learned(*words: str) -> list[tuple[str, float]]:
        done = CliRunner().invoke(gather(), ["learn", "--json", *words], env=filed.env)
        assert done.exit_code == 0, done.output
        return [(row["task"], row["hours"]) for row in json.loads(done.stdout)["result"]["rates"]]

    assert learned() == [("wrap", 1.25)]
    # A list by itself is learned from alone.
    (filed.jobs / "list.csv").write_text("job,task,quantity,unit,hours,difficulty\n26-1,wrap,100,ft,3.5,\n")
    assert learned("list.csv") == [("wrap", 3.5)]
    assert learned("list.csv", "--archive", str(filed.folder / "shop" / "filed")) == [("wrap", 4.75)]


@pytest.mark.parametrize("verb", VERBS)
def test_every_verb_takes_a_practice_by_name(filed: Office, verb: str) -> None:
    own = shop(filed.folder / "elsewhere", "../shop/filed", "ours.toml")
    if verb == "add":
        shutil.rmtree(filed.folder / "shop" / "filed")
    done = filed.says(verb, "--practice", str(own))
    assert done.exit_code == 0, done.output


@pytest.mark.parametrize("verb", VERBS)
def test_where_none_is_named_every_verb_says_how_to_with_exit_3(office: Office, verb: str) -> None:
    done = office.says(verb)
    assert (done.exit_code, done.stdout) == (3, "")
    assert "no archive was named" in done.stderr
    for way in ("--archive DIR", "BATTENBOOK_ARCHIVE", "practice.toml", "battenbook"):
        assert way in done.stderr


def test_typed_goes_before_environment_before_practice_before_the_users_own(filed: Office) -> None:
    full, empty = filed.folder / "shop" / "filed", filed.folder / "empty"
    empty.mkdir()
    shop(filed.folder / "config" / "battenbook", str(full))
    assert filed.quotes() == ["2026-001"], "with no practice near, the user's own settings"
    shop(filed.jobs, str(empty))
    assert filed.quotes() == [], "the nearest practice before the user's own"
    typed = shop(filed.folder / "p", "../shop/filed")
    assert filed.quotes("--practice", str(typed)) == ["2026-001"], "the practice typed before the nearest"
    filed.env["BATTENBOOK_ARCHIVE"] = str(empty)
    assert filed.quotes("--practice", str(typed)) == [], "the environment before a practice"
    assert filed.quotes("--archive", str(full)) == ["2026-001"], "the folder typed before all"


def test_a_practice_that_names_no_archive_is_passed_over(filed: Office) -> None:
    shop(filed.folder / "shop", "filed")
    (filed.jobs / "practice.toml").write_text('name = "ours"\n')
    assert filed.quotes() == ["2026-001"]
    done = filed.says("list", "--practice", str(filed.jobs / "practice.toml"))
    assert (done.exit_code, "names no archive" in done.stderr) == (3, True)


def test_a_relative_folder_counts_from_the_file_it_is_written_in(
    filed: Office, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The job names a practice two folders up; the archive stands beside that, not beside the job."""
    shop(filed.folder / "shop", "ours", "our-practice.toml")
    text = filed.job.read_text().replace('"CAD"', '"CAD"\npractice = "../../our-practice.toml"', 1)
    filed.job.write_text(text)
    monkeypatch.chdir(filed.folder)
    done = filed.says("add")
    assert done.exit_code == 0, done.output
    assert list((filed.folder / "shop" / "ours").glob("2026/*/2026-001-r0/job.toml"))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[firm]\narchive = 5\n", "names no folder"),
        ('[firm]\narchive = ""\n', "names no folder"),
        ("[", "TOML"),
    ],
)
def test_settings_that_cannot_be_read_are_named(office: Office, text: str, said: str) -> None:
    (office.jobs / "practice.toml").write_text(text)
    done = office.says("list")
    assert (done.exit_code, said in done.stderr) == (3, True)
    assert "practice.toml:" in done.stderr


def test_a_practice_typed_wrong_is_named(office: Office) -> None:
    done = office.says("list", "--practice", "nowhere.toml")
    assert (done.exit_code, "nowhere.toml: file: there is no such file" in done.stderr) == (3, True)


def test_settings_stand_where_the_standard_says(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("HOME", "/home/me")
    own, shared = Path("/home/me/.config/battenbook"), Path("/etc/xdg/battenbook")
    assert configurations({}) == (own, shared)
    assert configurations({"XDG_CONFIG_HOME": "relative", "XDG_CONFIG_DIRS": ""}) == (own, shared)
    named = {"XDG_CONFIG_HOME": "/c", "XDG_CONFIG_DIRS": "/one:relative:/two"}
    assert configurations(named) == tuple(Path(p) / "battenbook" for p in ("/c", "/one", "/two"))
