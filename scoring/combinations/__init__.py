"""One tractor with one machine on one task: held speed, hard axes, margins, hours."""
