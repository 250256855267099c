"""A shed opened: what is wrong with it, who can do whose work, when, what to buy together, and a letter to each."""
