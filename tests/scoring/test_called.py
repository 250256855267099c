"""A machine is called what the customer called it where its family's label would mislead."""

from evener.ingest.jobsheet.words import phrases
from evener.schema.records import Quantity, Task
from evener.scoring.place.called import called


def test_a_machine_is_called_by_its_build_where_its_family_misleads(library):
    """A clamp is no spear and a slurry tank no manure spreader, by name or by its tank; all others keep their label."""
    tank = Quantity(7571.0, 7571.0, "exact", "2,000 gal")
    for phrase, more, name in (
        ("bale clamp", {}, "bale clamp"),
        ("bale squeeze", {}, "bale clamp"),
        ("slurry tank", {"tank_l": tank}, "slurry tank"),
        ("manure spreader", {"tank_l": tank}, "slurry tank"),
        ("manure spreader", {}, "manure spreader"),
        ("bale spear", {}, "bale spear"),
    ):
        family, build = phrases().get(phrase, (phrase.replace(" ", "_"), None))
        assert called(library.families[family], Task("t", family, build=build, **more)) == name
