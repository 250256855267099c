"""One file of many faults: every fault is one finding, and the other rows load."""

import json

import pytest

from evener.schema.store import connection as store

HEADER = (
    "Stock #,Description,Drive,Engine net hp,PTO hp,Weight (lb),Permitted mass (lb),Hitch,Lift at 24 in (lb),"
    "Lift at ends (lb),Front axle load (lb),Rear axle load (lb),Remotes,Overall width (in),Source,Year"
)
GOOD = "G{:02d},Utility,4wd,73,62,6950,11600,2,3900,5400,6800,8600,2,77,,2014"
# Each changes one cell of a good row: the heading, what it then holds, and the finding it must be.
FAULTS = {
    "F01": ("Overall width (in)", "120 m", "out-of-bounds"),
    "F02": ("PTO hp", "75", "order-reversed"),
    "F03": ("Drive", "6wd", "unknown-word"),
    "F04": ("Weight (lb)", "6950 gal", "unreadable-cell"),
    "F05": ("Description", "", "missing-value"),
    "F06": ("PTO hp", "60 to 65", "range-not-kept"),
    "F07": ("Lift at ends (lb)", "15000", "odd-ratio"),
    "F08": ("Rear axle load (lb)", "3600", "axle-loads-short"),
    "F09": ("Source", "SOMEBODY", "unknown-reference"),
    "F10": ("Remotes", "two", "unreadable-cell"),
}
# These leave a field unknown; the others would make the record lie, or leave it without a name.
UNREAD = ("out-of-bounds", "unknown-word", "unreadable-cell", "range-not-kept")


def cells(name, **changed):
    """A row with one cell changed."""
    row = dict(zip(HEADER.split(","), GOOD.format(0).split(","), strict=True))
    return ",".join({**row, "Stock #": name, **changed}.values())


@pytest.mark.ci
def test_twelve_faults_are_twelve_findings_and_the_others_load(load, path, rows_of):
    """Thirty rows with twelve different faults: exactly twelve findings, each at its line, and the others load."""
    good = [GOOD.format(number) for number in range(1, 18)]
    faulty = [cells(name, **{heading: text}) for name, (heading, text, _) in FAULTS.items()]
    ragged = "F11,Utility,4wd,73"
    double = GOOD.format(5)
    lines = [*good[:9], *faulty[:5], *good[9:], *faulty[5:], ragged, double, GOOD.format(99)]
    assert len(lines) == 30
    report = load(*lines, header=HEADER.replace("Source", "source id"))
    expected = {lines.index(row) + 2: kind for row, (_, _, kind) in zip(faulty, FAULTS.values(), strict=True)}
    expected |= {lines.index(ragged) + 2: "ragged-row", len(lines): "double-key"}
    assert {finding.row: finding.id for finding in report.findings} == expected
    assert len(report.findings) == 12
    # The two rows of one name are both refused: which of them holds cannot be told.
    assert (report.read, report.loaded, report.quarantined) == (30, 22, 8)
    with store.open_read(path) as con:
        loaded = {tractor.tractor_id for tractor in store.read_tractors(con, ["stock"])}
    unread = {name for name, (_, _, kind) in FAULTS.items() if kind in UNREAD}
    assert loaded == {row.split(",")[0] for row in [*good, GOOD.format(99)]} - {"G05"} | unread
    kept = [json.loads(row["findings"]) for row in rows_of("quarantine")]
    assert sum(map(len, kept)) == 8
    assert all(finding["message"] and finding["remedy"] for found in kept for finding in found)


def test_the_likely_slip_is_named(load):
    """The findings that a wrong unit causes name it, and those of two values name both."""
    said = {}
    for name in ("F01", "F02", "F07"):
        heading, text, _ = FAULTS[name]
        report = load(cells(name, **{heading: text}), header=HEADER.replace("Source", "source id"))
        (finding,) = report.findings
        said[name] = finding.message
    assert said["F01"].endswith("was it in cm or in?; left unknown")
    assert said["F02"].startswith("pto_power_kw (55.93 kW) is more than engine_power_kw (54.44 kW)")
    assert "hitch_lift_ends_kg over mass_kg is 2.2" in said["F07"]
