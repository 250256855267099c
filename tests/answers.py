"""Answers about plain records as the dictionaries of the contract, for tests that need no store."""

from evener.enquiry.enquiry import Enquiry
from evener.enquiry.holdings import Holdings
from evener.ranking import ranking
from evener.results import explanation


def rank(job, library, tractors, *, among=("class",), top=8, units="si"):
    """Return the ranking of a job among some records."""
    return ranking.rank(Enquiry(job, Holdings(library, tuple(tractors)), tuple(among)), top=top).to_dict(units)


def explain(job, library, tractors, tractor_id, *, units="si"):
    """Return the explanation of one tractor among some records."""
    return explanation.explain(Enquiry(job, Holdings(library, tuple(tractors))), tractor_id).to_dict(units)
