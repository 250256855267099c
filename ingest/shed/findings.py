"""What can be wrong in a shed, one class each; those that warn are said and counted on."""

from __future__ import annotations

from evener.ingest.findings import Finding


class ShedNoMember(Finding):
    """A shed without members."""

    id = "shed-no-member"
    title = "No member"
    why = "A shed is its members: without one there is nothing to share."
    template = "the shed file has no [[member]]"
    remedy = "add a [[member]] with a name, and the sheet of his work"


class ShedUnknownMember(Finding):
    """A name that no member has."""

    id = "shed-unknown-member"
    title = "Unknown member"
    why = "A date or a road under a mistyped name would belong to nobody."
    template = "{column}: no member is called {raw}"
    remedy = "{hint}"


class ShedUnknownTask(Finding):
    """A window for a task that the member's sheet does not have."""

    id = "shed-unknown-task"
    title = "Unknown task"
    why = "A window belongs to one task of one job sheet."
    template = "{column}: the sheet of {member} has no task {raw}"
    remedy = "{hint}"


class ShedUnknownThing(Finding):
    """An id that no tractor or machine of the shed has."""

    id = "shed-unknown-thing"
    title = "Unknown tractor or machine"
    why = "What stays at home or is not wanted has to be one thing of the shed."
    template = "{column}: no tractor or machine of the shed has the id {raw}"
    remedy = "{hint}"


class ShedTwice(Finding):
    """The same thing said twice."""

    id = "shed-twice"
    title = "Said twice"
    why = "Two windows for one task, two roads between two homes, two members of one name: one of the two is wrong."
    template = "{what} is in the file twice"
    remedy = "keep one of the two"


class ShedDate(Finding):
    """A value that is no date."""

    id = "shed-date"
    title = "Not a date"
    why = "Dates are written year-month-day, so that 5/6 is never taken for another day."
    template = "{column} = {raw} is no date"
    remedy = "write {column} = 2027-06-05, year first and without quotes"


class ShedDates(Finding):
    """Dates in the wrong order, or outside the season."""

    id = "shed-dates"
    title = "Dates that cannot be"
    why = "A window ends after it begins and lies in the season."
    template = "{what}: {reason}"
    remedy = "put the dates right"


class ShedRoad(Finding):
    """A home that no road leads to."""

    id = "shed-road"
    title = "No road"
    why = "Without a road or both coordinates nobody can say how far a tractor drives."
    template = "there is no road between {one} and {other}"
    remedy = "add a [[road]] between the two, or `at` to both members"


class ShedList(Finding):
    """A list or a sheet of the folder that cannot be used."""

    id = "shed-file"
    title = "A file of the shed cannot be used"
    why = "What a list or a sheet says would be missing from every answer."
    template = "{name}: {reason}"
    remedy = "{hint}"


class ShedSheetTwice(Finding):
    """One task name twice, over all sheets of one member."""

    id = "shed-sheet-twice"
    title = "One sheet for two members"
    why = "The same work would be planned twice."
    template = "{name} is the sheet of {one} and of {other}"
    remedy = "give each member a sheet of his own"


class ShedNoWindow(Finding):
    """A task without dates."""

    id = "shed-no-window"
    title = "No dates for a task"
    why = "Dates are never guessed: who can do it is told, and when is not."
    template = "{member}: {task} has no [[window]]: it is not planned"
    remedy = "add a [[window]] with its dates, or leave it to its season"
    refuses = False


class ShedNothing(Finding):
    """A member who neither lends nor asks."""

    id = "shed-nothing"
    title = "A member with nothing"
    why = "A name that no record's owner has is often a slip of the pen."
    template = "{member} has no job sheet, and no record has him as its owner"
    remedy = "name his sheet, or spell him as the owner of his records"
    refuses = False


class ShedNoDriver(Finding):
    """A member with tractors and nobody to drive them."""

    id = "shed-no-driver"
    title = "Nobody drives"
    why = "A tractor goes out with a driver of its owner; without one it does nothing."
    template = "{member} has {count} tractors and no driver: they do nothing"
    remedy = "say how many can drive: drivers = 1"
    refuses = False
