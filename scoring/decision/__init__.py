"""From demands and capacities to a pick: scores, plans, tractors already there."""
