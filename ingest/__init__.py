"""From files to records: readers, headers, cells, findings, batches, job sheets."""
