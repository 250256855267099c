"""Tractors beside each other on one job: what each costs, how each does the work, what each can run."""
