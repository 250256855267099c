"""What is wrong with a record as one: its name, its kind, its owner, and what it refers to."""

from __future__ import annotations

from evener.ingest.finding import Finding


class DoubleKey(Finding):
    """Two rows that name the same record."""

    id = "double-key"
    title = "Two rows name the same record"
    why = "Which of them holds cannot be told."
    template = "{key} stands on {number} rows: {rows}"
    remedy = (
        "keep one of the rows, or give each its own name; none of them is loaded. Where {column} is no name of the "
        'machines, say so in a mapping: "{column}" = {{ field = "" }}'
    )


class NoName(Finding):
    """A column whose heading often names the machines and whose cells do not."""

    id = "no-name"
    title = "The column does not name the machines"
    why = "Headings such as Stock, Unit or No are used for a number of the machine, and for much else."
    template = "column {column!r} is not what names the rows: {because}; its text is kept with the rows"
    remedy = 'nothing, or say in a mapping what it means: "{column}" = {{ field = "{field}" }}'
    refuses = False


class NamedByLabel(Finding):
    """A list in which no column numbers the machines."""

    id = "named-by-label"
    title = "No column numbers the machines, so each is named by its description"
    why = "A name must stay the same from list to list, or the same machine is loaded twice."
    template = "no column numbers the rows, so each is named by {column!r}"
    remedy = "nothing, while the descriptions stay as they are; better give each row a number of its own"
    refuses = False


class GoneInDoubt(Finding):
    """Units that a whole list does not name, and that stay all the same."""

    id = "gone-in-doubt"
    title = "Whether units are gone is in doubt"
    why = "A list that was cut short, or another one, would take out what is still there."
    template = "{number} units of the owner are not in the list and stay, since {because}: {names}"
    remedy = "put the list right and load it again; if they are gone indeed, add --most-gone"
    refuses = False


class NearCopy(Finding):
    """A new machine that is alike one of another name or owner."""

    id = "near-copy"
    title = "The machine is alike one that is held under another name or owner"
    why = "The same machine under two names would be counted twice."
    template = "same machine as {other}? All that both state is alike"
    remedy = "if it is, take it out of one of the lists; if not, nothing: it is loaded"
    refuses = False


class OwnerSpelled(Finding):
    """An owner written in another way than before."""

    id = "owner-spelled"
    title = "The owner is known under another spelling"
    why = "Two spellings would be two owners, and each would have half of the machines."
    template = "{said!r} is taken for the owner {owner!r}"
    remedy = "nothing, unless they are two owners: then give one of them another name"
    refuses = False


class OwnerNear(Finding):
    """A new owner whose name is near a known one's."""

    id = "owner-near"
    title = "The owner is new, and the name is near another's"
    why = "Two names of one owner would be two owners, and each would have half of the machines."
    template = "the owner {said!r} is new, and there is {owner!r}: are they one?"
    remedy = "if they are: evener owners {owner!r} --also {said!r}; if not, nothing: it is not asked again"
    refuses = False


class NeitherKind(Finding):
    """A row of a mixed list that is neither a tractor nor a known implement."""

    id = "neither-kind"
    title = "The row says neither that it is a tractor nor what implement it is"
    why = "A list of both is parted by its column of types, by its sections or by its sheets."
    template = "whether it is a tractor or an implement is not said"
    remedy = "write tractor, or the kind of implement, in a column headed Type; or load a list of one kind with --as"


class NameTaken(Finding):
    """A row that would replace a record of another kind or owner."""

    id = "name-taken"
    title = "The name belongs to another record"
    why = "A file may correct its own records, never take the place of somebody else's."
    template = "{key} is a {kind} record{owner} in the store"
    remedy = "give the row another name, or load it with the same kind and owner"


class UnknownReference(Finding):
    """A row that points to a record the store does not hold."""

    id = "unknown-reference"
    title = "The row points to something that is not in the store"
    why = "A number must answer where it comes from, and an implement what it is."
    template = "{column}: there is no {target} {raw!r}{near}"
    remedy = "write one that evener list {listed} shows"


class CorrectionsHold(Finding):
    """Figures that a person corrected in an earlier list, and that the list says as it said them then."""

    id = "corrections-hold"
    title = "Corrections by hand hold"
    why = "What a person put right once stays right, while the list says the same wrong thing."
    template = "corrected by hand before, and kept: {named}"
    remedy = "nothing; to take the list's word again: evener amend MACHINE --as-listed FIELD"
    refuses = False
    asks = False


class CorrectedBefore(Finding):
    """A figure that a person corrected, and of which the list has come to say another thing."""

    id = "corrected-before"
    title = "A figure that was corrected by hand has changed in the list"
    why = "The correction answered what the list said then; whether it answers this too, only a person knows."
    template = "{field} was corrected by hand from {was} to {said}, and the list says another thing now, which is taken"
    remedy = "if the correction holds still, type it again: evener amend {name} {field}=VALUE; else --as-listed {field}"
    refuses = False


class DismissedRows(Finding):
    """Rows that a person said are no machines."""

    id = "dismissed-rows"
    title = "Rows that were dismissed before"
    why = "What is no machine stays none, while the row says the same."
    template = "no machines, as was said before: {lines}"
    remedy = "nothing; to be asked again: evener ingest --forget --owner OWNER"
    refuses = False
    asks = False


class ShiftedRow(Finding):
    """A row whose cells seem to stand a column too far to one side."""

    id = "shifted-row"
    title = "The row's cells stand under the wrong headings"
    why = "The row may be moved by a cell, and what can be read of it may belong to other columns."
    template = "{column}: {raw!r} is a number in a column of words, and another cell does not fit either"
    remedy = "move the cells of the row under their headings"
