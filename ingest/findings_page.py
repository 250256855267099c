"""The documentation page of findings, made from their classes.

`python -m evener.ingest.findings_page > docs/findings.md` writes it anew.
"""

from __future__ import annotations

import sys

from evener.ingest.findings import CATALOGUE, Finding
from evener.ingest.jobsheet import findings as jobsheet_findings
from evener.ingest.shed import findings as shed_findings

_HEAD = """# Findings

Everything that can be wrong in a file or a job sheet has a name of its own. A file's row with a finding that *refuses*
goes to the quarantine whole, as text; one that *warns* is loaded all the same; one that *tells* asks nothing, and
leaves the exit status 0. A refusing finding about a heading stops the file. In the messages a name in braces stands
for what was found.

This page is made from the classes: `python -m evener.ingest.findings_page > docs/findings.md`.
"""


def page() -> str:
    """Return the page as Markdown."""
    parts = [_HEAD]
    in_sheds = [kind for kind in CATALOGUE.values() if kind.__module__ == shed_findings.__name__]
    in_sheets = [kind for kind in CATALOGUE.values() if kind.__module__ == jobsheet_findings.__name__]
    in_files = [kind for kind in CATALOGUE.values() if kind not in in_sheets and kind not in in_sheds]
    for title, kinds in (("Files", in_files), ("Job sheets", in_sheets), ("Sheds", in_sheds)):
        parts.append(f"\n## {title}\n")
        parts.append("| id | severity | what it is |\n|---|---|---|")
        parts += [f"| [{kind.id}](#{kind.id}) | {_severity(kind)} | {kind.title} |" for kind in kinds]
        parts += [_section(kind) for kind in kinds]
    return "\n".join(parts) + "\n"


def _severity(kind: type[Finding]) -> str:
    return "refuses" if kind.refuses else "warns" if kind.asks else "tells"


def _section(kind: type[Finding]) -> str:
    return (
        f"\n### {kind.id}\n\n{kind.title}. {kind.why}\n\n"
        f"- severity: {_severity(kind)}\n- message: {kind.template}\n- what to do: {kind.remedy}"
    )


if __name__ == "__main__":
    sys.stdout.write(page())
