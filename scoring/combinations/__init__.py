"""One tractor with one machine on one task: margins, remedies, checks, hours."""
