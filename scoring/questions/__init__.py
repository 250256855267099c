"""What to ask or measure next, and whether the place adds up."""
