"""The plan itself: what is to be done by what with which hours, what a plan aims at, its days, and what clashes."""
