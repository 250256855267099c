"""The grammar of one cell: what the trade writes is read, and everything else is refused with a remedy."""

import subprocess
import sys

import pytest

from evener.ingest.text import cell_errors, cells, refusals
from evener.ingest.text.cell_errors import CellError
from evener.ingest.text.cells import read_number, read_quantity, read_slope

FOOT, INCH, POUND = 0.3048, 0.0254, 0.45359237
HORSE = 0.74569987158227022


# What a general units parser makes of these texts: 30, 0.5, 305 m, petasiemens, attospeeds of light, and so on.
@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("5'6\"", "m", 5.5 * FOOT),
        ("1 1/2 in", "m", 1.5 * INCH),
        ("75 PS", "kW", 75 * 0.73549875),
        ("2 ac", "ha", 2 * 0.40468564224),
        ("1500 #", "kg", 1500 * POUND),
        ("75 cv", "kW", 75 * 0.73549875),
        ("75 HP", "kW", 75 * HORSE),
        ("56 KW", "kW", 56.0),
        ("9 gpm", "L/min", 9 * 3.785411784),
        ("1,500 lb", "kg", 1500 * POUND),
        ("40 psi", "kPa", 40 * 6.894757293168361),
        ("5 t/ha", "t/ha", 5.0),
        ('6"', "m", 6 * INCH),
        ("3'", "m", 3 * FOOT),
    ],
)
def test_units_parser_traps_are_read_as_the_trade_means_them(text, unit, value):
    """A text that a units parser misreads is read as whoever wrote it meant it."""
    assert read_quantity(text, unit).low == pytest.approx(value, rel=1e-12)


def test_decimal_comma_is_never_a_thousands_mark_by_itself():
    """The text "3,05 m" is 3.05 m in a file of decimal commas and refused in any other, never 305 m."""
    assert read_quantity("3,05 m", "m", decimal=",").low == 3.05
    with pytest.raises(CellError, match="can only be read with a decimal comma"):
        read_quantity("3,05 m", "m")


@pytest.mark.parametrize(
    "text",
    [
        "5'6\"",
        "5' 6\"",
        "5′6″",
        "5’6”",
        "5'6''",
        "5'6",
        "5'-6\"",
        "5 ft 6 in",
        "5ft6in",
        "5 ft. 6 in.",
        "5 feet 6 inches",
        "5 1/2 ft",
        "5½ ft",
        "5-1/2 ft",
        "66 in",
        '66"',
        "66 inches",
        "5.5'",
        "  5.5\u00a0ft ",
    ],
)
def test_feet_and_inches(text):
    """Every way of writing five foot six is five foot six."""
    quantity = read_quantity(text, "m")
    assert (quantity.low, quantity.given) == (pytest.approx(5.5 * FOOT, rel=1e-12), "exact")


@pytest.mark.parametrize("mark", [",", " ", "\u00a0", "\u202f", "'", "’"])
def test_thousands_marks(mark):
    """A thousands mark of any habit is read, as long as it parts threes."""
    assert read_quantity(f"12{mark}500 kg", "kg").low == 12500.0


def test_thousands_point_goes_with_a_decimal_comma():
    """In a file of decimal commas the point parts thousands."""
    assert read_quantity("1.234,5 kg", "kg", decimal=",").low == 1234.5


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("1 to 3 in", 1, 3),
        ("1-3 in", 1, 3),
        ("1–3 in", 1, 3),
        ("1 in to 3 in", 1, 3),
        ('1" - 3"', 1, 3),
        ("1/2-3/4 in", 0.5, 0.75),
        ("1 1/2 to 2 in", 1.5, 2),
        ("1-1/2 - 2-1/2 in", 1.5, 2.5),
        ("between 1 and 3 in", 1, 3),
        ("from 1 to 3 in", 1, 3),
        ("1 or 2 in", 1, 2),
        ("6 in to 1 ft", 6, 12),
        ("1 to 3in", 1, 3),
        ("about 1 to 3 in", 1, 3),
    ],
)
def test_ranges_keep_both_ends(text, low, high):
    """A range is kept as its two ends, each in its own unit where it has one."""
    quantity = read_quantity(text, "m")
    assert quantity.given == "range"
    assert (quantity.low, quantity.high) == (pytest.approx(low * INCH), pytest.approx(high * INCH))


@pytest.mark.parametrize(
    "text", ["about 2 in", "approx 2 in", "approx. 2 in", "~2in", "≈ 2 in", "2 in approx.", "ca. 2 in"]
)
def test_about_is_a_fifth_either_way(text):
    """A value given as about itself lies within 20 % of it."""
    quantity = read_quantity(text, "m")
    assert quantity.given == "about"
    assert (quantity.low, quantity.high) == (pytest.approx(1.6 * INCH), pytest.approx(2.4 * INCH))


@pytest.mark.parametrize("text", ["?", "??", "don't know", "Don’t know", "not sure", "unknown"])
def test_not_known_is_an_answer(text):
    """A customer may say that a value is not known, which is neither missing nor a mistake."""
    quantity = read_quantity(text, "m")
    assert (quantity.low, quantity.high, quantity.given, quantity.text) == (None, None, "unknown", text)
    assert not cells.is_missing(text)


@pytest.mark.parametrize("text", ["", "  ", "-", "--", "—", "–", "n/a", "N/A", "n.a.", "#N/A", "."])
def test_missing(text):
    """Blanks, dashes and "n/a" are no value, and asking for one is refused."""
    assert cells.is_missing(text)
    with pytest.raises(CellError, match="gives no value"):
        read_quantity(text, "m")


@pytest.mark.parametrize(
    "text",
    [
        *(
            "nan",
            "inf",
            "-inf",
            "infinity",
            "true",
            "False",
            "None",
            "1_000",
            "１２",
            "٣",
            "1e400",
            "9" * 400,
            "0x10",
            "1/0",
        ),
        *(
            "1,50,000",
            "0,500",
            "1,2345",
            "3 to 1",
            "--5",
            "(5)",
            "$5",
            "5 5",
            "12:30",
            "2014-05-06",
            "1e",
            "5,",
            "5..",
            "a" * 999,
        ),
    ],
)
def test_only_one_plain_finite_number_is_read(text):
    """Neither a number nor a quantity is made of anything but one plain finite number."""
    with pytest.raises(CellError) as number:
        read_number(text)
    with pytest.raises(CellError) as quantity:
        read_quantity(text, "kg", default_unit="kg")
    assert number.value.remedy
    assert quantity.value.remedy


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("75 hp (56 kW)", "kW", 75 * 0.745699871582270),
        ("4,100 lb / 1,860 kg", "kg", 4100 * 0.45359237),
        ("3m50", "m", 3.5),
        ("env. 3 000 kg", "kg", 3000.0),
        ("unos 40 kW", "kW", 40.0),
    ],
)
def test_what_is_said_twice_or_in_another_language_is_read(text, unit, value):
    """One amount in two units that agree is the first; words for about and metres with centimetres are the trade's."""
    assert read_quantity(text, unit).middle == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    "text",
    [
        "75 hp kW",
        "75 hp 56 kW",
        "75 hp (50 kW)",
        "4,100 / 1,860 kg",
        "5 ft 30 cm",
        "5 ft 14 in",
        "5 in 3",
        "1 h 30 min",
    ],
)
def test_two_units_are_refused(text):
    """A cell with two values or units is refused, not summed and not cut."""
    with pytest.raises(CellError, match="more than one value or unit"):
        read_quantity(text, "kW")


@pytest.mark.parametrize("text", ["up to 3 in", "> 3 in", "at least 3 in", "3+ in", "over 3 in", "max 3 in"])
def test_one_sided_statement_asks_for_a_range(text):
    """A statement with one end only is refused with the way to write both."""
    with pytest.raises(CellError, match="gives only one end") as error:
        read_quantity(text, "m")
    assert error.value.remedy == 'write a range, such as "1 to 3 in"'


def test_missing_unit_shows_an_example():
    """A bare number where a unit is needed is refused with an example."""
    with pytest.raises(cell_errors.MissingUnit) as error:
        read_quantity("8", "m")
    assert (error.value.message, error.value.remedy) == (
        "'8' has no unit",
        'write the number with its unit, such as "8 ft"',
    )


def test_header_unit_serves_bare_numbers_only():
    """The unit of the header goes to bare numbers; a cell's own unit goes before it."""
    assert read_quantity("8", "m", default_unit="ft").low == pytest.approx(8 * FOOT)
    assert read_quantity("2.4 m", "m", default_unit="ft").low == 2.4


def test_wrong_and_unknown_units():
    """A unit of another dimension and a misspelt one are refused with what would do."""
    with pytest.raises(cell_errors.WrongUnit, match="'75 kg': kg measures mass, not power"):
        read_quantity("75 kg", "kW")
    with pytest.raises(cell_errors.WrongUnit, match="unit 'hpp' is not known") as error:
        read_quantity("75 hpp", "kW")
    assert error.value.remedy == "did you mean hp?"


def test_negative_only_where_it_means_something():
    """A length below nought is refused; an altitude below the sea may be."""
    with pytest.raises(cell_errors.NegativeValue):
        read_quantity("-5 m", "m")
    assert read_quantity("−5 m", "m", negative=True).low == -5.0


def test_imperial_gallons_by_setting():
    """Gallons follow the measures of the file."""
    assert read_quantity("100 gal", "L", measures="imperial").low == pytest.approx(454.609)


def test_ambiguous_number_is_for_the_caller_to_settle():
    """Without a decimal mark "1,234" and "1.234" are refused, and texts that read one way are read."""
    for text in ("1,234", "1.234"):
        with pytest.raises(cell_errors.AmbiguousNumber):
            read_number(text, decimal="")
    assert [read_number(text, decimal="") for text in ("3,05", "2.5", "1 234,5", "1,234.5", "12")] == [
        3.05,
        2.5,
        1234.5,
        1234.5,
        12,
    ]


@pytest.mark.parametrize(
    ("text", "mark"),
    [
        ("1,234.5", "."),
        ("2.5 m", "."),
        ("3,05 m", ","),
        ("0,500", ","),
        ("1.234.567", ","),
        ("12", ""),
        ("1,234", ""),
        ("x", ""),
    ],
)
def test_a_cell_is_evidence_of_its_decimal_mark(text, mark):
    """A column's decimal mark can be settled from the cells that read one way only."""
    assert cells.decimal_mark(text) == mark


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        ("8 %", 0.08, 0.08),
        ("8 to 12 %", 0.08, 0.12),
        ("45 deg", 1.0, 1.0),
        ("45°", 1.0, 1.0),
        ("1 in 5", 0.2, 0.2),
        ("1:5", 0.2, 0.2),
        ("1 in 12 to 1 in 8", 1 / 12, 1 / 8),
        ("about 10 %", 0.08, 0.12),
        ("0 %", 0.0, 0.0),
    ],
)
def test_slopes(text, low, high):
    """A slope in per cent, degrees or one-in-so-many is rise over run."""
    quantity = read_slope(text)
    assert (quantity.low, quantity.high) == (pytest.approx(low), pytest.approx(high))
    assert quantity.text == text


@pytest.mark.parametrize("text", ["8", "0.08", "5 ft", "60 deg", "1 in 0", "-5 %", "steep", ""])
def test_what_is_no_slope(text):
    """A bare number is no slope, since 8 may be per cent or degrees; nor is anything else without its form."""
    with pytest.raises(CellError):
        read_slope(text)


def test_text_is_kept_as_typed():
    """The words stay with the value, so that a question can quote them."""
    assert read_quantity(" About 2 In ", "m").text == "About 2 In"


def test_reading_needs_no_pint():
    """A quantity is read without importing pint, which ranking must not wait for."""
    code = (
        "import sys; from evener.ingest.text import cells; cells.read_quantity('1 to 3 in', 'm');"
        "sys.exit(any(name in sys.modules for name in ('pint', 'numpy', 'pandas')))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


@pytest.mark.parametrize("text", ["call", "POA", "p.o.a.", "TBA", "on request", "n/a", "–", " - "])
def test_no_value_in_the_words_of_the_trade(text):
    """What dealers write where a figure is not given is no value."""
    assert cells.is_missing(text)


@pytest.mark.parametrize(
    ("text", "says"),
    [("2024-02-01", "is a date"), ("2024-02-01 00:00:00", "is a date"), ("=B2*0.9", "is a formula without")],
)
def test_what_a_spreadsheet_program_made_of_a_cell_is_said(text, says):
    """A date that was a fraction and a formula without its result are named as such."""
    with pytest.raises(CellError, match=says):
        read_quantity(text, "m", default_unit="in")
    assert says in refusals.turned_error(text).message
    assert refusals.turned_error("1/2") is None


def test_a_number_beyond_range_settles_no_decimal_mark():
    """A cell with a number no record can hold is a finding of its own; it settles no decimal mark and stops no file."""
    assert cells.decimal_mark("1e310") == ""
