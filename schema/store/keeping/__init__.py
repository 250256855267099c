"""Keeping a store safe: verified, backed up, restored, and recovered after damage."""
