"""What the database says reaches nobody as it stands."""

import pytest

from evener.schema import sql_words


@pytest.mark.parametrize(
    ("message", "said"),
    [
        (
            'Binder Error: Referenced column "mass" not found in FROM clause! Candidate bindings: "mass_kg", "mass_lb"',
            "there is no column 'mass'; did you mean mass_kg or mass_lb?",
        ),
        ('Binder Error: Referenced column "zz" not found in FROM clause!', "there is no column 'zz'"),
        (
            'Catalog Error: Table with name tractorx does not exist! Did you mean "tractor"?',
            "there is no table 'tractorx'; did you mean tractor?",
        ),
        (
            'Parser Error: syntax error at or near "x"',
            "this is no SQL from \"x\" on; look at what stands before it, or quote a text as 'text'",
        ),
        ("Parser Error: syntax error at end of input", "this SQL ends too early; write the rest"),
        (
            "Conversion Error: Could not convert string 'a' to INT32",
            "'a' is no number; compare a text with a text, as status = 'practice'",
        ),
        (
            'Binder Error: column "mass_kg" must appear in the GROUP BY clause or be an aggregate.',
            "column 'mass_kg' is not grouped by; add it to GROUP BY, or take max(mass_kg)",
        ),
        (
            "Binder Error: Cannot compare values of type VARCHAR and type INTEGER - an explicit cast is required",
            "VARCHAR and INTEGER cannot be compared; turn one into the other's kind, as CAST(value AS DOUBLE)",
        ),
    ],
)
def test_a_database_speaks_in_our_words(message, said):
    """A wrong column, table or word is named, with what is near; the kind of error is not."""
    assert sql_words.plain(message) == said
