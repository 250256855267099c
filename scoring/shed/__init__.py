"""The shed: who can do whose work, when it is done, what clashes, and what to buy together."""
