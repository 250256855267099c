"""What can be wrong in a job sheet, one class each. Most of them refuse the sheet."""

from __future__ import annotations

from evener.ingest.findings import Finding


class SheetUnreadable(Finding):
    """The file cannot be read at all."""

    id = "sheet-unreadable"
    title = "The job sheet cannot be read"
    why = "A job sheet is a regular text file that the user may read."
    template = "the file cannot be read: {reason}"
    remedy = "name a TOML file that exists and that you may read"


class SheetTooLarge(Finding):
    """The file is larger than any job sheet."""

    id = "sheet-too-large"
    title = "The job sheet is too large"
    why = "A customer's sheet has some hundred lines; a file beyond 64 kB is something else."
    template = "the job sheet has more than {most} bytes"
    remedy = "name a job sheet, or split the customer's work into two sheets"


class SheetEncoding(Finding):
    """The file is not UTF-8 text."""

    id = "sheet-encoding"
    title = "The job sheet is not UTF-8 text"
    why = "TOML is UTF-8 by definition; another encoding would turn names and fractions into other signs in silence."
    template = "line {row} holds a byte that is not UTF-8"
    remedy = "save the file as UTF-8"


class SheetSyntax(Finding):
    """The text is not TOML."""

    id = "sheet-syntax"
    title = "The job sheet is not valid TOML"
    why = "Nothing can be read from a text whose structure is broken."
    template = "TOML syntax error at line {row}, column {place}: {reason}"
    remedy = "{hint}"


class SheetNesting(Finding):
    """Tables or dotted keys are nested deeper than any sheet's."""

    id = "sheet-nesting"
    title = "The job sheet is nested too deep"
    why = "No key of a job sheet lies more than three tables deep, and deep nesting stalls or exhausts the reader."
    template = "keys or lists are nested too deep"
    remedy = "write each key under its [place], [[place.land]], [[task]], [[machine]] or [policy]"


class SheetUnknownKey(Finding):
    """A key no section has."""

    id = "sheet-unknown-key"
    title = "Unknown key"
    why = "A key that is not read would be dropped in silence, and with it what the customer said."
    template = "there is no key {column}"
    remedy = "{hint}"


class SheetShape(Finding):
    """A table where a list of tables belongs, or the other way round."""

    id = "sheet-shape"
    title = "Table written the wrong way"
    why = "One [place] and one [policy], but any number of [[task]], [[machine]] and [[place.land]]."
    template = "{column} is {found}"
    remedy = "write it as {wanted}"


class SheetMissingKey(Finding):
    """A key without which its section means nothing."""

    id = "sheet-missing-key"
    title = "Missing key"
    why = "Without it there is nothing to size or no way to name it."
    template = "{column} is missing"
    remedy = "{hint}"


class SheetNoTask(Finding):
    """A sheet without work."""

    id = "sheet-no-task"
    title = "No task"
    why = "A tractor is sized by its tasks."
    template = "the sheet has no [[task]]"
    remedy = "add a [[task]] with a name, and an implement or a family with its size"


class SheetType(Finding):
    """A TOML value of the wrong type."""

    id = "sheet-type"
    title = "Wrong type of value"
    why = "TOML reads true, dates and lists as values too; none of them is taken for a number or a word."
    template = "{column} = {raw} is {found}"
    remedy = "write {wanted}"


class SheetNotFinite(Finding):
    """A number that is none."""

    id = "sheet-not-finite"
    title = "Not a finite number"
    why = "nan and inf are valid TOML; a record holds finite numbers only."
    template = "{column} = {raw} is not a finite number"
    remedy = 'write a number, or "?" when it is not known'


class SheetValue(Finding):
    """A text the grammar of values does not hold."""

    id = "sheet-value"
    title = "Value not understood"
    why = "Nothing is guessed: a value is read by a strict grammar or not at all."
    template = "{column}: {reason}"
    remedy = "{hint}"


class SheetNoUnit(Finding):
    """A bare number where a unit is needed."""

    id = "sheet-no-unit"
    title = "Missing unit"
    why = "8 may be feet or metres; the answer differs by a factor of three."
    template = "{column} = {raw} has no unit"
    remedy = "{hint}"


class SheetUnit(Finding):
    """A unit that is unknown or measures something else."""

    id = "sheet-unit"
    title = "Wrong unit"
    why = "A mass is no width: the wrong dimension shows that a value stands at the wrong key."
    template = "{column}: {reason}"
    remedy = "{hint}"


class SheetNegative(Finding):
    """A value below nought."""

    id = "sheet-negative"
    title = "Value below nought"
    why = "Sizes, masses and times are not negative."
    template = "{column} = {raw} is below nought"
    remedy = "write {allowed}"


class SheetBounds(Finding):
    """A value outside its bounds."""

    id = "sheet-bounds"
    title = "Value out of bounds"
    why = "A value beyond every machine or field is a slip of the unit or the decimal mark."
    template = "{column} = {raw} is out of bounds"
    remedy = "write {allowed}"


class SheetWord(Finding):
    """A word that is not on the key's list."""

    id = "sheet-word"
    title = "Unknown word"
    why = "A word that is not on the list has no numbers behind it."
    template = "{column} = {raw} is not known"
    remedy = "{hint}"


class SheetFamily(Finding):
    """A family the store does not hold."""

    id = "sheet-family"
    title = "Unknown implement family"
    why = "What a task asks is worked out from its family."
    template = "{column} = {raw} is no implement family"
    remedy = "{hint}"


class SheetImplement(Finding):
    """An implement id the store does not hold."""

    id = "sheet-implement"
    title = "Unknown implement"
    why = "An implement that is not in the store has no rating."
    template = "{column} = {raw} is no implement of the store"
    remedy = "{hint}"


class SheetTractor(Finding):
    """A tractor id the store does not hold."""

    id = "sheet-tractor"
    title = "Unknown tractor"
    why = "A machine named by a record is checked against that record."
    template = "{column} = {raw} is no tractor of the store"
    remedy = "{hint}"


class SheetOtherFamily(Finding):
    """Implement and family that do not belong together."""

    id = "sheet-other-family"
    title = "Implement of another family"
    why = "Two statements that cannot both be true: neither is taken."
    template = "{column} = {raw} is a {own}, but the family here is {family}"
    remedy = "leave out one of the two"


class SheetTwoWays(Finding):
    """The same thing said by two keys."""

    id = "sheet-said-twice"
    title = "The same thing said twice"
    why = "Two statements of one thing may differ: neither is taken."
    template = "{column} and {other} say the same thing"
    remedy = "keep one of the two"


class SheetDuplicateName(Finding):
    """Two tasks of one name, or two pieces of land of one use."""

    id = "sheet-duplicate"
    title = "The same name twice"
    why = "Answers and owned machines refer to tasks by name, and tasks refer to land by use."
    template = "{column} = {raw} stands on line {first} already"
    remedy = "{hint}"


class SheetLand(Finding):
    """A task on land the place does not have."""

    id = "sheet-land"
    title = "Land that is not there"
    why = "The area of a task is looked up at the place."
    template = "{column} = {raw} is not among the land of the place"
    remedy = "{hint}"


class SheetArea(Finding):
    """A task on more land than there is."""

    id = "sheet-area"
    title = "More area than the land has"
    why = "Work on more land than there is points to a slip of the unit."
    template = "{column} = {raw} is more than the {land} of the place, {there}"
    remedy = 'write the part that is worked, or leave "area" out for all of it; repeated work is said with "times"'


class SheetPlan(Finding):
    """Work that is said to be there today, and to come only with a chance or in a year."""

    id = "sheet-plan"
    title = "Of today and planned at once"
    why = "A plan takes part in the answer with its chance; a task of today has none."
    template = "{reason}"
    remedy = "{hint}"


class SheetSize(Finding):
    """A family without the size its power comes from."""

    id = "sheet-size"
    title = "Size missing"
    why = "The power of this family comes from its size; left out by oversight, it would be taken for not known."
    template = "{family} needs {column}"
    remedy = 'add {column}, such as "8 ft" or "6 to 8 ft", or "?" when it is not known, or name an implement'


class SheetTask(Finding):
    """A machine said to do a task that the sheet does not have."""

    id = "sheet-task"
    title = "Unknown task"
    why = "A machine takes tasks off the list by their names."
    template = "{column}: no task is called {raw}"
    remedy = "{hint}"


class SheetMachine(Finding):
    """A task done with a machine that the sheet does not have."""

    id = "sheet-machine"
    title = "Unknown machine"
    why = "A task takes sizes and plate from the machine it names."
    template = "{column}: no machine is called {raw}"
    remedy = "{hint}"


class SheetTractorThere(Finding):
    """A tractor that is there, under the word for implements."""

    id = "sheet-tractor-there"
    title = "A tractor under [[machine]]"
    why = "A machine is an implement; what pulls it is a tractor. Earlier sheets had one word for both."
    template = "this [[machine]] is read as a tractor that is there"
    remedy = "write [[tractor]] instead"
    refuses = False


class SheetCurrency(Finding):
    """An amount with the sign of another currency than the sheet's."""

    id = "sheet-currency"
    title = "Two currencies"
    why = "Sums of two currencies cannot be added without a rate between them."
    template = "{column} has the sign {raw}, but the sheet's money is in {currency}"
    remedy = "write all money in one currency, or leave the sign out"


class SheetReserve(Finding):
    """A reserve, which no sum uses."""

    id = "sheet-reserve"
    title = "A reserve that is not used"
    why = "A rating holds its own reserve, and what being wrong costs is reckoned; a second one only buys too large."
    template = "{column} = {raw} is read and not used"
    remedy = "leave it out"
    refuses = False


class SheetConfidence(Finding):
    """A confidence without the rule that uses it."""

    id = "sheet-confidence"
    title = "A confidence that is not used"
    why = "The tractor that costs least is chosen by what being wrong costs; only the other rule asks how sure."
    template = '{column} = {raw} acts only with rule = "sure"'
    remedy = 'leave it out, or add rule = "sure"'
    refuses = False


class SheetPlanUnsaid(Finding):
    """A plan whose chance is not said."""

    id = "sheet-plan-unsaid"
    title = "A plan without its chance"
    why = "A plan takes part in the answer with its chance; a half is taken where nobody said one."
    template = "{column} makes this a plan, and its chance is not said: 50 % is taken"
    remedy = 'add chance, such as 0.3 or "30 %"'
    refuses = False
