"""The catalogue of findings."""

import string
from pathlib import Path

import pytest

from evener.ingest import findings, findings_page
from evener.ingest.findings import CATALOGUE
from evener.ingest.jobsheet import findings as jobsheet_findings


@pytest.mark.parametrize("kind", CATALOGUE.values(), ids=CATALOGUE)
def test_every_finding_is_told_in_full(kind):
    """A finding has an id of its own, a title, a reason, a message and a remedy."""
    assert kind.id == kind.id.lower().replace(" ", "-")
    for text in (kind.title, kind.why, kind.template, kind.remedy, kind.__doc__):
        assert text
    assert CATALOGUE[kind.id] is kind


def test_an_id_names_one_finding():
    """A second class of the same id is refused."""
    with pytest.raises(ValueError, match="ragged-row"):
        type("Again", (findings.Finding,), {"id": "ragged-row"})


def test_messages_hold_braces_as_text():
    """Text from a file that looks like a placeholder comes out as it stands."""
    finding = findings.UnknownWord(row=2, column="Drive", raw="{row}", values={"choices": "2wd"})
    assert "'{row}'" in finding.message


def test_the_catalogue_covers_files_and_job_sheets():
    """Findings of files and of job sheets stand in one catalogue."""
    assert {"unknown-word", "bare-power"} <= set(CATALOGUE)
    assert any(kind.__module__ == jobsheet_findings.__name__ for kind in CATALOGUE.values())


def test_the_page_of_findings_is_up_to_date():
    """docs/findings.md is what the classes make it: python -m evener.ingest.findings_page > docs/findings.md."""
    page = Path(__file__).resolve().parents[2] / "docs" / "findings.md"
    assert page.read_text(encoding="utf-8") == findings_page.page()
    for kind in CATALOGUE.values():
        assert f"### {kind.id}\n\n{kind.title}. {kind.why}" in findings_page.page()


def test_templates_use_only_named_values():
    """A template names its values; none depends on their order."""
    for kind in CATALOGUE.values():
        for text in (kind.template, kind.remedy):
            assert all(name != "" for _, name, _, _ in string.Formatter().parse(text) if name is not None), kind
