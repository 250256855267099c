"""From rows to records: what one row says, what rows say of each other, and what is wrong."""
