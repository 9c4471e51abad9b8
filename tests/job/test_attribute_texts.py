from pydantic import Field

from estimator.job.description import Header
from estimator.job.fields import Record
from estimator.job.schema import attribute_texts, described


class Base(Record):
    first: int
    """Under the first."""


class Sample(Base):
    second: int = Field(alias="2nd")
    """Under the second,
    on two lines."""
    third: int = 0


def test_the_text_under_each_attribute_is_found_in_bases_too() -> None:
    expected = {"first": "Under the first.", "second": "Under the second,\non two lines."}
    assert attribute_texts(Sample) == expected


def test_a_schema_is_described_by_its_aliases() -> None:
    rows = described(Sample.model_json_schema(), Sample)["properties"]
    assert rows["2nd"]["description"] == "Under the second,\non two lines."
    assert "description" not in rows["third"]


def test_every_key_of_the_header_has_a_text() -> None:
    assert set(attribute_texts(Header)) == set(Header.model_fields)
