"""From records to the store: batches, quarantine, undo, export."""
