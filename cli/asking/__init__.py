"""Commands that ask: what to ask or measure next, and the interview."""
