"""The page the customer takes home."""
