"""The documentation of the audit says what the code does."""

from __future__ import annotations

from pathlib import Path

import pytest

from evener.scoring.audit.flags import KINDS

DOCS = Path(__file__).resolve().parents[2] / "docs"


@pytest.fixture(scope="module")
def page():
    """The page of the audit."""
    return (DOCS / "audit.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_every_kind_of_flag_is_documented(page, kind):
    """Each kind stands in the table of flags with its title, reason and measure."""
    assert f"| `{kind.kind}` | {kind.title} | {kind.why} | {kind.measure} |" in page


def test_the_library_s_table_and_plots_are_of_this_library(page, library, library_report):
    """Every family with a line stands there with its records, form and plot, every flag with strength and evidence."""
    for one in library_report.families:
        if one.fitted is not None:
            assert f"| {one.family} | {one.n} | {one.fitted.model.form} |" in page
            assert (DOCS / "audit" / f"{one.family}.svg").is_file()
    for flag in library_report.flags:
        assert f"| {flag.implement_id} | {flag.kind} | {flag.strength:.2f} | {flag.evidence('us')} |" in page
        family = library.implements[flag.implement_id].family
        assert f">{flag.implement_id}</text>" in (DOCS / "audit" / f"{family}.svg").read_text(encoding="utf-8")
