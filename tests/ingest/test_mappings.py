"""Mapping files: written from what was read, edited, read again, and every mistake named."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from evener.ingest.columns import headers, mappings
from evener.ingest.columns.headers import Choice
from evener.ingest.columns.mappings import FileMapping, WrongMapping

HEADINGS = ["Stock #", 'Width, "all over" (in)', "HP", "Engine gross hp", "Colour", "Weight"]


@pytest.fixture
def mapping(tmp_path):
    """Write a mapping and read it for tractors."""

    def read(text, record="tractor"):
        path = tmp_path / "mapping.toml"
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return mappings.read_mapping(path, record)

    return read


def test_what_is_written_reads_back(mapping):
    """A mapping written from a file's headings settles them as they were, and leaves what is open to choose."""
    matches, _ = headers.match(HEADINGS, "tractor")
    text = mappings.written(matches, "tractor", FileMapping())
    held = mapping(text)
    assert held == FileMapping(
        {
            "Stock #": Choice("tractor_id"),
            "Engine gross hp": Choice("engine_power_kw", "hp", "gross"),
            "Weight": Choice("mass_kg"),
        }
    )
    assert '# "HP" = { field = "engine_power_kw", unit = "hp", engine = "net" }' in text
    assert '# "HP" = { field = "pto_power_kw", unit = "hp" }' in text
    assert '# not loaded: "Colour" = { field = "" }' in text
    chosen = mapping(text.replace('# "HP" = { field = "pto_power_kw"', '"HP" = { field = "pto_power_kw"'))
    assert chosen.columns["HP"] == Choice("pto_power_kw", "hp")


@settings(deadline=None, max_examples=100)
@given(st.text(min_size=1, max_size=30).filter(lambda text: text.strip()), st.sampled_from(["hp", None]))
def test_any_heading_can_be_settled(header, unit):
    """A line written for a heading is valid TOML that says the same, whatever signs the heading holds."""
    held = tomllib.loads(headers.said(header.replace("\ud800", ""), Choice("pto_power_kw", unit)))
    assert held == {header: {"field": "pto_power_kw", **({"unit": unit} if unit else {})}}


def test_a_choice_goes_before_the_spelling():
    """A settled heading is taken so whatever it spells, in any case and spacing; one that is not there is said."""
    choices = {"width": Choice("track_width_m", "in"), "weight": Choice(None), "Gone": Choice("price")}
    matches, found = headers.match(["Width ", "WEIGHT"], "tractor", choices)
    assert [(one.field.name if one.field else None, one.unit) for one in matches] == [
        ("track_width_m", "in"),
        (None, None),
    ]
    assert [(finding.id, finding.column) for finding in found if finding.id != "unknown-column"] == [
        ("unused-mapping", "Gone")
    ]


def test_settings_of_a_file(mapping):
    """Decimal mark, measures and sheet stand beside the columns."""
    held = mapping('decimal = ","\nmeasures = "imperial"\nsheet = "Stock"\n[columns]\n')
    assert (held.decimal, held.measures, held.sheet) == (",", "imperial", "Stock")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("decimal = 1", "decimal is 1; use '.' or ','"),
        ('measures = "metric"', "use 'us' or 'imperial'"),
        ("colour = 1", "'colour' is no setting; use decimal, measures, sheet, columns"),
        ("sheet = 3", "sheet is no text"),
        ("columns = 1", "columns is no table"),
        ('[columns]\n"HP" = 3', "column 'HP' needs"),
        ('[columns]\n"HP" = {unit = "hp"}', "must say field"),
        ('[columns]\n"HP" = {field = "pto_power"}', "'pto_power', which is no field of a tractor; did you mean pto_po"),
        ('[columns]\n"HP" = {field = "pto_power_kw", unit = "horses"}', "'horses', which is not known"),
        ('[columns]\n"HP" = {field = "pto_power_kw", engine = "net"}', "gross or net, of an engine_power_kw"),
        ('[columns]\n"HP" = {field = "engine_power_kw", engine = "big"}', "gross or net"),
        ("a = = 1", "mapping.toml: Invalid"),
        (b"\xff\xfe\x00", "no UTF-8 text"),
        ("x" * 70_000, "larger than 64 kB"),
        ("a." * 60 + "b = 1", "key of many parts"),
        ("a = " + "[" * 5000, "mapping.toml"),
    ],
)
def test_every_mistake_is_named(mapping, text, says):
    """A mapping that cannot be used says why and what to write, and ends with status 2."""
    with pytest.raises(WrongMapping) as caught:
        mapping(text)
    assert says in str(caught.value)
    assert caught.value.exit_status == 2


def test_all_mistakes_come_at_once(mapping):
    """Two mistakes are one message."""
    with pytest.raises(WrongMapping, match=r"'colour' is no setting.*'paint'"):
        mapping('colour = 1\n[columns]\n"HP" = {field = "paint"}')


def test_what_is_no_mapping_file_is_said(tmp_path):
    """A folder and a missing file are refused."""
    for path, says in ((tmp_path, "no regular file"), (tmp_path / "none.toml", "cannot be read")):
        with pytest.raises(WrongMapping, match=says):
            mappings.read_mapping(path, "tractor")
