"""From headings to fields: what each column means, and whole columns at once."""
