"""What a choice costs in a year: prices, ownership, work done, hired or left undone."""
