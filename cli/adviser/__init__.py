"""Commands of one who advises a customer."""
